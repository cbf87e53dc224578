"""An equals sign written as two waves is told from ≈ by where else the page has that sign.

Many hands write = with waves, few pages have ≈, and those that do have it before the numbers that
were rounded: where it seems to stand before symbols as well, it is an equals sign.  What is equal
to what is not asked.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import log

import numpy as np

from checker.reading.page import Candidate
from checker.reading.weighed import weighed

_SURE = 0.97  # stated probability from which ≈ counts as seen
_FEW, _MANY = 0.2, 2.5  # signs of either kind that are taken for seen before any is
_USUAL = log(1 / 11)  # log-odds of ≈ among the reader's training lines
_WAVY, _MOST = 1.5, 3  # log-odds for every ≈ before a symbol, and of how many at most


def without_rare_signs(texts: Sequence[tuple[Candidate, ...]]) -> list[tuple[Candidate, ...]]:
    """The candidates of the lines of one page, best first, ≈ in them less likely where no other
    line surely has it or some have it before symbols; none gets surer than the best one was."""
    signs = [list(_signs(found[0])) for found in texts]
    wavy = min(sum(symbol for its in signs for _, _, symbol in its), _MOST)
    weighed = []
    for line, found in enumerate(texts):
        others = [sign for at, its in enumerate(signs) for sign in its if at != line]
        seen = 0 if wavy else sum(text == "≈" and p >= _SURE for text, p, _ in others)
        odds = log((seen + _FEW) / (len(others) - seen + _MANY))
        weighed.append(_shifted(found, min(odds - _USUAL, 0.0) - _WAVY * wavy))
    return weighed


def _signs(one: Candidate) -> Iterator[tuple[str, float, bool]]:
    """The signs = and ≈ of a text, how sure each is, and whether it is ≈ before a symbol."""
    for token, after in zip(one.tokens, [*one.tokens[1:], None], strict=False):
        if token.text in ("=", "≈"):
            symbol = token.text == "≈" and after is not None and after.text.isalpha()
            yield token.text, token.probability, symbol


def _shifted(found: tuple[Candidate, ...], shift: float) -> tuple[Candidate, ...]:
    signs = np.array([one.text.count("≈") for one in found])
    if shift == 0 or signs.min() == signs.max():
        return found
    return weighed(found, shift * (signs - signs[0]))
