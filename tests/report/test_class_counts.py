"""What a class slipped on.

The circuit is "Network of Capacitors", University Physics 2, section 8.2, OpenStax; the slips are
those of the kinds' own definitions.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from checker.matching.judgement import Slip
from checker.problem.problem_file import parse_problem
from checker.problem.reduction import solve
from checker.report.class_counts import class_counts, worth_showing
from checker.report.stack_rows import StackPage, StackRow
from checker.submission import Upload, judge_pages, read

REFERENCE = solve(
    parse_problem(
        'supply = "12.0 V"\nconnection = "series(C1, parallel(C2, C3))"\n[capacitors]\n'
        'C1 = "12.0 µF"\nC2 = "2.0 µF"\nC3 = "4.0 µF"\n'
    )
)
IN_SERIES = "C1, C2, C3 in series"
IN_PARALLEL = "C2, C3 in parallel"
ADDED = "C23 = 2.0 + 4.0 = 6.0 µF\nC = 12.0 + 6.0 = 18.0 µF\n"
BY_RECIPROCALS = "1/C23 = 1/2.0 + 1/4.0\nC23 = 1.33 µF\n"
RIGHT = "C23 = 2.0 + 4.0 = 6.0 µF\n1/C = 1/12.0 + 1/6.0\nC = 4.0 µF\n"


def row(position: int, working: str) -> StackRow:
    pages = read([Upload("page.txt", working.encode())])
    judgement = judge_pages(REFERENCE, pages)
    page = StackPage("page.txt", 1, pages[0])
    return StackRow(position, f"s{position}", judgement.outcome, judgement, (page,))


ROWS = [row(n, text) for n, text in enumerate([ADDED, RIGHT, ADDED, BY_RECIPROCALS])]


def test_first_slips_are_counted_by_stage_and_kind() -> None:
    counts = class_counts(REFERENCE, ROWS)
    assert counts.outcomes == {"slip found": 3, "all follows": 1}
    assert counts.kinds == ("Series combined as parallel", "Parallel combined as series")
    assert {(c.stage, c.kind, c.count) for c in counts.cells} == {
        (IN_SERIES, "Series combined as parallel", 2),
        (IN_PARALLEL, "Parallel combined as series", 1),
    }
    assert counts.stages.index(IN_PARALLEL) < counts.stages.index(IN_SERIES)


def test_one_line_of_each_slip_is_worth_showing_the_frequent_one_first() -> None:
    shown = worth_showing(REFERENCE, ROWS)
    assert [(one.stage, one.count, one.row.position) for one in shown] == [
        (IN_SERIES, 2, 0),
        (IN_PARALLEL, 1, 3),
    ]
    assert len(worth_showing(REFERENCE, ROWS, most=1)) == 1


def test_a_line_that_a_person_agreed_with_is_shown_rather_than_another() -> None:
    rows = [*ROWS[:2], replace(ROWS[2], person="agreed"), ROWS[3]]
    assert worth_showing(REFERENCE, rows)[0].row.position == 2


def test_what_a_person_overruled_is_not_counted() -> None:
    rows = [replace(r, outcome="all follows", person="overruled") for r in ROWS]
    counts = class_counts(REFERENCE, rows)
    assert counts.cells == () and worth_showing(REFERENCE, rows) == []


@pytest.mark.parametrize(
    ("quantity", "stage"),
    [
        ("capacitance of C1", IN_SERIES),
        ("equivalent capacitance of C1, C2", IN_SERIES),
        ("total charge", "the whole network"),
        ("charge on C2", "back to C2, C3"),
        ("voltage across C1", "back to C1, C2, C3"),
        ("voltage across C2, C3", "back to C1, C2, C3"),
        ("stored energy of C1", "energy"),
        (None, "elsewhere"),
    ],
)
def test_every_quantity_belongs_to_a_stage(quantity: str | None, stage: str) -> None:
    slip = Slip(0, "unexplained", quantity, "1", None, "", "")
    judgement = replace(ROWS[0].judgement, first_slip=slip)
    counts = class_counts(REFERENCE, [replace(ROWS[0], judgement=judgement)])
    assert counts.cells[0].stage == stage
    assert stage in counts.stages


def test_energy_has_a_column_only_where_it_is_asked_for_or_slipped_on() -> None:
    assert "energy" not in class_counts(REFERENCE, ROWS).stages
    asking = replace(REFERENCE, problem=replace(REFERENCE.problem, find=("energy",)))
    assert "energy" in class_counts(asking, ROWS).stages
