"""Judge the lines of one submission against the reference."""

from __future__ import annotations

from collections.abc import Sequence

from checker.matching.circuit import Circuit
from checker.matching.judgement import Judgement
from checker.matching.order import Reading
from checker.matching.page_habits import commas, page_habit
from checker.matching.put_right import undo_put_right
from checker.matching.readings import ReadLine
from checker.matching.slipped_lines import count_wrong
from checker.matching.written_up import write_up
from checker.problem.reduction import Reference
from checker.reading.page import Line

_circuits: dict[int, tuple[Reference, Circuit]] = {}


def judge(reference: Reference, lines: Sequence[Line]) -> Judgement:
    """The verdict on every statement, the first slip in reasoning and what to ask.

    ``lines``: those of all pages of the submission, in order.
    """
    circuit = _circuit(reference)
    readings = (_read(reference, circuit, lines, comma) for comma in commas(lines))
    read = min(readings, key=count_wrong)
    return write_up(reference, circuit, lines, read)


def _circuit(reference: Reference) -> Circuit:
    """The circuit of a reference; many submissions share one."""
    known = _circuits.get(id(reference))
    if known is not None and known[0] is reference:
        return known[1]
    if len(_circuits) > 64:
        _circuits.clear()
    circuit = Circuit(reference)
    _circuits[id(reference)] = (reference, circuit)
    return circuit


def _read(
    reference: Reference, circuit: Circuit, lines: Sequence[Line], comma: bool
) -> dict[int, ReadLine]:
    habit, usage = page_habit(circuit, lines, comma)
    run = Reading(circuit, habit, usage, reference.problem.find, lines)
    return undo_put_right(run.best_order())
