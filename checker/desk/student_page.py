"""The web page: choose a problem, upload pages, see the first slip on them.

Streamlit runs this file from top to bottom at every action. Uploaded pages and what was read from
them live in the session only; nothing is written to disk and nothing leaves the machine.
"""

from __future__ import annotations

import hashlib
from io import BytesIO
from typing import NamedTuple

import streamlit as st

from checker.desk.look import literal
from checker.desk.sample_problems import sample_problems, uploaded_problem
from checker.desk.step_list import step_list
from checker.matching.judgement import Slip
from checker.problem.connection import write_connection
from checker.problem.problem_file import Problem
from checker.quantity import format_quantity
from checker.report.page_picture import page_picture
from checker.report.verdict_marks import MARKS, OUTCOME_MARK, OUTCOMES
from checker.submission import Checked, Upload, check

OWN_FILE = "My own problem file"
SHOWN_WIDTH = 1600


class Result(NamedTuple):
    """A checked submission and its marked pages as JPEG files."""

    checked: Checked
    pictures: tuple[bytes, ...]


def show() -> None:
    st.title("checker")
    st.write(
        "Shows the first step of a circuit reduction that does not follow. "
        "Your pages stay on this machine and are forgotten when you close this page."
    )
    left, right = st.columns(2)
    with left:
        problem = choose_problem()
    with right:
        pages = choose_pages()
    if problem is not None:
        st.text(givens(problem))
    if problem is None:
        st.info("Choose a problem to begin.")
    elif not pages:
        st.info("Now add a photo of the working, or a .txt file with one step per line.")
    else:
        show_result(checked_once(problem, pages))


def choose_problem() -> Problem | None:
    """The chosen sample problem, or the uploaded one."""
    samples = sample_problems()
    choice = st.selectbox("Problem", [*samples, OWN_FILE], index=None, placeholder="Choose one")
    if choice is None:
        return None
    if choice != OWN_FILE:
        return samples[choice]
    upload = st.file_uploader("Problem file (TOML)", type=["toml"])
    return uploaded_problem(upload.name, upload.getvalue()) if upload else None


def givens(problem: Problem) -> str:
    """What the problem gives, on one line."""
    values = {"V": problem.supply} if problem.supply else {}
    values |= problem.capacitors
    listed = ", ".join(f"{name} = {format_quantity(value)}" for name, value in values.items())
    return f"{write_connection(problem.network)}; {listed}"


def choose_pages() -> tuple[Upload, ...]:
    files = st.file_uploader(
        "Pages, in order",
        type=["jpg", "jpeg", "png", "txt"],
        accept_multiple_files=True,
    )
    return tuple(Upload(file.name, file.getvalue()) for file in files)


def checked_once(problem: Problem, pages: tuple[Upload, ...]) -> Result:
    """The checked submission, kept for the session so that no photo is read twice."""
    digest = hashlib.sha256(repr(problem).encode())
    for page in pages:
        digest.update(page.name.encode() + b"\0" + hashlib.sha256(page.content).digest())
    key = digest.hexdigest()
    if st.session_state.get("result_key") != key:
        with st.spinner("Reading the pages …"):
            checked = check(pages, problem)
            pictures = tuple(shown(checked, page) for page in range(len(pages)))
            st.session_state["result"] = Result(checked, pictures)
        st.session_state["result_key"] = key
    result: Result = st.session_state["result"]
    return result


def shown(checked: Checked, page: int) -> bytes:
    """The marked page as a JPEG no larger than a screen needs."""
    picture = page_picture(checked, page)
    picture.thumbnail((SHOWN_WIDTH, 4 * SHOWN_WIDTH))
    data = BytesIO()
    picture.save(data, "JPEG", quality=88)
    return data.getvalue()


def show_result(result: Result) -> None:
    checked, judgement = result.checked, result.checked.judgement
    pages, steps = st.columns([3, 2])
    with pages:
        for picture in result.pictures:
            st.image(picture)
    with steps:
        if judgement.first_slip:
            show_slip(judgement.first_slip)
        else:
            mark = MARKS[OUTCOME_MARK[judgement.outcome]]
            st.subheader(f"{mark.sign} {OUTCOMES[judgement.outcome]}")
        if checked.caution:
            st.warning(literal(checked.caution))
        for remark in checked.remarks:
            st.warning(literal(remark))
        st.html(step_list(judgement.statements))
        st.text(f"Read and judged in {checked.seconds:.1f} s.")


def show_slip(slip: Slip) -> None:
    """The slip with its hint; what it should have been only when asked for."""
    st.subheader(f"{MARKS['first slip'].sign} First slip: step {slip.statement + 1}")
    st.text("\n".join(filter(None, (slip.quantity, f"written: {slip.written}"))))
    st.text(slip.hint)
    if st.toggle("Tell me more"):
        st.text(slip.explanation)
        if slip.expected is not None:
            st.text(f"expected: {slip.expected}")
