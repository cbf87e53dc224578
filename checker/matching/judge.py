"""Judge the lines of one submission against the reference."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import partial
from math import log

from checker.matching.alternatives import alternatives
from checker.matching.circuit import Circuit
from checker.matching.decision import Account, Read, account, decide, doubtful_unsure
from checker.matching.hypotheses import by_slips, hypotheses
from checker.matching.judgement import Judgement
from checker.matching.likelihoods import slip_likelihood
from checker.matching.memory import Memory
from checker.matching.order import Reading
from checker.matching.outcome import matters
from checker.matching.page_habits import commas, is_in_doubt, page_habit
from checker.matching.put_right import put_right, restated, undo_put_right
from checker.matching.readings import ask_how
from checker.matching.rule import COSTS, MOST_SIDES, SLIP_HINTED, Costs
from checker.matching.slipped_lines import count_wrong, is_doubtful, place_of_first
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


def ask_about_first(read: Read) -> Read:
    """The lines judged with a question instead of the first slip, where that is in doubt, and no
    later one, which may come of it."""
    first = place_of_first(read)
    line = read.get(first)
    if line is None or not (is_doubtful(line) or _is_weak_after_unclear(read, first)):
        return read
    asked = replace(line, unsure=True, question=ask_how(line.findings), matters=True)
    return {**doubtful_unsure(read), first: asked}


def _is_weak_after_unclear(read: Read, first: int) -> bool:
    """Whether a wrong line with no rule behind it comes next to one that was not understood."""
    before = [line for place, line in sorted(read.items()) if place < first and line.findings][-1:]
    unclear = any(finding.status == "unclear" for line in before for finding in line.findings)
    wrong = [finding for finding in read[first].findings if finding.status == "wrong"]
    return unclear and all(slip_likelihood(finding) < log(SLIP_HINTED) for finding in wrong)


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
