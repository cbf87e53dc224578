"""The likeliest ways to read a page: a beam search over the readings of its lines.

See ``checker.matching.rule`` for what makes a hypothesis likely.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, inf, log, log1p

from checker.matching import rule
from checker.matching.alternatives import Alternatives, Swap, look_alikes, swaps
from checker.matching.finding import Finding, says_unclear
from checker.matching.likelihoods import (
    beside_slips,
    ignores_slip,
    likelihood,
    slips_likelihood,
)
from checker.matching.memory import UNREAD, Memory
from checker.matching.misread_labels import names_all
from checker.matching.readings import goes_on
from checker.matching.state import State
from checker.matching.unlisted import unlisted_follows
from checker.reading.page import Candidate


@dataclass(frozen=True)
class Pick:
    """What a hypothesis takes a line for; ``unread``: for some text that nobody listed."""

    candidate: Candidate
    findings: tuple[Finding, ...]
    unread: bool = False

    @property
    def slips(self) -> bool:
        return not self.unread and is_wrong(self.findings)


@dataclass(frozen=True)
class Hypothesis:
    """Logarithms: ``reading`` of what the readings are worth, ``doing`` of how likely a student
    writes them, apart from the slips, ``slipping`` of how likely the slips are.  ``state``: after
    the last line; ``before``: ahead of it; ``swaps``: what was read for something else."""

    picks: tuple[Pick, ...]
    state: State
    before: State
    reading: float = 0.0
    doing: float = 0.0
    slipping: float = 0.0
    swaps: frozenset[Swap] = frozenset()
    ignores: bool = False  # a line gives a right value although an earlier slip would change it

    @property
    def weight(self) -> float:
        return self.reading + self.doing + self.slipping

    @property
    def slips(self) -> tuple[int, ...]:
        """The lines with a slip, before the order of reasoning is looked at."""
        return tuple(number for number, pick in enumerate(self.picks) if pick.slips)

    @property
    def carries(self) -> bool:
        """Whether a line goes on from a slip."""
        return any(
            finding.status == "carried"
            for pick in self.picks if not pick.unread for finding in pick.findings
        )  # fmt: skip


def is_wrong(findings: Sequence[Finding]) -> bool:
    return any(finding.status == "wrong" for finding in findings)


def hypotheses(
    lines: Sequence[Alternatives], memory: Memory, budget: int = rule.MOST_SIDES
) -> list[Hypothesis]:
    """The likeliest hypotheses about lines in reading order, likeliest first.  ``budget``: how
    many sides of chains may be judged, one for each meaning, before only the best is followed."""
    beam = [Hypothesis((), memory.start(), memory.start())]
    effort = memory.habit.effort
    until = effort.sides + budget
    for number, line in enumerate(lines):
        share = max(0, until - effort.sides) * rule.SHARE // (len(lines) - number)
        limit = effort.sides + share
        longer = [
            new
            for rank, (hypothesis, found) in enumerate(_read(beam, line, memory, limit))
            for new in _longer(
                hypothesis, found, line, memory, limit if rank < rule.MOST_MENDED else 0
            )
        ]
        beam = [_explained(hypothesis, memory) for hypothesis in _best(longer)]
    return _best(beam)


def _read(
    beam: Sequence[Hypothesis], line: Alternatives, memory: Memory, limit: int
) -> list[tuple[Hypothesis, list[Hypothesis]]]:
    """Hypotheses with the readings of one more line, without the hopeless pairs: no line
    makes a hypothesis likelier than what its reading is worth.  ``limit``: of the effort."""
    pairs = [
        (hypothesis.weight + log(max(candidate.probability, rule.NEVER)), place, candidate)
        for place, hypothesis in enumerate(beam)
        for candidate in line.readings
    ]
    pairs.sort(key=lambda pair: -pair[0])
    rivals = _first_with_each_slips(beam)
    found: dict[int, list[Hypothesis]] = {}
    best = -inf
    for most, place, candidate in pairs:
        if most < best + log(rule.HOPELESS):
            break
        is_due = place not in found or (not place and candidate.probability >= rule.LIKELY)
        if memory.habit.effort.sides > limit and not (place in rivals and is_due):
            continue
        new = _with(beam[place], candidate, line.readings[0], memory)
        found.setdefault(place, []).append(new)
        best = max(best, new.weight)
    return [(beam[place], found[place]) for place in sorted(found)]


def _first_with_each_slips(beam: Sequence[Hypothesis]) -> tuple[int, ...]:
    """The places of the best hypotheses that differ in where the slips are: those that are
    followed however much was tried, so that none is left without a rival."""
    first: dict[tuple[int, ...], int] = {}
    for place, hypothesis in enumerate(beam):
        first.setdefault(hypothesis.slips, place)
    return tuple(first.values())[: rule.MOST_RIVALS]


def _longer(
    hypothesis: Hypothesis, found: list[Hypothesis], line: Alternatives, memory: Memory, limit: int
) -> list[Hypothesis]:
    """The hypothesis with each way to take one more line: those ``found``, unread and, up to the
    ``limit`` of the effort, with one character of a wrong line misread with no doubt shown."""
    if not line.rest:
        return found
    head = found[0].state
    if head.table != hypothesis.state.table and names_all(head):
        return found  # whatever else it says, it names the same columns
    follows = log(_unlisted_follows(hypothesis, found))
    clear = [new for new in found if not says_unclear(new.picks[-1].findings)]
    best = max(clear or found, key=lambda new: new.weight)
    if _is_near(best.picks[-1]):
        read = best.picks[-1].candidate
        alike = sorted(look_alikes(read, hypothesis.swaps), key=lambda c: -c.probability)
        listed = {candidate.text for candidate in (*line.readings, *line.faint)}
        others = [c for c in alike if c.text not in listed][: rule.MOST_LOOK_ALIKES]
        faint = line.faint if limit else ()  # they are few, whatever was tried before
        least = rule.LEAST_LOOK_ALIKES if limit else 0
        for number, candidate in enumerate((*faint, *others)):
            if number >= len(faint) + least and memory.habit.effort.sides >= limit:
                break
            its = line.readings[0] if number < len(faint) else read
            new = _with(hypothesis, candidate, its, memory)
            found = [*found, new] if _is_plain(new, hypothesis) else found
    state = hypothesis.state
    unread = Hypothesis(
        (*hypothesis.picks, replace(found[0].picks[-1], unread=True)),
        memory.read(UNREAD + found[0].picks[-1].candidate.text, state, explain=False)[1], state,
        hypothesis.reading + log(line.rest), hypothesis.doing + follows,
        hypothesis.slipping, hypothesis.swaps, hypothesis.ignores,
    )  # fmt: skip
    return [*found, unread]


def _unlisted_follows(before: Hypothesis, found: Sequence[Hypothesis]) -> float:
    """How likely a text that nobody listed follows, after ``found`` for those that are."""
    if not any(new.picks[-1].slips for new in found):
        return rule.UNREAD
    shares = [exp(new.reading - before.reading) for new in found]
    plain = sum(s for s, new in zip(shares, found, strict=True) if _is_plain(new, before))
    likeliest = found[0].picks[-1]
    return unlisted_follows(plain / sum(shares), likeliest.candidate, likeliest.findings)


def _is_near(pick: Pick) -> bool:
    """Whether one other character may put a wrong line right."""
    wrong = sum(finding.status == "wrong" for finding in pick.findings)
    return 0 < wrong < 3 and not says_unclear(pick.findings)


def _is_plain(new: Hypothesis, before: Hypothesis) -> bool:
    return new.slipping == before.slipping and new.doing > before.doing + log(0.5)


def _with(
    hypothesis: Hypothesis, candidate: Candidate, read: Candidate, memory: Memory
) -> Hypothesis:
    """The hypothesis with one more line, taken for a ``candidate`` instead of what was ``read``."""
    before, probability = hypothesis.state, candidate.probability
    its = swaps(read, candidate)
    if its and its <= hypothesis.swaps:
        probability = max(probability, read.probability * rule.SAME_SWAP)
    findings, state = memory.read(candidate.text, before, explain=False)
    pick = Pick(candidate, findings)
    if pick.slips:
        doing = beside_slips(findings)
    elif goes_on(candidate) and _is_nameless(hypothesis):
        doing = log(rule.NAMELESS)
    else:
        doing = likelihood(findings, before, _ignored(hypothesis))
    return Hypothesis(
        (*hypothesis.picks, pick), state, before,
        hypothesis.reading + log(max(probability, rule.NEVER)),
        hypothesis.doing + doing,
        hypothesis.slipping + (log(rule.SLIP_BEFORE_EXPLANATION) if pick.slips else 0.0),
        hypothesis.swaps | its, hypothesis.ignores or ignores_slip(findings, before),
    )  # fmt: skip


def _is_nameless(hypothesis: Hypothesis) -> bool:
    """Whether what a next line "= …" is about stands in a line that was not read."""
    for pick in reversed(hypothesis.picks):
        if not goes_on(pick.candidate):
            return pick.unread
    return False


def _explained(hypothesis: Hypothesis, memory: Memory) -> Hypothesis:
    """The hypothesis with its last line explained, where that is wrong."""
    pick = hypothesis.picks[-1]
    if not pick.slips:
        return hypothesis
    findings, state = memory.read(pick.candidate.text, hypothesis.before, explain=True)
    slipping = slips_likelihood(findings)
    return replace(
        hypothesis,
        picks=(*hypothesis.picks[:-1], replace(pick, findings=findings)),
        state=state,
        slipping=hypothesis.slipping - log(rule.SLIP_BEFORE_EXPLANATION) + slipping,
    )


def _ignored(hypothesis: Hypothesis) -> float:
    """How often the right value is written although an earlier slip would change it: who wrote a
    wrong unit mostly went on with the right one."""
    kinds = {
        finding.diagnosis.kinds[0]
        for pick in hypothesis.picks if pick.slips
        for finding in pick.findings if finding.diagnosis is not None
    }  # fmt: skip
    if not kinds & rule.OF_SCALE:
        return rule.IGNORED
    return rule.IGNORED_AGAIN if hypothesis.ignores else rule.IGNORED_OF_SCALE


def _best(found: Sequence[Hypothesis]) -> list[Hypothesis]:
    """The likeliest, some for every way to place the slips; of those that come to the same only
    the best, with the weight of all."""
    ranked = sorted(found, key=lambda hypothesis: -hypothesis.weight)
    least = ranked[0].weight + log(rule.HOPELESS)
    kept: dict[object, Hypothesis] = {}
    beside: Counter[tuple[int, ...]] = Counter()
    for hypothesis in ranked:
        if hypothesis.weight < least:
            break
        outlook = _outlook(hypothesis)
        if outlook in kept:
            kept[outlook] = _with_weight_of(kept[outlook], hypothesis)
        elif len(kept) < rule.MOST_HYPOTHESES and beside[hypothesis.slips] < rule.MOST_BESIDE:
            kept[outlook] = hypothesis
            beside[hypothesis.slips] += 1
    return sorted(kept.values(), key=lambda hypothesis: -hypothesis.weight)


def by_slips(found: Sequence[Hypothesis]) -> list[Hypothesis]:
    """The likeliest hypothesis for every way to place the slips, with something carried forward
    from them or not (then they may have been put right), with the weight of all; those worth
    judging in full."""
    best: dict[tuple[tuple[int, ...], bool], Hypothesis] = {}
    for hypothesis in found:
        its = hypothesis.slips, hypothesis.carries
        best[its] = _with_weight_of(best[its], hypothesis) if its in best else hypothesis
    ranked = sorted(best.values(), key=lambda hypothesis: -hypothesis.weight)
    least = ranked[0].weight + log(rule.NEGLIGIBLE)
    return [hypothesis for hypothesis in ranked[: rule.MOST_JUDGED] if hypothesis.weight >= least]


def _with_weight_of(best: Hypothesis, other: Hypothesis) -> Hypothesis:
    return replace(best, reading=best.reading + log1p(exp(other.weight - best.weight)))


def _outlook(hypothesis: Hypothesis) -> object:
    """What decides about all lines to come, and where the slips are."""
    state = hypothesis.state
    return (
        hypothesis.slips,
        frozenset(state.working.written.items()),
        frozenset(state.working.stated.items()),
        frozenset(state.working.wrong.items()),
        frozenset(state.bound.items()),
        state.subject, state.before, state.earlier, state.pending, state.table, state.label,
    )  # fmt: skip
