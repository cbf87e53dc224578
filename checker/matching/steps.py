"""One line of working, judged: its statements become findings, and the working goes on from it."""

from __future__ import annotations

import re
from dataclasses import replace

from checker.markup import plain
from checker.matching.chain import check, judge_as
from checker.matching.claims import claim_of
from checker.matching.context import ChainResult, Context
from checker.matching.diagnose import Diagnosis, diagnose, is_certain
from checker.matching.finding import Finding, findings_of
from checker.matching.forms import is_result
from checker.matching.habit import Habit
from checker.matching.implied import implied_by
from checker.matching.last_look import looked_at_again
from checker.matching.state import State, state_after
from checker.matching.tables import in_table, unlisted
from checker.matching.unread_values import with_nameless
from checker.notation.parse import parse, prepared
from checker.notation.tree import Chain, Side, Symbol, Words

_OPERATOR = re.compile(r"[+×·/^]|\w-\w*\d")


def read_line(
    text: str, state: State, habit: Habit, explain: bool = True
) -> tuple[tuple[Finding, ...], State]:
    """Judge the statements of one line against the state before it.

    Without ``explain`` wrong findings get no diagnosis, which is quicker.
    """
    findings: list[Finding] = []
    whole = prepared(text)
    statements, state, guessed = in_table(parse(text, habit.comma), state)
    for place, statement in enumerate(statements):
        shown = plain(whole[statement.start : statement.end])
        if isinstance(statement, Words):
            findings.append(claim_of(statement, shown, state))
            if _OPERATOR.search(shown):  # no sentence, but a line that was misread
                state = replace(state, subject=(), before=None, before_hull=None)
            continue
        if not isinstance(statement, Chain):
            findings.append(Finding(statement.start, statement.end, shown, "unclear"))
            state = replace(state, subject=(), before=None)
            continue
        for chain in unlisted(statement):
            found, state = _read_chain(chain, whole, state, habit, explain)
            if place in guessed:
                found = [replace(f, guessed=True, sure=False) for f in found]
            findings += found
    return tuple(findings), state


def _read_chain(
    chain: Chain, whole: str, state: State, habit: Habit, explain: bool
) -> tuple[list[Finding], State]:
    if chain.continued and not state.subject and state.pending is not None:
        first = Side(state.pending, chain.start, chain.start)
        sides = (first, *chain.sides)
        chain = replace(chain, sides=sides, relations=("=", *chain.relations), continued=False)
    context = Context(
        state.working, habit, state.bound, state.subject, state.before, state.before_status,
        state.before_hull, state.usage, earlier=state.earlier, cuts_off=state.cuts_off,
    )  # fmt: skip
    result = check(chain, context)
    if result is None:
        shown = plain(whole[chain.start : chain.end])
        says_nothing = not chain.relations and not chain.continued
        expression = chain.sides[0].expression
        if chain.continued:
            state = replace(state, working=with_nameless(chain, state.working, habit))
        starts = says_nothing and not is_result(expression) and not isinstance(expression, Symbol)
        state = replace(
            state, subject=(), before=None, before_hull=None,
            pending=expression if starts else None,
        )  # fmt: skip
        status = "words" if says_nothing else "unclear"
        return [Finding(chain.start, chain.end, shown, status)], state
    result = looked_at_again(result, context)
    diagnoses = _diagnoses(result, context, explain)
    if diagnoses and chain.continued and not state.subject:  # it goes on from what is not known
        shown = plain(whole[chain.start : chain.end])
        working = with_nameless(chain, state.working, habit)
        state = replace(state, before=None, working=working)
        return [Finding(chain.start, chain.end, shown, "unclear")], state
    meant = result.subjects if 0 not in diagnoses else ()
    if diagnoses and explain and len(result.subjects) > 1:
        chosen = max(diagnoses.values(), key=lambda d: d.score).subject
        context = replace(context, subject=(chosen,))
        result = looked_at_again(judge_as(chain, chosen, context) or result, context)
        diagnoses = _diagnoses(result, context, explain)
    findings = findings_of(chain, whole, result, diagnoses, state.working.circuit)
    seen = implied_by(result, context)
    return findings, state_after(chain, result, diagnoses, state, meant, seen)


def _diagnoses(result: ChainResult, context: Context, explain: bool) -> dict[int, Diagnosis]:
    """A diagnosis for every wrong side.  The first takes over what explains a later one better:
    in V2 = V3 = V = 12 V the last side tells what was meant."""
    places = [place for place, side in enumerate(result.results) if side.status == "wrong"]
    if not explain:
        nothing = Diagnosis(result.subjects[0], ("unexplained",), 0.0, None)
        return dict.fromkeys(places, nothing)
    found = {place: diagnose(result, place, context) for place in places}
    if len(places) > 1 and not is_certain(found[places[0]]):
        first = found[places[0]]
        best = max(found.values(), key=lambda diagnosis: diagnosis.score)
        last = result.results[places[-1]].side.expression
        if isinstance(result.results[places[0]].side.expression, Symbol) and is_result(last):
            best = found[places[-1]]
        if best.score > 1.5 * first.score or (best.score > 0.4 and best is found[places[-1]]):
            found[places[0]] = replace(best, value=first.value)
    return found
