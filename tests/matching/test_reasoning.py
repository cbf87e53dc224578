"""Follow-through, first in reasoning, corrections, units and rounding.

The circuit and its numbers are this project's own; carrying an error forward without a second
penalty follows the marking practice of AQA and Edexcel (project reference facts, C.5).
"""

from __future__ import annotations

import pytest

from checker.matching import judge
from checker.reading.page import Candidate, Line
from tests.matching.pages import judged, reference, slip_line, typed

CIRCUIT = reference(
    "24 V", "parallel(series(C1, C2), C3)", {"C1": "4 µF", "C2": "12 µF", "C3": "5 µF"}
)
SLIP = "C12 = 4 + 12 = 16 µF"


def verdicts(*lines: str) -> list[list[str]]:
    judgement = judged(CIRCUIT, *lines)
    return [[s.verdict for s in judgement.statements if s.line == n] for n in range(len(lines))]


def test_what_follows_from_a_slip_is_carried_forward() -> None:
    found = verdicts(
        SLIP, "C = 16 + 5 = 21 µF", "Q12 = 16 × 24 = 384 µC", "V1 = 96 V", "Q3 = 120 µC"
    )
    assert found == [
        ["first slip", "carried forward"],
        ["carried forward", "carried forward"],
        ["carried forward", "carried forward"],
        ["carried forward"],
        ["follows"],
    ]


def test_a_second_independent_slip_is_found_too() -> None:
    judgement = judged(CIRCUIT, SLIP, "C = 16 + 5 = 21 µF", "Q = 21/24 = 0.875 µC")
    assert slip_line(judgement) == 0
    assert [judgement.statements[s.statement].line for s in judgement.later_slips] == [2]
    assert judgement.later_slips[0].kind == "law-inverted"


def test_an_answer_above_its_working_is_not_the_first_slip() -> None:
    assert slip_line(judged(CIRCUIT, "Q12 = 384 µC", SLIP, "Q12 = 16 × 24 = 384 µC")) == 1


def test_pages_in_the_wrong_order_are_one_piece_of_work() -> None:
    later = ["Q12 = 16 × 24 = 384 µC", "V1 = 384/4 = 96 V"]
    lines = [Line(0, (Candidate(t, 1.0),), line=n) for n, t in enumerate(later)]
    lines += [Line(1, (Candidate(SLIP, 1.0),), line=0)]
    judgement = judge(CIRCUIT, lines)
    assert judgement.first_slip is not None
    assert judgement.statements[judgement.first_slip.statement].page == 1


def test_a_value_put_right_later_is_no_slip() -> None:
    judgement = judged(CIRCUIT, SLIP, "C12 = 4×12/(4+12) = 3 µF", "C = 3 + 5 = 8 µF")
    assert judgement.outcome == "all follows"
    assert any("put right" in remark for remark in judgement.remarks)


def test_struck_lines_are_left_aside() -> None:
    lines = typed(SLIP, "C12 = 3 µF")
    lines[0] = Line(0, lines[0].candidates, line=0, role="struck")
    assert judge(CIRCUIT, lines).outcome == "all follows"


@pytest.mark.parametrize(
    "lines",
    [
        ("C' = 1/(1/4 + 1/12) = 3", "C'' = C' + C3 = 8", "Q'' = 192", "Q' = 72"),
        ("Q3 = C3 V = 120 µC", "V1 = 24 × 12/16 = 18 V", "V2 = 24 - 18 = 6 V", "Q1 = 72 µC"),
        ("C_eq = 8 µF", "Q_tot = 192 µC", "Q_1 = Q_2 = 192 - 120 = 72 µC"),
        ("3 = Q12/24", "Q12 = 72"),
        ("C12⁻¹ = 4⁻¹ + 12⁻¹ → C12 = 3 µF", "C = C12 ∥ C3 = 8 µF"),
        ("charge on C3 = 120 µC", "total charge = 192 µC", "Q2, Q1 = 72, 72 µC"),
        ("C1  C2  C3", "Q  72 µC  72 µC  120 µC", "V  18 V  6 V  24 V"),
        ("C(µF)  Q(µC)  V(V)", "C1  4  72  18", "C3  5  120  24"),
        ("U = ½CV² = 0.5 × 8 × 24² = 2304 µJ", "U1 = 648 µJ", "U2 = 216 µJ", "U3 = 1440 µJ"),
        ("C12 = 3e-6 F", "Q = 8e-6 × 24 = 1.92×10⁻⁴ C"),
        ("C12 = 3 µF", "Q = 8 × 24 = 0.192 mC"),
    ],
)
def test_every_valid_route_is_right(lines: tuple[str, ...]) -> None:
    judgement = judged(CIRCUIT, *lines)
    assert judgement.outcome == "all follows"
    assert judgement.first_slip is None


