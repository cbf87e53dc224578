"""Suggested marks.

The circuit and its values are "Network of Capacitors", University Physics 2, section 8.2, OpenStax.
Error carried forward: AQA physics marking instructions (a wrong number used rightly keeps its
points; a slip in arithmetic or in copying costs one).
"""

from __future__ import annotations

import pytest

from checker.exact import Fraction
from checker.problem.problem_file import parse_problem
from checker.report.marks import SuggestedMark, suggested_mark, written_points
from checker.submission import Upload, check

PROBLEM = """\
supply = "12.0 V"
connection = "series(C1, parallel(C2, C3))"
[capacitors]
C1 = "12.0 µF"
C2 = "2.0 µF"
C3 = "4.0 µF"
[marks]
equivalent_capacitance = 2
charge = 1
voltage = 1
method_step = 0.5
"""
RIGHT = """\
C23 = C2 + C3 = 2.0 + 4.0 = 6.0 µF
1/C = 1/12.0 + 1/6.0 = 1/4.0
C = 4.0 µF
Q = C V = 4.0 × 12.0 = 48.0 µC
Q1 = Q23 = 48.0 µC
V1 = Q1/C1 = 48.0/12.0 = 4.0 V
V23 = 12.0 - 4.0 = 8.0 V
Q2 = C2 V23 = 2.0 × 8.0 = 16.0 µC
Q3 = C3 V23 = 4.0 × 8.0 = 32.0 µC
"""


def mark(working: str, scheme: str = "") -> SuggestedMark:
    checked = check(Upload("page.txt", working.encode()), parse_problem(PROBLEM + scheme))
    suggested = suggested_mark(checked.reference, checked.judgement)
    assert suggested is not None
    return suggested


def reasons(suggested: SuggestedMark) -> dict[str, str]:
    return {item.name: item.reason for item in suggested.items}


def test_the_published_solution_earns_every_point() -> None:
    suggested = mark(RIGHT)
    assert (suggested.points, suggested.out_of) == (10, 10)
    assert suggested.to_look_at == 0
    assert "C2, C3 (parallel) combined" in reasons(suggested)


def test_a_slip_in_arithmetic_costs_its_value_and_nothing_that_follows_from_it() -> None:
    working = RIGHT.replace("48.0/12.0 = 4.0", "48.0/12.0 = 3.0")
    working = working.replace("12.0 - 4.0 = 8.0", "12.0 - 3.0 = 9.0")
    working = working.replace("2.0 × 8.0 = 16.0", "2.0 × 9.0 = 18.0")
    working = working.replace("4.0 × 8.0 = 32.0", "4.0 × 9.0 = 36.0")
    suggested = mark(working)
    found = reasons(suggested)
    assert found["voltage across C1"] == "slip"
    assert found["charge on C2"] == found["charge on C3"] == "carried forward"
    assert suggested.points == suggested.out_of - 1
    # V2, V3, Q2 and Q3 go as well where nothing is carried forward.
    assert mark(working, "follow_through = false\n").points == suggested.points - 4


def test_a_wrong_rule_costs_its_step_and_its_value() -> None:
    suggested = mark("C23 = C2 + C3 = 6.0 µF\nC = C1 + C23 = 12.0 + 6.0 = 18.0 µF\n")
    found = reasons(suggested)
    assert found["equivalent capacitance of C1, C2, C3"] == "slip"
    assert found["C1, C2, C3 (series) combined"] == "slip"
    assert found["C2, C3 (parallel) combined"] == "follows"
    assert found["charge on C1"] == "not written"
    assert suggested.points == Fraction(1, 2)


def test_groups_combined_in_one_line_count_as_combined() -> None:
    found = reasons(mark("C = 1/(1/12.0 + 1/(2.0 + 4.0)) = 4.0 µF\n"))
    assert found["C2, C3 (parallel) combined"] == "follows"


def test_no_points_are_suggested_for_what_nobody_wrote() -> None:
    assert mark("a sketch\n").points == 0


def test_a_problem_without_a_scheme_gets_no_mark() -> None:
    checked = check(Upload("p.txt", b"C = 4 uF"), parse_problem(PROBLEM.split("[marks]")[0]))
    assert suggested_mark(checked.reference, checked.judgement) is None


@pytest.mark.parametrize(("points", "text"), [(Fraction(9, 2), "4.5"), (Fraction(10), "10")])
def test_points_are_written_plainly(points: Fraction, text: str) -> None:
    assert written_points(points) == text
