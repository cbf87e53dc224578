"""Exact rationals: the standard library's ``Fraction`` in its compiled form, several times as fast.

Type checkers see the standard library's class, which it behaves like.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fractions import Fraction
else:
    from quicktions import Fraction

__all__ = ["Fraction"]
