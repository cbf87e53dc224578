"""Tables of which a label was misread.  What a teacher makes of one is common practice, of no
published source: the label left over is understood, and nobody is accused by a guess."""

from __future__ import annotations

import pytest

from checker.matching import Judgement, judge
from tests.matching.pages import read, reference, slip_line

CIRCUIT = reference(
    "12 V", "series(C1, parallel(C2, C3))", {"C1": "12 µF", "C2": "2 µF", "C3": "4 µF"}
)
WORKING = ("C23 = 2 + 4 = 6 µF", "C = 12 × 6/(12 + 6) = 4.0 µF", "Q = 4 × 12 = 48 µC")
Q, V = "Q  48 µC  16 µC  32 µC", "V  4.0 V  8.0 V  8.0 V"
MISREAD = {
    "another number": "C1  C2  C9", "a number": "61  C2  C3", "nothing": "C1  C_{}  C3",
    "letters": "C1  C_{ee}  C3", "the same twice": "C1  C1  C3", "no symbol": "C1  9_{2}  C3",
}  # fmt: skip


def with_head(head: str, *rows: str) -> Judgement:
    return judge(CIRCUIT, read(*WORKING, [(head, 0.9)], *rows))


def verdicts(judgement: Judgement, line: int) -> list[str]:
    return [s.verdict for s in judgement.statements if s.line == line]


@pytest.mark.parametrize("head", MISREAD.values(), ids=list(MISREAD))
def test_right_rows_below_a_misread_head_follow(head: str) -> None:
    judgement = with_head(head, Q, V)
    assert judgement.outcome == "all follows"
    assert verdicts(judgement, 4) == verdicts(judgement, 5) == ["follows"] * 3


@pytest.mark.parametrize("head", ["C1  C2  C9", "C1  C2  6_{3}", "C1  C2  C_{}"])
def test_a_slip_in_a_column_with_its_head_is_found(head: str) -> None:
    judgement = with_head(head, Q, "V  8.0 V  8.0 V  8.0 V")
    assert slip_line(judgement) == 5
    assert verdicts(judgement, 5)[0] == "first slip"


@pytest.mark.parametrize("row", ["V  4.0 V  8.0 V  12 V", "V  4.0 V  8.0 V  9.0 V"])
@pytest.mark.parametrize("head", ["C1  C2  C9", "C1  C2  6_{3}", "C1  C2  C2"])
def test_a_wrong_value_below_the_guess_is_asked_about(head: str, row: str) -> None:
    judgement = with_head(head, Q, row)
    assert judgement.first_slip is None
    assert judgement.outcome == "needs a look"
    assert "unsure" in verdicts(judgement, 5)


def test_a_slip_beside_a_wrong_value_below_the_guess_is_the_first() -> None:
    judgement = with_head("61  C2  C3", Q, "V  12 V  12 V  12 V")
    assert slip_line(judgement) == 5
    assert verdicts(judgement, 5)[:2] == ["unsure", "first slip"]


def test_with_two_labels_misread_the_table_is_not_read() -> None:
    judgement = with_head("61  C2  6_{3}", "Q  48 µC  16 µC  42 µC")
    assert judgement.first_slip is None
    assert set(verdicts(judgement, 4)) == {"not working"}


@pytest.mark.parametrize("last", ["C_{eq}  48 µC  12 V", "C23  48 µC  8.0 V"])
def test_a_label_that_is_readable_stays(last: str) -> None:
    rows = ("C1  48 µC  4.0 V", "C2  16 µC  8.0 V", last)
    judgement = judge(CIRCUIT, read(*WORKING, [("Q  V", 0.9)], *rows))
    assert judgement.outcome == "all follows"


@pytest.mark.parametrize("number", [0, 1, 2])
def test_a_row_with_a_misread_label_is_the_one_left_over(number: int) -> None:
    rows = ["C1  48 µC  4.0 V", "C2  16 µC  8.0 V", "C3  32 µC  8.0 V"]
    rows[number] = "6" + rows[number][1:]
    judgement = judge(CIRCUIT, read(*WORKING, [("Q  V", 0.9)], *rows))
    assert judgement.outcome == "all follows"
    assert verdicts(judgement, 4 + number) == ["follows"] * 2
    rows[number] = rows[number].replace(" µC", "7 µC")
    judgement = judge(CIRCUIT, read(*WORKING, [("Q  V", 0.9)], *rows))
    assert judgement.first_slip is None
    assert judgement.outcome == "needs a look"


def test_a_row_named_twice_accuses_nobody() -> None:
    rows = ("C1  48 µC  4.0 V", "C1  16 µC  8.0 V", "C3  32 µC  8.0 V")
    assert judge(CIRCUIT, read(*WORKING, [("Q  V", 0.9)], *rows)).first_slip is None


def test_typed_labels_are_taken_as_they_are() -> None:
    typed = judge(CIRCUIT, read(*WORKING, "61  C2  C3", Q))
    assert set(verdicts(typed, 4)) == {"not working"}
