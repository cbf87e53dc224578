"""The class at a glance: which slips, at which stage, and the lines worth showing."""

from __future__ import annotations

from html import escape
from io import BytesIO

import streamlit as st
from PIL import Image

from checker.desk.class_plots import outcomes_html, slips_html
from checker.desk.desk_store import background, desk_store, has_problem
from checker.desk.line_rows import line_rows
from checker.desk.photo_marks import picture_html
from checker.desk.picture import picture_of
from checker.desk.stack_page import ready_rows
from checker.matching.judgement import JudgedStatement
from checker.report.class_counts import WorthShowing, class_counts, worth_showing
from checker.stack.judging import problem_of, reference_of
from checker.stack.present import stack_row
from checker.stack.store import Store


def show() -> None:
    st.title("The class")
    store = desk_store()
    if not has_problem(store):
        st.info("There is no stack yet; read one on the page of the stack.")
        return
    reference = reference_of(problem_of(store))
    rows = ready_rows(store, background().running)
    counts = class_counts(reference, rows)
    st.text(f"{reference.problem.title}: {len(rows)} submissions")
    st.html(outcomes_html(counts))
    st.subheader("First slips: which, and at which stage")
    if not counts.cells:
        st.info("No slip has been found.")
        return
    st.html(slips_html(counts))
    st.subheader("Worth showing in class")
    for one in worth_showing(reference, rows):
        _shown(store, one)


def _shown(store: Store, one: WorthShowing) -> None:
    """The line, as it was written and as it was read, without its writer's name."""
    slip, line = one.row.slip, one.row.slipped
    if slip is None or line is None:
        return
    with st.container(border=True):
        st.text(f"{one.kind}, {one.stage}: {one.count} of the class")
        crop = line_crop(store, one.row.position, line)
        if crop is not None:
            st.html(picture_html(crop, f"The line as it was written: {line.text}", "crop"))
        st.html(f'<p class="lead"><strong>{escape(line.text)}</strong></p>')
        st.text("\n".join(filter(None, [slip.explanation, slip.hint])))


def line_crop(store: Store, position: int, statement: JudgedStatement) -> bytes | None:
    """The whole line on which a statement stands; None where that is not known."""
    submission = next((s for s in store.submissions() if s.position == position), None)
    if submission is None:
        return None
    row = stack_row(store, submission)
    page = row.pages[statement.page]
    if page.reading is None:
        return None
    lines = line_rows([page.reading], row.stands)
    line = next((one.line for one in lines if statement in one.statements), statement)
    photo = Image.open(BytesIO(page.picture), formats=("JPEG",)) if page.picture else None
    picture = picture_of(photo, page.reading)
    place = picture.place(line.polygon, line.line)
    return None if place is None else picture.crop(place)
