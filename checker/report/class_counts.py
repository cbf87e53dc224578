"""What a class slipped on: which slips, at which stage, and which lines to show in class."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from checker.matching.judgement import Slip
from checker.matching.slips import SLIPS
from checker.problem.network import elements, name_of
from checker.problem.reduction import Reference
from checker.report.stack_rows import StackRow

WHOLE, ENERGY, ELSEWHERE = "the whole network", "energy", "elsewhere"
_SPOKEN = ("equivalent capacitance of ", "capacitance of ", "charge on ", "voltage across ")


@dataclass(frozen=True)
class Cell:
    """How many submissions have their first slip, of this kind, at this stage."""

    stage: str
    kind: str
    count: int


@dataclass(frozen=True)
class ClassCounts:
    """``outcomes``: submissions by outcome.  ``stages`` in the order of working, ``kinds`` the
    most frequent first, both by the words shown; ``cells`` only where something was counted."""

    outcomes: Mapping[str, int]
    stages: tuple[str, ...]
    kinds: tuple[str, ...]
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class WorthShowing:
    """A slipped line that stands for ``count`` of its kind at its stage."""

    row: StackRow
    stage: str
    kind: str
    count: int


def class_counts(reference: Reference, rows: Sequence[StackRow]) -> ClassCounts:
    """The first slips of all submissions, counted by stage and kind."""
    stages = _Stages(reference)
    found = Counter((stages.of(row.slip), _title(row.slip)) for row in rows if row.slip)
    kinds = Counter(_title(row.slip) for row in rows if row.slip)
    cells = tuple(Cell(stage, kind, count) for (stage, kind), count in found.items())
    seen = {cell.stage for cell in cells}
    # What the problem does not ask for has a column only where somebody slipped on it.
    asked = {ENERGY} & set(reference.problem.find)
    named = tuple(s for s in stages.names if s not in (ENERGY, ELSEWHERE) or s in seen | asked)
    ranked = sorted(kinds, key=lambda kind: (-kinds[kind], kind))
    return ClassCounts(Counter(row.outcome for row in rows), named, tuple(ranked), cells)


def worth_showing(
    reference: Reference, rows: Sequence[StackRow], most: int = 5
) -> list[WorthShowing]:
    """The lines most worth showing in class, at most one of each kind at each stage.

    Frequent ones first; of those alike the one a person agreed with, else the surest read.
    """
    stages = _Stages(reference)
    alike: dict[tuple[str, str], list[StackRow]] = {}
    for row in rows:
        if row.slip:
            alike.setdefault((stages.of(row.slip), _title(row.slip)), []).append(row)
    chosen = [
        WorthShowing(max(found, key=_clearness), stage, kind, len(found))
        for (stage, kind), found in alike.items()
    ]
    chosen.sort(key=lambda one: (-one.count, stages.names.index(one.stage), one.row.position))
    return chosen[:most]


def _clearness(row: StackRow) -> tuple[bool, float, int]:
    sure = row.slipped.confidence if row.slipped else 0.0
    return row.person is not None, sure, -row.position


def _title(slip: Slip) -> str:
    return SLIPS[slip.kind].title


class _Stages:
    """The stages of working on a problem, in order, and the one a slip belongs to."""

    def __init__(self, reference: Reference) -> None:
        groups = [stage.node for stage in reference.stages]
        self._groups = sorted(groups, key=lambda node: len(elements(node)))
        self._combined = {
            stage.node: f"{name_of(stage.node)} in {stage.kind}" for stage in reference.stages
        }
        self._shared = {node: f"back to {name_of(node)}" for node in reversed(groups)}
        back = [WHOLE, *self._shared.values(), ENERGY] if reference.problem.supply else []
        self.names = [*self._combined.values(), *back, ELSEWHERE]

    def of(self, slip: Slip) -> str:
        """By the words for the slip's quantity, as ``matching.circuit.Circuit.name`` writes it."""
        quantity = slip.quantity or ""
        if "stored energy" in quantity:
            return ENERGY
        if quantity in ("total charge", "supply voltage"):
            return WHOLE
        words = next((words for words in _SPOKEN if quantity.startswith(words)), None)
        if words is None:
            return ELSEWHERE
        its = set(quantity.removeprefix(words).split(", "))
        if "capacitance" in words:
            group = next((g for g in self._groups if its <= set(elements(g))), None)
            return self._combined[group] if group else ELSEWHERE
        group = next((g for g in self._groups if its < set(elements(g))), None)
        return self._shared[group] if group else WHOLE
