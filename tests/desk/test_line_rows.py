"""Lines beside the verdicts on what they say."""

from __future__ import annotations

from dataclasses import replace

from checker.desk.line_rows import line_rows
from checker.matching.judgement import Judgement
from checker.problem.problem_file import load_problem
from checker.problem.reduction import solve
from checker.reading.page import Candidate, Line, PageReading, Polygon
from checker.submission import Upload, judge_pages, read
from tests.report.made import statement, upright
from tests.samples import TYPED


def line(text: str, polygon: Polygon | None = None, number: int | None = None) -> Line:
    (page,) = read([Upload("a.txt", text.encode())])
    return replace(page.lines[0], polygon=polygon, line=number)


def page(*lines: Line) -> PageReading:
    (blank,) = read([Upload("a.txt", b"C1 = 1")])
    return replace(blank, lines=lines)


def test_typed_lines_have_the_verdicts_of_their_statements() -> None:
    readings = read([Upload("page.txt", TYPED.page.read_bytes())])
    judgement = judge_pages(solve(load_problem(TYPED.problem)), readings)
    rows = line_rows(readings, judgement)
    assert len(rows) == len(TYPED.page.read_text(encoding="utf-8").splitlines())
    assert [row.index for row in rows] == list(range(len(rows)))
    assert rows[1].verdict == "first slip" and rows[1].text == "C12 = 0.5 µF"
    shown = [s for row in rows for s in row.statements]
    assert sorted(shown, key=lambda s: s.index) == list(judgement.statements)


def test_a_row_is_as_grave_as_its_gravest_statement_and_notes_come_once() -> None:
    said = [
        statement(0, "follows", line=1),
        replace(statement(1, "later slip", line=1), remark="too early"),
        replace(statement(2, "carried forward", line=1), remark="too early"),
    ]
    (row,) = line_rows([page(line("x = 1", number=1))], Judgement("slip found", None, tuple(said)))
    assert row.verdict == "later slip" and row.notes == ["too early"]


def test_a_statement_of_a_photo_belongs_to_the_line_it_stands_on() -> None:
    lines = [line("a = 1", upright(0, y, 400, y + 40)) for y in (0, 50, 100)]
    right_end = statement(0, polygon=upright(300, 52, 390, 88))
    slanted = statement(1, polygon=upright(20, 98, 200, 138))
    rows = line_rows([page(*lines)], Judgement("all follows", None, (right_end, slanted)))
    assert [[s.index for s in row.statements] for row in rows] == [[], [0], [1]]
    assert rows[0].verdict == "not working" and rows[0].text == "a = 1"


def test_a_line_set_aside_is_shown_only_where_a_person_did_it() -> None:
    aside = replace(line("words"), role="words", candidates=(Candidate("words", 1.0),))
    judgement = Judgement("all follows", None, ())
    reading = page(line("a = 1"), aside)
    assert [row.index for row in line_rows([reading], judgement)] == [0]
    rows = line_rows([reading], judgement, {(0, 1)})
    assert [(row.index, row.text) for row in rows] == [(0, "a = 1"), (1, "")]
