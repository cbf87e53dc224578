"""The order of a stack, and the cells of its table."""

from __future__ import annotations

from dataclasses import replace

from checker.desk.stack_order import COLUMNS, by_need, confidence, table_row
from checker.exact import Fraction
from checker.matching.judgement import Judgement
from checker.report.stack_rows import Mark, StackPage, StackRow
from tests.report.made import SLIP, statement

PAGE = StackPage("a.txt", 1)


def row(position: int, outcome: str, sure: float = 0.9, **more: object) -> StackRow:
    slip = outcome == "slip found"
    statements = (
        replace(statement(0), confidence=0.99),
        replace(statement(1, "first slip" if slip else "follows"), confidence=sure),
        replace(statement(2, "carried forward" if slip else "not working"), confidence=0.1),
    )
    judgement = Judgement(outcome, SLIP if slip else None, statements)  # type: ignore[arg-type]
    given = {"pages": (PAGE,), **more}
    return StackRow(position, f"s{position}", judgement.outcome, judgement, **given)  # type: ignore[arg-type]


def test_what_needs_a_person_comes_first() -> None:
    failed = replace(PAGE, reason="It is no picture.")
    rows = [
        row(0, "all follows"),
        row(1, "slip found", 0.95),
        row(2, "needs a look", person="agreed"),
        row(3, "needs a look", 0.5),
        row(4, "slip found", 0.6),
        row(5, "all follows", pages=(PAGE, failed)),
        row(6, "nothing read"),
        row(7, "needs a look", 0.5),
    ]
    assert [one.position for one in by_need(rows)] == [5, 6, 3, 7, 4, 1, 0, 2]


def test_it_is_as_sure_as_the_slipped_line_else_as_the_least_sure_working() -> None:
    assert confidence(row(0, "slip found", 0.6)) == 0.6
    assert confidence(row(0, "all follows", 0.7)) == 0.7  # 0.1 is no working
    empty = StackRow(0, "s", "nothing read", Judgement("nothing read", None, ()), ())
    assert confidence(empty) == 0.0


def test_the_cells_say_what_was_found_and_who_confirmed_the_mark() -> None:
    cells = table_row(row(0, "slip found", 0.6, mark=Mark(Fraction(5, 2), Fraction(4))))
    assert cells == {
        "Submission": "s0", "Outcome": "✗ slip found", "First slip": "C12 = 16 µF",
        "Kind": "Series combined as parallel", "Sure": 0.6, "Carried": 1, "Pages": 1, "You": "",
        "Mark": "2.5 of 4, suggested",
    }  # fmt: skip
    assert list(cells) == list(COLUMNS)
    sure = Mark(Fraction(4), Fraction(4), confirmed=True)
    cells = table_row(row(0, "all follows", person="agreed", mark=sure))
    assert (cells["You"], cells["Mark"]) == ("agreed", "4 of 4, confirmed")
    assert (cells["First slip"], cells["Kind"]) == ("", "")
