"""What a judgement consists of; the JSON and the pages are written from this."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from checker.reading.page import Polygon

Verdict = Literal["follows", "first slip", "carried forward", "later slip", "unsure", "not working"]
Outcome = Literal["all follows", "slip found", "needs a look", "nothing read"]


@dataclass(frozen=True)
class JudgedStatement:
    """One statement: a side of a chain with its relation, or a line of words.

    ``text`` is plain (``checker.markup.plain``), ``confidence`` the reader's probability of the
    line, ``quantity`` what the statement is about, ``question`` what to ask where the verdict is
    "unsure".
    """

    index: int
    page: int
    polygon: Polygon | None
    line: int | None
    text: str
    confidence: float
    quantity: str | None
    verdict: Verdict
    remark: str | None = None
    question: str | None = None


@dataclass(frozen=True)
class Slip:
    """A step that does not follow.  ``also`` names further kinds that explain it equally."""

    statement: int
    kind: str
    quantity: str | None
    written: str
    expected: str | None
    hint: str
    explanation: str
    also: tuple[str, ...] = ()


@dataclass(frozen=True)
class Judgement:
    outcome: Outcome
    first_slip: Slip | None
    statements: tuple[JudgedStatement, ...]
    later_slips: tuple[Slip, ...] = ()
    remarks: tuple[str, ...] = ()


def withheld(judgement: Judgement, *remarks: str) -> Judgement:
    """The same without a verdict on the whole and with questions instead of slips: for pages of
    which too little could be read.  ``remarks`` are added."""
    if judgement.outcome == "nothing read":
        return judgement
    statements = tuple(map(_asked, judgement.statements))
    return Judgement("needs a look", None, statements, (), (*judgement.remarks, *remarks))


def _asked(statement: JudgedStatement) -> JudgedStatement:
    if statement.verdict not in ("first slip", "later slip"):
        return statement
    question = statement.question or f'Is this "{statement.text}"?'
    return replace(statement, verdict="unsure", question=question, remark=None)