@pytest.mark.parametrize(("written", "right"), [("2.67", True), ("2.66", True), ("2.7", True),
                                                ("2.68", False), ("2.65", False)])  # fmt: skip
def test_rounding_and_cutting_off_8_thirds(written: str, right: bool) -> None:
    of = reference(None, "series(C1, C2)", {"C1": "4 µF", "C2": "8 µF"})
    judgement = judged(of, f"C = 4×8/(4+8) = {written} µF")
    assert (judgement.first_slip is None) is right
    assert any("ut off" in (s.remark or "") for s in judgement.statements) is (written == "2.66")


def test_values_carried_rounded_and_unrounded_both_follow() -> None:
    of = reference("12 V", "series(C1, C2)", {"C1": "4 µF", "C2": "8 µF"})
    for charge in ("32.0", "32.4"):  # from 8/3, and from 2.7
        assert judged(of, "C = 2.7 µF", f"Q = {charge} µC").outcome == "all follows"
    assert judged(of, "C = 2.7 µF", "Q = 33.4 µC").outcome == "slip found"


def test_nothing_read_and_what_is_no_working() -> None:
    assert judge(CIRCUIT, []).outcome == "nothing read"
    assert judged(CIRCUIT, "homework of tuesday").outcome == "nothing read"


@pytest.mark.parametrize(
    "lines",
    [
        # U may be an energy until "= 24": B is still any of the groups at the supply's voltage.
        ("C12 = 3", "U_3 = U_B = U", "= 24", "Q_B = C_B × U", "= 3 × 24 = 72"),
        ("C12 = 3 µF  C12 ∥ C3", "= 3 µF + 5 µF = 8 µF"),
    ],
)
def test_a_label_stays_open_until_a_value_settles_it(lines: tuple[str, ...]) -> None:
    assert judged(CIRCUIT, *lines).outcome == "all follows"


def test_a_label_is_known_from_the_sum_it_stands_in() -> None:
    of = reference(
        "36 V", "parallel(series(C1, C2), series(C3, C4))",
        {"C1": "3.3 µF", "C2": "3.9 µF", "C3": "2.7 µF", "C4": "4.7 µF"},
    )  # fmt: skip
    lines = ("C_a = 3.3×3.9/(3.3+3.9) = 1.79", "C = C_a ∥ C_b", "Q_b = C_b × 36", "= 1.71 × 36")
    assert judged(of, *lines, "= 61.7").outcome == "all follows"


def test_a_wrong_result_of_right_working_leaves_its_label_open() -> None:
    of = reference(
        "30 V", "series(C1, parallel(series(C2, C3), C4))",
        {"C1": "9 µF", "C2": "11 µF", "C3": "8 µF", "C4": "7 µF"},
    )  # fmt: skip
    lines = (
        "C' = 11.6", "C = 5.08", "Q = 5.08·30 = 152 = Q'", "U' = 152/11.6 = 13.1",
        "Q''' = 152·4.63/(4.63+7) = 66.5", "Q''' = 152·4.63/(4.63+7) = 60.7",
        "U''' = U4 = U' = 13.1",
    )  # fmt: skip
    assert judged(of, *lines).outcome == "all follows"


def test_a_wrong_value_may_be_put_right_by_a_fraction() -> None:
    of = reference(None, "series(C1, C2)", {"C1": "95 µF", "C2": "80 µF"})
    judgement = judged(of, "C = 95×80/(95+80) = 27.88 µF", "C = 95×80/(95+80)", "= (304/7) µF")
    assert judgement.outcome == "all follows"


