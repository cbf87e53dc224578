"""One submission at the desk: its pages with marks, its lines, and what a person decides.

Whatever is done is in the store before the page is drawn again.
"""

from __future__ import annotations

from html import escape

import streamlit as st

from checker.desk.line_field import line_field
from checker.desk.line_rows import LineRow, line_rows
from checker.desk.look import literal
from checker.desk.photo_marks import line_head_html, sign_html
from checker.desk.stack_outputs import offer_one
from checker.exact import rational
from checker.markup import plain
from checker.matching.judgement import JudgedStatement, Outcome
from checker.matching.slips import SLIPS
from checker.problem.solution_text import write_solution
from checker.report.marks import SuggestedMark, suggested_mark, written_points
from checker.report.stack_pictures import jpeg, row_picture
from checker.report.stack_rows import StackRow
from checker.report.verdict_marks import OUTCOME_MARK, OUTCOMES
from checker.stack.judging import judgement_of, problem_of, reference_of
from checker.stack.present import head_of, stack_row
from checker.stack.rows import SubmissionRow
from checker.stack.standing import marking, overruling, seen
from checker.stack.store import Store

OPEN = "open_submission"
CHOICES: tuple[Outcome, ...] = ("all follows", "slip found", "needs a look")
SHOWN_WIDTH = 1200  # pixels


def show(store: Store, position: int) -> None:
    submission = next((s for s in store.submissions() if s.position == position), None)
    if submission is None:
        st.session_state[OPEN] = None
        st.rerun()
        return
    row = stack_row(store, submission)
    st.title(literal(row.name))
    _steps(store, submission)
    pages, beside = st.columns([3, 2], gap="large")
    with pages:
        _pages(row)
    with beside:
        _outcome(row)
        _decide(store, submission, row)
        _mark(store, submission, row)
        _lines(store, submission, row)
        offer_one(row, head_of(store))
        with st.expander("Reference solution"):
            st.code(write_solution(reference_of(problem_of(store))), language=None)


def _steps(store: Store, submission: SubmissionRow) -> None:
    """The buttons a person steps with, each with its key."""
    order: list[int] = st.session_state.get("order", [])
    here = order.index(submission.position) if submission.position in order else -1
    before = order[here - 1] if here > 0 else None
    after = order[here + 1] if 0 <= here < len(order) - 1 else None
    with st.container(horizontal=True):
        st.button("Stack", shortcut="b", on_click=_go, args=(None,))
        st.button("Previous", shortcut="p", on_click=_go, args=(before,), disabled=before is None)
        st.button("Next", shortcut="n", on_click=_go, args=(after,), disabled=after is None)
        st.button(
            "Agree", type="primary", shortcut="a", on_click=_agree, args=(store, submission, after)
        )
        undoable = bool(store.actions(submission.id))
        st.button(
            "Undo", shortcut="u", on_click=_undo, args=(store, submission.id), disabled=not undoable
        )
    if here >= 0:
        st.caption(f"{here + 1} of {len(order)}, saved as you go")


def _go(position: int | None) -> None:
    st.session_state[OPEN] = position


def _agree(store: Store, submission: SubmissionRow, after: int | None) -> None:
    store.act(submission.id, "agree", {"saw": seen(judgement_of(store, submission.id))})
    if after is not None:
        _go(after)


def _undo(store: Store, submission: int) -> None:
    store.undo(submission)


def _pages(row: StackRow) -> None:
    for number, page in enumerate(row.pages):
        if page.reason:
            st.warning(literal(f"{page.source}, page {page.number}: {page.reason}"))
        picture = row_picture(row, number, SHOWN_WIDTH)
        if picture is not None:
            st.image(jpeg(picture, 85), width="stretch", alt=f"Page {number + 1} with its marks")


