"""The desk: a stack of submissions, sorted by what needs a person first."""

from __future__ import annotations

import streamlit as st

from checker.desk import stack_start, submission_view
from checker.desk.desk_store import background, desk_store, has_problem
from checker.desk.look import literal
from checker.desk.stack_order import COLUMNS, by_need, table_row
from checker.desk.stack_outputs import offer
from checker.report.stack_rows import StackRow
from checker.stack.judging import problem_of
from checker.stack.present import stack_row
from checker.stack.store import Store

OPEN = "open_submission"  # its position, while one is looked at
POLL = 2.0  # seconds
_AT_ONCE = 8  # submissions judged by one drawing of the table while pages are being read


def show() -> None:
    store = desk_store()
    if st.session_state.get(OPEN) is not None:
        submission_view.show(store, st.session_state[OPEN])
        return
    st.title("A stack")
    running = background().running
    with st.container():  # one for all that changes, so that what is below keeps its place
        if has_problem(store) and store.submissions():
            with st.expander("Add pages", expanded=False):
                stack_start.form(store)
        else:
            st.write("Give a problem and everything the class handed in, read on this machine.")
            stack_start.form(store)
        if background().problem:
            st.error(literal(background().problem or ""))
        stack_start.offer_to_resume()
    st.fragment(_progress_and_table, run_every=POLL if running else None)()
    if not background().running and has_problem(store) and store.submissions():
        offer(store)


def _progress_and_table() -> None:
    store, run = desk_store(), background()
    total = sum(store.counts().values())
    with st.container():  # as above
        _progress(store, total)
    if not has_problem(store) or not total:
        return
    rows = ready_rows(store, running=run.running)
    if rows:
        _table(by_need(rows))


def _progress(store: Store, total: int) -> None:
    """How far a run is, or what one left undone."""
    counts, run = store.counts(), background()
    if run.running:
        st.session_state["was_running"] = True
        st.progress(
            run.done / total if total and run.done <= total else 0.0,
            f"Reading: {counts['read'] + counts['failed']} of {total} pages so far. "
            "You can look at what is there already.",
        )
    elif st.session_state.pop("was_running", False):
        st.rerun()
    elif counts["waiting"] and not run.ended_early:
        st.warning(
            f"{counts['waiting']} pages were not read before the program ended; "
            "add the same files again, and only these are read."
        )


def ready_rows(store: Store, running: bool = False) -> list[StackRow]:
    """The submissions all of whose pages were read or failed, without what was read on them;
    while a run goes on only some of those not yet judged, so that the page answers."""
    problem, rows, new = problem_of(store), [], 0
    for submission in store.submissions():
        if any(page.state == "waiting" for page in submission.pages):
            continue
        if running and store.judgement(submission.id, store.basis(submission.id, problem)) is None:
            new += 1
            if new > _AT_ONCE:
                continue
        rows.append(stack_row(store, submission, pictures=False, readings=False))
    return rows


def _table(rows: list[StackRow]) -> None:
    decided = sum(row.person is not None for row in rows)
    st.text(f"{len(rows)} submissions, {decided} looked at. Click a row to open it.")
    st.session_state["order"] = [row.position for row in rows]
    left, right = st.columns([5, 1], vertical_alignment="bottom")
    with left:
        names = {row.position: row.name for row in rows}
        chosen = st.selectbox(
            "Open", names, format_func=lambda at: names[at], index=0, key="to_open"
        )
    with right:
        if st.button("Look", key="look", type="primary", shortcut="o"):
            _open(chosen)
    table = st.dataframe(
        [table_row(row) for row in rows],
        hide_index=True,
        key="table",
        on_select="rerun",
        selection_mode="single-cell",
        column_config=COLUMNS,
        alt="The stack: submission, outcome, first slip, its kind, how sure, carried, pages, mark",
    )
    cells = table["selection"]["cells"]
    if cells:
        _open(rows[cells[0][0]].position)


def _open(position: int) -> None:
    st.session_state[OPEN] = position
    st.rerun()
