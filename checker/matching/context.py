"""What is known when a chain of equals signs is read, and what is found out about it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from checker.matching.circuit import Key
from checker.matching.dimensions import KIND_DIMS, Dims
from checker.matching.forms import is_result, is_worked
from checker.matching.habit import Habit
from checker.matching.intervals import Interval, power
from checker.matching.labels import PLAIN_USAGE, Label, Meaning, Usage
from checker.matching.working import Working
from checker.notation.tree import Expression, Side

Status = Literal["follows", "carried", "wrong", "unclear"]
_COST: dict[Status, int] = {"follows": 0, "carried": 1, "unclear": 6, "wrong": 10}
UNNAMED = Meaning((), (), False)  # of a chain without a subject


@dataclass(frozen=True)
class Subject:
    """What a chain is about: a quantity or, ``inverse``, one over it."""

    key: Key
    inverse: bool = False

    @property
    def dims(self) -> Dims:
        """Its dimensions, as powers of coulomb and volt."""
        a, b = KIND_DIMS[self.key.kind]
        return (-a, -b) if self.inverse else (a, b)


@dataclass(frozen=True)
class Context:
    """What is known when a chain is read."""

    working: Working
    habit: Habit
    bound: dict[Label, tuple[int, ...]]
    subject: tuple[Subject, ...] = ()  # of the chain before, for one that goes on with "= …"
    before: Expression | None = None  # its last numeric side
    before_status: Status = "follows"
    before_hull: Interval | None = None  # what that side was taken for
    usage: Usage = PLAIN_USAGE
    quick: bool = False  # only what follows at first sight
    after_formula: bool = False  # the side before is a formula of symbols, rightly
    earlier: Expression | None = None  # numbers worked with in the side before ``before``
    cuts_off: bool = False  # the page has cut off a value before
    crowded: bool = False  # so many things it may be about that not every choice can be tried


@dataclass(frozen=True)
class SideResult:
    """The verdict on one side.  ``values``: the SI values of the key it may mean (already
    inverted for an inverse subject); ``before``: the side it should equal, where numeric."""

    side: Side
    status: Status
    values: tuple[Interval, ...] = ()
    hull: Interval | None = None
    before: Expression | None = None
    before_status: Status | None = None
    earlier: Expression | None = None  # the working before that, where it follows
    remark: str | None = None
    rounded: Interval | None = None  # what a result that is not exact stands for
    span: Interval | None = None  # what any result may be rounded from
    unseen: bool = False  # carried, but only through steps that are not on the page
    doubtful: bool = False  # wrong, but rounding alone may give it as well


@dataclass(frozen=True)
class ChainResult:
    """A chain judged as being about one quantity, or about several that it fits equally."""

    subjects: tuple[Subject, ...]  # every meaning that fits equally well; first is the likeliest
    results: tuple[SideResult, ...]  # one per side that is judged
    certain: bool
    label: Label | None = None
    aliases: tuple[Key, ...] = ()  # what else it is rightly about: Q2 in "Q1 = Q2"
    equated: tuple[Key, ...] = ()  # what it says to be equal, rightly or not
    named: tuple[tuple[Label, tuple[int, ...]], ...] = ()  # labels whose group the chain shows
    misfit: int | None = None
    whole: bool = False  # its label is one for the whole

    @property
    def cost(self) -> int:
        """The less the better; a chain that starts rightly is better than one that ends so.  A
        right result of wrong working is no better than one that comes from it."""
        last = len(self.results)
        costs = [_COST[result.status] for result in self.results]
        for place, (before, after) in enumerate(pairwise(self.results), 1):
            if before.status == "wrong" and after.status == "follows" and (
                is_worked(before.side.expression) and is_result(after.side.expression)
            ):  # fmt: skip
                costs[place] = _COST["carried"]
        return sum(cost * (100 + last - place) for place, cost in enumerate(costs))


def of_key(values: list[Interval], subject: Subject) -> tuple[Interval, ...]:
    """Values of a subject as values of its quantity."""
    if not subject.inverse:
        return tuple(values)
    return tuple(v for value in values if (v := power(value, -1)) is not None)
