"""What became of an invented student's page, in one word."""

from __future__ import annotations

from collections.abc import Callable

from checker.matching import Judgement
from checker.training.students import StudentPage


def outcome(student: StudentPage, judgement: Judgement, is_there: Callable[[int], bool]) -> str:
    """Of a right page: right, accused or asked; of one with a slip: right, elsewhere, missed or
    asked.  ``is_there``: whether a judged statement stands on the line of the true first slip.
    """
    slip = judgement.first_slip
    if slip is None:
        if judgement.outcome != "all follows":
            return "asked"
        return "right" if student.first_slip is None else "missed"
    if student.first_slip is None:
        return "accused"
    return "right" if is_there(slip.statement) else "elsewhere"


def outcome_of_lines(student: StudentPage, judgement: Judgement) -> str:
    """The same where the lines that were judged are those that the student wrote."""
    return outcome(student, judgement, lambda at: line_of(judgement, at) == student.first_slip)


def line_of(judgement: Judgement, statement: int) -> int | None:
    """The line on which a judged statement stands."""
    found = next((s for s in judgement.statements if s.index == statement), None)
    return None if found is None else found.line