def _outcome(row: StackRow) -> None:
    words = OUTCOMES[row.outcome]
    note = {"agreed": "You agreed.", "overruled": "You overruled."}.get(row.person or "", "")
    st.html(
        f'<div class="outcome">{sign_html(OUTCOME_MARK[row.outcome])}'
        f"<div><strong>{escape(words)}</strong>{escape(note)}</div></div>"
    )
    if row.remark:
        st.text(f"Your remark: {row.remark}")
    if row.slip:
        slip = row.slip
        also = ", ".join(SLIPS[kind].title for kind in slip.also)
        told = [
            f"{SLIPS[slip.kind].title}{f', {slip.quantity}' if slip.quantity else ''}",
            f"written   {slip.written}",
            f"expected  {slip.expected}" if slip.expected else "",
            slip.explanation,
            f"Could also be: {also}." if also else "",
        ]
        st.text("\n".join(filter(None, told)))
    for reason in row.reasons:
        st.warning(literal(reason))


def _decide(store: Store, submission: SubmissionRow, row: StackRow) -> None:
    judgement = judgement_of(store, submission.id)
    working = [s for s in judgement.statements if s.verdict != "not working"]
    with (
        st.expander("Overrule"),
        st.form(f"overrule-{submission.id}", border=False, clear_on_submit=True),
    ):
        outcome = st.radio("It is", CHOICES, horizontal=True)
        step = st.selectbox("First slip, if there is one", working, format_func=_step)
        remark = st.text_input("Remark", max_chars=500)
        if st.form_submit_button("Overrule"):
            place = step.index if step is not None and outcome == "slip found" else None
            payload = overruling(judgement, outcome, place, remark.strip())
            store.act(submission.id, "overrule", payload)
            st.rerun()


def _step(statement: JudgedStatement) -> str:
    return f"{statement.index + 1}  {statement.text}"


def _mark(store: Store, submission: SubmissionRow, row: StackRow) -> None:
    suggested = suggested_mark(reference_of(problem_of(store)), row.shown)
    if suggested is None or row.mark is None:
        return
    state = "confirmed" if row.mark.confirmed else "suggested, not confirmed"
    of = written_points(suggested.out_of)
    st.text(f"Mark: {written_points(row.mark.points)} of {of}, {state}")
    with st.expander("Points"):
        st.html(_points(suggested))
        if suggested.to_look_at:
            st.text(f"{suggested.to_look_at} of these count nothing until you decide.")
        with st.form(f"mark-{submission.id}-{row.mark.points}", border=False):
            points = st.number_input(
                f"Points of {of}", 0.0, float(suggested.out_of), float(row.mark.points), 0.5
            )
            if st.form_submit_button("Confirm the mark"):
                payload = marking(row.shown, rational(str(points)), suggested.out_of)
                store.act(submission.id, "mark", payload)
                st.rerun()


def _points(suggested: SuggestedMark) -> str:
    rows = "".join(
        f"<tr><td>{escape(item.name)}</td><td>{escape(item.reason)}</td>"
        f"<td>{written_points(item.suggested)} of {written_points(item.points)}</td></tr>"
        for item in suggested.items
    )
    return f'<table class="points"><tr><th>For</th><th>Why</th><th>Points</th></tr>{rows}</table>'


def _lines(store: Store, submission: SubmissionRow, row: StackRow) -> None:
    st.subheader("Lines as read")
    st.caption("Correct what was misread; it is judged again at once.")
    pages = store.readings(submission.id)
    kept = store.corrections(submission.id)
    for number, line in enumerate(line_rows(pages, row.shown, kept), start=1):
        with st.container(key=f"line-{number}"):
            _line(store, submission, line)


def _line(store: Store, submission: SubmissionRow, line: LineRow) -> None:
    st.html(line_head_html(line.verdict))
    said = plain(line.line.candidates[0].text) if line.line.role == "working" else ""
    place = line.page, line.index
    line_field(
        f"Page {line.page + 1}, line {line.index + 1}",
        said,
        lambda: f"says-{submission.id}-{place}-{store.correcting(submission.id)[place]}",
        lambda text: store.correct(submission.id, *place, text),
    )
    question = next((s.question for s in line.statements if s.question), None)
    for note in [*line.notes, *filter(None, [question])]:
        st.html(f'<p class="line-note">{escape(note)}</p>')