@pytest.mark.parametrize(
    "lines",
    [
        ("V1 = V2 = V = 24 V",),  # one mistake, on both elements
        ("Q = C + V", "= 8 + 24 = 32 µC"),
        ("Q1 = 4 × 24 = 96 µC", "Q2 = 12 × 24 = 288 µC"),
    ],
)
def test_one_mistake_said_twice_is_one_slip(lines: tuple[str, ...]) -> None:
    judgement = judged(CIRCUIT, *lines)
    assert slip_line(judgement) == 0
    assert judgement.later_slips == ()


def test_a_whole_of_three_groups_whose_labels_are_not_known_yet() -> None:
    names = {"C1": "65 µF", "C2": "20 µF", "C3": "45 µF", "C4": "55 µF", "C5": "60 µF"}
    of = reference(
        "12 V", "series(parallel(C1, C2), parallel(C3, C4), parallel(C5, C6))",
        {**names, "C6": "90 µF"},
    )  # fmt: skip
    lines = ("1/C_eq = 1/C_left + 1/C_right + 1/C_top", "⇒ C_eq = 35.2 µF", "Q1 = 323 µC")
    assert judged(of, *lines).outcome == "all follows"


def test_a_miscopied_given_is_no_rounding() -> None:
    of = reference("15 V", "parallel(C1, C2)", {"C1": "8.3 µF", "C2": "4.2 µF"})
    lines = ("Q1 = 8.3 × 15 = 125 µC", "Q2 = 4.3 × 15", "Q2 = 64.5 µC", "C = 12.5 µF")
    judgement = judged(of, *lines)
    assert slip_line(judgement) == 1
    assert judgement.first_slip is not None and judgement.first_slip.kind == "given-miscopied"


def test_a_wrong_formula_that_goes_on_in_the_next_line_slips_where_it_stands() -> None:
    of = reference(None, "series(C1, C2, C3)", {"C1": "4 µF", "C2": "6 µF", "C3": "12 µF"})
    judgement = judged(of, "C1C2C3/(C1 + C2 + C3)", "= (4×6×12)/(4+6+12) = 13.1 µF")
    assert slip_line(judgement) == 0


def test_a_comma_between_statements_is_no_decimal_comma_where_decimals_have_a_point() -> None:
    of = reference("9 V", "series(C1, C2)", {"C1": "3 µF", "C2": "7 µF"})
    assert judged(of, "V_tot = 9,1/C = 1/3 + 1/7", "C = 2.1 µF").outcome == "all follows"


def test_working_in_the_line_before_counts_as_working() -> None:
    slip = judged(CIRCUIT, "C12 = 4×12/(4+12)", "C12 = 3.4 µF").first_slip
    assert slip is not None and slip.kind == "arithmetic"


def test_a_rounded_value_adds_up_with_exact_ones() -> None:
    """135 nC may be written 140, and 75 + 120 + 140 = 335 as 340: rounding to two figures at every
    step (common practice, no source)."""
    of = reference("15 V", "parallel(C1, C2, C3)", {"C1": "8 nF", "C2": "5 nF", "C3": "9 nF"})
    lines = ("Q2 = 75", "Q1 = 120", "Q3 = (9)(15)", "= 140", "Q = Q2 + Q1 + Q3 = 75 + 120 + 140")
    assert judged(of, "C = 22", *lines, "= 340").outcome == "all follows"
    assert slip_line(judged(of, "C = 22", *lines, "= 350")) == 6


def test_an_exact_looking_value_may_come_from_rounded_ones() -> None:
    """18 µC is exact, and also 100/110 of the rounded 20 µC; its square over 200 is 1.62 or 1.65,
    so 1.6 and 1.7 are both honest (common practice, no source)."""
    of = reference(
        "1.5 V", "series(C1, parallel(C2, C3))", {"C1": "15 µF", "C2": "100 µF", "C3": "10 µF"}
    )
    lines = ("Q = 13·1.5 = 20", "V2 = V3 = 20/110 = 0.18", "Q2 = 100·0.18 = 18")
    for energy, right in (("1.6", True), ("1.7", True), ("1.8", False)):
        judgement = judged(of, "C = 13", *lines, f"U2 = 18²/(2·100) = {energy}")
        assert (judgement.first_slip is None) is right
