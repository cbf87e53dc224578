"""Judge the lines of one submission against the reference."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import partial

from checker.matching.alternatives import alternatives
from checker.matching.circuit import Circuit
from checker.matching.decision import Account, Read, account, decide
from checker.matching.first_in_doubt import ask_about_first
from checker.matching.hypotheses import by_slips, hypotheses
from checker.matching.judgement import Judgement
from checker.matching.memory import Memory
from checker.matching.order import Reading
from checker.matching.outcome import matters
from checker.matching.page_habits import commas, is_in_doubt, page_habit
from checker.matching.put_right import put_right, restated, undo_put_right
from checker.matching.rule import COSTS, MOST_SIDES, Costs
from checker.matching.slipped_lines import count_wrong
from checker.matching.written_up import write_up
from checker.problem.reduction import Reference
from checker.reading.page import Line

_circuits: dict[int, tuple[Reference, Circuit]] = {}


def judge(reference: Reference, lines: Sequence[Line]) -> Judgement:
    """The verdict on every statement, the first slip in reasoning and what to ask.

    ``lines``: those of all pages of the submission, in order.
    """
    return judge_at_costs(reference, lines, (COSTS,))[0]


def judge_at_costs(
    reference: Reference, lines: Sequence[Line], costs: Sequence[Costs]
) -> list[Judgement]:
    """What is judged with each of several ``costs`` of accusing, asking and missing."""
    circuit = _circuit(reference)
    if not is_in_doubt(lines):
        memories = (Memory(circuit, *page_habit(circuit, lines, comma)) for comma in commas(lines))
        read = _least_wrong(_read(reference, memory, lines) for memory in memories)
        read = ask_about_first(read)
        read = {
            p: replace(line, matters=line.matters or matters(line, read))
            for p, line in read.items()
        }
        return [write_up(reference, circuit, lines, read)] * len(costs)
    working = {p: x for p, x in enumerate(lines) if x.role == "working" and x.candidates}
    every = [alternatives(line) for line in working.values()]
    accounts: list[Account] = []
    ways = commas(lines)
    for comma in ways:
        memory = Memory(circuit, *page_habit(circuit, lines, comma))
        judge_as_read = partial(_read, reference, memory)
        accounts += [
            account(hypothesis, lines, list(working), judge_as_read)
            for hypothesis in by_slips(hypotheses(every, memory, MOST_SIDES // len(ways)))
        ]
    reads = [decide(accounts, comma, its) for its in costs]
    return [write_up(reference, circuit, lines, read) for read in reads]


def _least_wrong(reads: Iterable[Read]) -> Read:
    """The first of those with the fewest wrong lines; none is judged after one without any."""
    best: Read | None = None
    for read in reads:
        if best is None or count_wrong(read) < count_wrong(best):
            best = read
        if not count_wrong(best):
            break
    assert best is not None
    return best


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


def _read(reference: Reference, memory: Memory, lines: Sequence[Line]) -> Read:
    find = reference.problem.find
    read = undo_put_right(Reading(memory, find, lines).best_order())
    for place in restated(read):  # judged as if the student had struck it out
        without = [replace(x, role="struck") if p == place else x for p, x in enumerate(lines)]
        again = ask_about_first(Reading(memory, find, without).best_order())
        if not count_wrong(again):
            return {p: again[p] if p != place else put_right(line) for p, line in read.items()}
    return read
