"""The student's page: choose a problem, add pages, see the first slip, ask for help step by step.

Everything given lives in the session only; nothing is written to disk and nothing leaves the
machine.
"""

from __future__ import annotations

from html import escape

import streamlit as st

from checker.desk.help_steps import show_help
from checker.desk.line_field import LONGEST_LINE, line_field
from checker.desk.line_rows import LineRow, line_rows
from checker.desk.look import literal
from checker.desk.own_work import OwnPage, OwnWork, PageRead
from checker.desk.pages_choice import choose_pages
from checker.desk.photo_marks import line_head_html, marks_html, picture_html, pointed_at, sign_html
from checker.desk.problem_choice import choose_problem
from checker.matching.judgement import Judgement
from checker.problem.caution import caution
from checker.problem.problem_file import Problem
from checker.problem.reduction import solve
from checker.reading.page import PageReading
from checker.report.verdict_marks import OUTCOME_MARK, OUTCOMES

ZOOMS = {"Fit": 100, "1½ ×": 150, "2 ×": 200, "3 ×": 300}


def show() -> None:
    st.title("Check my working", anchor=False)
    st.html(
        '<p class="lead">Finds the first step of your circuit reduction that does not follow, '
        "and helps as far as you ask.</p>"
        '<p class="private">Your pages stay on this machine, are never written to disk, and are '
        "forgotten when you close this page.</p>"
    )
    work: OwnWork = st.session_state.setdefault("work", OwnWork())
    left, right = st.columns(2, gap="large")
    with left:
        st.header("1 · The problem", anchor=False)
        problem = choose_problem()
    with right:
        st.header("2 · Your pages", anchor=False)
        choose_pages(work)
    if problem is None:
        st.info("Choose a problem to begin.")
        return
    notice = caution(solve(problem))
    if notice:
        st.warning(literal(notice))
    if not work.pages:
        st.info("Now add a photo of the working, or a .txt file with one step per line.")
        return
    read_with_progress(work)
    if work.usable():
        show_result(work, problem)


def read_with_progress(work: OwnWork) -> None:
    place = st.empty()

    def tell(number: int, page: OwnPage) -> None:
        total = len(work.pages)
        words = f"Reading page {number + 1} of {total}: {literal(page.name)}"
        place.progress((number + 0.5) / total, words)

    before = set(work.failed)
    work.read_all(tell)
    place.empty()
    if set(work.failed) != before:
        st.rerun()  # the sentence belongs beside its page, further up


def show_result(work: OwnWork, problem: Problem) -> None:
    reference = solve(problem)
    judgement = work.judgement(reference)
    readings = work.readings()
    rows = line_rows(readings, judgement, work.put_right())
    st.header("3 · What was found", anchor=False)
    show_outcome(judgement, rows)
    for remark in _remarks(readings, judgement):
        st.info(literal(remark))
    pages, beside = st.columns([3, 2], gap="large")
    with pages:
        show_pages(work.usable(), rows, judgement)
    with beside:
        show_question(work, rows, judgement)
        show_help(judgement, reference)
        show_lines(work, rows)


def show_outcome(judgement: Judgement, rows: list[LineRow]) -> None:
    look = {"slip found": "slip", "all follows": "right"}.get(judgement.outcome, "asked")
    count = sum(row.verdict != "not working" for row in rows)
    more = {
        "slip found": "It is framed on your page. What follows from it is not held against you.",
        "all follows": f"All {count} lines read from your pages follow. Well worked.",
        "needs a look": "Some of it could not be read for certain, so no verdict is given yet.",
        "nothing read": "Is the working on the page, in focus and upright? Turn it or take a "
        "closer photo.",
    }[judgement.outcome]
    st.html(
        f'<div class="outcome {look}" role="status">{sign_html(OUTCOME_MARK[judgement.outcome])}'
        f"<div><strong>{escape(OUTCOMES[judgement.outcome])}</strong>{escape(more)}</div></div>"
    )


def _remarks(readings: tuple[PageReading, ...], judgement: Judgement) -> list[str]:
    of_pages = [one for page in readings for one in (*page.doubts, *page.remarks)]
    return list(dict.fromkeys([*of_pages, *judgement.remarks]))


def show_pages(
    pages: list[tuple[OwnPage, PageRead]], rows: list[LineRow], judgement: Judgement
) -> None:
    zoom = st.segmented_control("Zoom", list(ZOOMS), default="Fit", key="zoom") or "Fit"
    wide = f"width: {ZOOMS[zoom]}% !important; max-width: none !important; flex: none"
    st.html(f'<style>[class*="st-key-sheet"] {{ {wide} }}</style>')
    for number, (page, its) in enumerate(pages):
        if len(pages) > 1:
            st.text(f"Page {number + 1}: {page.name}")
        here = [row for row in rows if row.page == number]
        with st.container(key=f"view-{number}"), st.container(key=f"sheet-{number}"):
            st.html(picture_html(its.picture.jpeg, f"Your page {number + 1}"))
            st.html(marks_html(its.picture, here, judgement))


def show_question(work: OwnWork, rows: list[LineRow], judgement: Judgement) -> None:
    """The one plain question, with the place beside it, where there is one."""
    asked = pointed_at(judgement)
    if judgement.outcome != "needs a look" or asked is None:
        return
    row = next((row for row in rows if asked in row.statements), None)
    if row is None:
        return
    page, its = work.usable()[row.page]
    with st.form("question", border=True):
        st.subheader(literal(asked.question or ""))
        place = its.picture.place(asked.polygon, asked.line)
        if place is not None:
            st.html(picture_html(its.picture.crop(place), "What is asked about", "crop"))
        said = st.text_input("The line says", row.text, max_chars=LONGEST_LINE)
        if st.form_submit_button("That is what it says"):
            work.correct(page.key, row.index, said)
            st.rerun()


def show_lines(work: OwnWork, rows: list[LineRow]) -> None:
    """Every line as it was read; changing one judges the pages again without reading them."""
    st.header("Lines as they were read", anchor=False)
    st.html(
        '<p class="line-note">Put a misread line right and press Enter; empty it if it is no '
        "working.</p>"
    )
    keys = [page.key for page, _its in work.usable()]
    for number, row in enumerate(rows, start=1):
        with st.container(key=f"line-{number}"):
            st.html(line_head_html(row.verdict, f"Line {number}"))
            own_line_field(work, keys[row.page], row, f"Line {number}")
            for note in row.notes:
                st.html(f'<p class="line-note">{escape(note)}</p>')


def own_line_field(work: OwnWork, page: str, row: LineRow, label: str) -> None:
    place = page, row.index
    line_field(
        label,
        row.text,
        lambda: f"says-{place}-{work.correcting[place]}",
        lambda text: work.correct(*place, text),
    )
