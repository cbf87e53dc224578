"""What stands for a submission: the program's judgement and what a person decided about it.

Payloads of the log: ``agree`` has "saw" (``seen``); ``overrule`` has "outcome", "statement" (index,
null but for a slip), "text" (of that statement) and "remark"; ``mark`` has "points" and "of" as
fractions in text and "saw" (``marked``).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from checker.exact import Fraction, rational
from checker.matching.judgement import JudgedStatement, Judgement, Outcome, Slip
from checker.matching.slips import SLIPS
from checker.report.stack_rows import Person
from checker.stack.rows import Action


@dataclass(frozen=True)
class Standing:
    """``judgement`` is as the person sees it where one overruled; ``points``, out of ``of``, are
    confirmed."""

    judgement: Judgement
    person: Person | None = None
    remark: str = ""
    points: Fraction | None = None
    of: Fraction | None = None


def standing(judgement: Judgement, actions: Sequence[Action]) -> Standing:
    """The judgement with the last decision that still holds.

    An agreement holds while the program says what was agreed to; an overruling holds until it is
    undone or followed by an agreement; a confirmed mark while all that it was given for stands.
    """
    result, mark = Standing(judgement), None
    for action in actions:
        if action.kind == "agree" and action.payload["saw"] == seen(judgement):
            result = replace(result, judgement=judgement, person="agreed", remark="")
        elif action.kind == "overrule":
            remark = action.payload["remark"]
            changed = _overruled(judgement, action.payload)
            result = replace(result, judgement=changed, person="overruled", remark=remark)
        elif action.kind == "mark":
            mark = action.payload
    if mark is None or mark.get("saw") != marked(result.judgement):
        return result
    return replace(result, points=rational(mark["points"]), of=rational(mark["of"]))


def seen(judgement: Judgement) -> list[Any]:
    """What a person agrees to, as plain JSON: the outcome and the first slip."""
    slip = judgement.first_slip
    return [judgement.outcome, slip and judgement.statements[slip.statement].text]


def marked(judgement: Judgement) -> list[Any]:
    """What a mark is given for, as plain JSON: the outcome and every statement's verdict."""
    return [judgement.outcome, [[s.text, s.verdict] for s in judgement.statements]]


def marking(judgement: Judgement, points: Fraction, of: Fraction) -> dict[str, Any]:
    """The payload of a ``mark`` given for the judgement as it stands."""
    return {"points": str(points), "of": str(of), "saw": marked(judgement)}


def overruling(
    judgement: Judgement, outcome: Outcome, statement: int | None, remark: str
) -> dict[str, Any]:
    """The payload of an ``overrule``."""
    text = None if statement is None else judgement.statements[statement].text
    return {"outcome": outcome, "statement": statement, "text": text, "remark": remark}


def _overruled(judgement: Judgement, payload: dict[str, Any]) -> Judgement:
    outcome, place = payload["outcome"], payload["statement"]
    if outcome == "slip found":
        known = place is not None and place < len(judgement.statements)
        if known and judgement.statements[place].text == payload["text"]:
            return _slip_at(judgement, place, payload["remark"])
        return replace(judgement, outcome=outcome)
    if outcome == "all follows":
        statements = tuple(map(_following, judgement.statements))
    else:
        statements = tuple(
            replace(s, verdict="unsure") if s.verdict in ("first slip", "later slip") else s
            for s in judgement.statements
        )
    return Judgement(outcome, None, statements, (), judgement.remarks)


def _following(statement: JudgedStatement) -> JudgedStatement:
    if statement.verdict in ("follows", "not working"):
        return statement
    return replace(statement, verdict="follows", question=None, remark=None)


def _slip_at(judgement: Judgement, place: int, remark: str) -> Judgement:
    slips = [s for s in (judgement.first_slip, *judgement.later_slips) if s]
    slip = next((s for s in slips if s.statement == place), None) or _named(
        judgement, place, remark
    )
    later = tuple(s for s in slips if s.statement > place)
    statements = tuple(_seen_from(s, place) for s in judgement.statements)
    return Judgement("slip found", slip, statements, later, judgement.remarks)


def _seen_from(statement: JudgedStatement, place: int) -> JudgedStatement:
    """Nothing before the first slip is one; what was first comes later."""
    if statement.index == place:
        return replace(statement, verdict="first slip", question=None)
    if statement.verdict not in ("first slip", "later slip"):
        return statement
    return replace(statement, verdict="follows" if statement.index < place else "later slip")


def _named(judgement: Judgement, place: int, remark: str) -> Slip:
    kind, statement = SLIPS["unexplained"], judgement.statements[place]
    because = remark or kind.explanation
    return Slip(place, kind.name, statement.quantity, statement.text, None, kind.hint, because)
