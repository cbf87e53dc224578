"""The class at a glance: which slips, at which stage, and the lines worth showing."""

from __future__ import annotations

from html import escape

import streamlit as st

from checker.desk.class_plots import outcomes_html, slips_html
from checker.desk.desk_store import background, desk_store, has_problem
from checker.desk.stack_page import ready_rows
from checker.report.class_counts import WorthShowing, class_counts, worth_showing
from checker.stack.judging import problem_of, reference_of


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
        _shown(one)


def _shown(one: WorthShowing) -> None:
    """The line without its writer's name."""
    slip, line = one.row.slip, one.row.slipped
    if slip is None or line is None:
        return
    with st.container(border=True):
        st.text(f"{one.kind}, {one.stage}: {one.count} of the class")
        st.html(f'<p class="lead"><strong>{escape(line.text)}</strong></p>')
        st.text("\n".join(filter(None, [slip.explanation, slip.hint])))
