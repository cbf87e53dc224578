"""Judging n-best readings.  The costs and probabilities are assumptions of this project."""

from __future__ import annotations

from checker.matching import judge
from tests.matching.pages import read, reference, slip_line

CIRCUIT = reference("24 V", "series(C1, C2)", {"C1": "4 µF", "C2": "12 µF"})


def test_near_equal_readings_are_settled_by_what_follows() -> None:
    lines = read([("C = 8 µF", 0.5), ("C = 3 µF", 0.48)])
    assert judge(CIRCUIT, lines).outcome == "all follows"


def test_a_confident_wrong_value_stays_wrong() -> None:
    lines = read([("C = 4 + 12 = 16 µF", 0.995), ("C = 4 + 12 = 3 µF", 0.004)], "Q = 384 µC")
    judgement = judge(CIRCUIT, lines)
    assert judgement.outcome == "slip found"
    assert slip_line(judgement) == 0


def test_a_doubtful_reading_is_asked_about_and_not_accused() -> None:
    lines = read([("C = 16 µF", 0.7), ("C = 3 µF", 0.28)], "Q = 72 µC")
    judgement = judge(CIRCUIT, lines)
    assert judgement.first_slip is None
    statement = judgement.statements[0]
    assert statement.verdict == "unsure"
    assert statement.question == "Is this 16 or 3?"


def test_later_lines_bear_a_doubtful_slip_out() -> None:
    lines = read(
        [("C = 4 + 12 = 16 µF", 0.7), ("C = 4 + 12 = 3 µF", 0.28)], "Q = 16 × 24 = 384 µC",
        "V1 = 96 V",
    )  # fmt: skip
    assert slip_line(judge(CIRCUIT, lines)) == 0


def test_an_unreadable_line_is_shown_and_never_fatal() -> None:
    lines = read([("C=={{/", 0.3)], "C = 3 µF")
    judgement = judge(CIRCUIT, lines)
    assert judgement.first_slip is None
    assert judgement.statements[0].verdict == "unsure"
    assert judgement.statements[0].question
