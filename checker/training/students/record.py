"""What a finished invented page is."""

from __future__ import annotations

from dataclasses import dataclass

from checker.problem.given import Problem
from checker.problem.network import elements
from checker.training.students.circuits import Circuit
from checker.training.students.working import Key


class Unsuitable(Exception):
    """This student, problem and slip do not go together; another is tried."""


@dataclass(frozen=True)
class StudentLine:
    """One written line: canonical markup, as typed, crossed out or not, and what it states."""

    markup: str
    text: str
    struck: bool = False
    about: tuple[str, ...] = ()


@dataclass(frozen=True)
class StudentPage:
    """A page and its truth.

    ``first_slip``: index of the line where the first slip stands, None on a clean page; ``kind``
    its kind, ``kinds_equal`` all kinds that put the same marks on the paper.  ``second_slip`` and
    ``second_kind``: a further, independent slip.  ``repeated``: the belief behind the first slip
    strikes further steps as well.  ``remarks``: what is odd but right.
    """

    seed: int
    problem: Problem
    circuit: Circuit
    lines: tuple[StudentLine, ...]
    first_slip: int | None = None
    kind: str | None = None
    kinds_equal: frozenset[str] = frozenset()
    second_slip: int | None = None
    second_kind: str | None = None
    remarks: frozenset[str] = frozenset()
    repeated: bool = False


def spoken(key: Key) -> str:
    """A quantity by name: "Q of C2, C3"."""
    return f"{key[0]} of {', '.join(elements(key[1]))}"
