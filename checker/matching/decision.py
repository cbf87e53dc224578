"""What to do about a page that may be read in several ways: see ``checker.matching.rule``."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import exp

from checker.matching import rule
from checker.matching.finding import Finding, says_unclear
from checker.matching.hypotheses import Hypothesis, Pick
from checker.matching.likelihoods import has_rule, slip_likelihood
from checker.matching.memory import UNREAD
from checker.matching.put_right import PUT_RIGHT
from checker.matching.readings import ReadLine, ask, ask_whether
from checker.matching.said_again import find_said_again
from checker.matching.slipped_lines import NOWHERE, is_doubtful, is_wrong_line, place_of_first
from checker.notation.lexer import Comma
from checker.reading.page import Candidate, Line

Read = dict[int, ReadLine]
Judge = Callable[[Sequence[Line]], Read]  # lines, each read in one way, to the lines judged


@dataclass(frozen=True)
class Account:
    """A hypothesis with its lines judged in the best order.  ``first``: the line of the first
    slip, None where there is none; ``vague``: how likely what is wrong only seems so, for want of a
    line that was not read or of a label."""

    weight: float
    read: Read
    first: int | None
    vague: float

    @property
    def right(self) -> bool:
        return self.first is None and not self.vague


def _is_slip(finding: Finding) -> bool:
    return finding.status == "wrong" or (
        finding.remark == PUT_RIGHT and finding.diagnosis is not None
    )


def _is_misread(pick: Pick, line: Line) -> bool:
    """Whether a line is taken for something else than what was read first, or says nothing."""
    other = pick.candidate.text != line.candidates[0].text
    return pick.unread or other or says_unclear(pick.findings)


def account(
    hypothesis: Hypothesis, lines: Sequence[Line], places: Sequence[int], judge: Judge
) -> Account:
    """Judge a hypothesis about the lines at ``places``."""
    picks = dict(zip(places, hypothesis.picks, strict=True))
    taken = list(lines)
    for place, pick in picks.items():
        text = pick.candidate
        if pick.unread:
            text = Candidate(UNREAD + text.text, 0.0)
        taken[place] = replace(lines[place], candidates=(text,))
    judged = judge(taken)
    again = find_said_again(judged)
    slips: dict[int, Finding] = {}
    for place, line in judged.items():
        numbers = [n for n, f in enumerate(line.findings) if _is_slip(f)]
        number = min(numbers, key=lambda n: line.findings[n].guessed, default=None)
        if number is not None and (place, number) not in again:
            slips[place] = line.findings[number]
    slipping = sum(slip_likelihood(slip, judged[place].findings) for place, slip in slips.items())
    weight = hypothesis.reading + hypothesis.doing + slipping
    first = place_of_first(judged)
    if first == NOWHERE:
        vague = float(any(line.unsure for line in judged.values()))
    else:
        order = list(judged)
        before = order[: order.index(first)]
        by_rule = first in slips and has_rule(slips[first], judged[first].findings)
        vague = rule.VAGUE[by_rule] if any(picks[place].unread for place in before) else 0.0
        if before and picks[before[-1]].unread and not by_rule:
            vague = rule.VAGUE_NEXT
        if is_doubtful(judged[first]):
            vague = rule.VAGUE_DOUBTFUL
        others = [place for place in judged if place != first]
        going_on = sum(any(f.status == "carried" for f in judged[p].findings) for p in others)
        if not by_rule and going_on <= 1:
            misread = sum(_is_misread(picks[place], lines[place]) for place in others)
            vague = max(vague, min(rule.VAGUE_AMONG_MISREAD * misread, rule.VAGUE_DOUBTFUL))
    read = {
        place: ReadLine(lines[place], picks[place].candidate, picks[place].findings, True)
        if picks[place].unread
        else replace(line, line=lines[place])
        for place, line in judged.items()
    }
    return Account(weight, read, None if first == NOWHERE else first, vague)


def decide(accounts: Sequence[Account], comma: Comma, costs: rule.Costs = rule.COSTS) -> Read:
    """The lines to write up: with a slip, with one question, or as they stand."""
    ranked = sorted(accounts, key=lambda account: -account.weight)
    shares = [exp(account.weight - ranked[0].weight) for account in ranked]
    p = [share / sum(shares) for share in shares]
    right = 0.0
    at: dict[int, float] = {}
    for q, a in zip(p, ranked, strict=True):
        # What only seems wrong is as likely right as a slip somewhere else.
        right += (1.0 if a.right else a.vague / 2) * q
        if a.first is not None:
            at[a.first] = at.get(a.first, 0.0) + (1 - a.vague) * q
    place = max(at, key=lambda place: at[place], default=None)
    if place is not None:
        naming = costs.accuse * right + costs.elsewhere * (1 - right - at[place])
        if naming < min(costs.ask, costs.miss * (1 - right)):
            return _named(ranked, p, place, costs)
    if costs.miss * (1 - right) < costs.ask:
        return doubtful_unsure(next(a for a in ranked if a.first is None).read)
    return _asked(ranked, comma)


def _named(ranked: Sequence[Account], p: Sequence[float], place: int, costs: rule.Costs) -> Read:
    """The likeliest account with the first slip there; other slips only where they are sure."""
    chosen = next(account for account in ranked if account.first == place)
    read = {}
    for other, line in chosen.read.items():
        if other != place and is_wrong_line(line):
            wrong = sum(
                q for q, a in zip(p, ranked, strict=True)
                if other in a.read and is_wrong_line(a.read[other])
            )  # fmt: skip
            if costs.accuse * (1 - wrong) > costs.ask:
                line = replace(line, unsure=True)
        read[other] = line
    return read


def doubtful_unsure(read: Read) -> Read:
    """The lines judged without a verdict on the wrong ones."""
    return {p: replace(line, unsure=True) if is_wrong_line(line) else line
            for p, line in read.items()}  # fmt: skip


def _asked(ranked: Sequence[Account], comma: Comma) -> Read:
    """The likeliest account without accusing anybody, and the question that separates it from
    the likeliest of those with another verdict."""
    best = ranked[0]
    rival = next((a for a in ranked if (a.first, a.right) != (best.first, best.right)), None)
    place = _parting(best, rival)
    read = doubtful_unsure(best.read)
    if place is None:
        return read
    ways = [a.read[place] for a in (best, rival) if a is not None and place in a.read]
    line = next((way for way in ways if is_wrong_line(way)), ways[0])
    known = [way.candidate for way in ways if not way.unsure]
    if len(known) == 2 and known[0].text != known[1].text:
        known.sort(key=lambda candidate: -candidate.probability)
        question = ask(known[0].text, known[1].text, comma)
    else:
        question = ask_whether(line.findings, line.candidate.text)
    read[place] = replace(line, unsure=True, question=question, matters=True)
    return read


def _parting(best: Account, rival: Account | None) -> int | None:
    """The line on which two accounts part: where the slip stands that one of them sees, if they
    read that line differently, else the first one read differently."""
    slips = [a.first for a in (best, rival) if a is not None and a.first is not None]
    if rival is not None:
        differ = [
            place
            for place, line in best.read.items()
            if place in rival.read
            and (line.candidate.text, line.unsure)
            != (rival.read[place].candidate.text, rival.read[place].unsure)
        ]
        for place in (*slips, *differ):
            if place in differ:
                return place
    unsure = [place for place, line in best.read.items() if line.unsure]
    return next(iter((*slips, *unsure)), None)
