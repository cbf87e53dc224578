"""The form that begins a stack or adds to it."""

from __future__ import annotations

import streamlit as st

from checker.desk.desk_store import background, has_problem
from checker.desk.look import literal
from checker.desk.sample_problems import sample_problems, uploaded_problem
from checker.errors import CheckerError
from checker.problem.problem_file import Problem
from checker.stack.grouping import Split
from checker.stack.judging import SPLIT, problem_of, reference_of
from checker.stack.store import Store
from checker.submission import Upload

MOST_MEGABYTES = 500  # of one file: a PDF of a class, a zip
OWN_FILE = "My own problem file"
_SPLITS = {
    "one file each": "file",
    "one folder each (in a zip)": "folder",
    "a number of pages each": None,
}


def form(store: Store) -> None:
    """Problem, files and how they are divided; begins the run when asked to."""
    problem = _problem(store)
    files = st.file_uploader(
        "Pages: photos, PDFs, zips or .txt",
        accept_multiple_files=True,
        max_upload_size=MOST_MEGABYTES,
        key="stack_files",
    )
    st.caption("The files are kept beside the stack until all of them are read.")
    split = _split(store)
    ready = bool(problem and files and not background().running)
    if st.button("Read the stack", type="primary", disabled=not ready) and problem:
        uploads = [Upload(file.name, file.getvalue()) for file in files]
        try:
            background().start(uploads, problem, split)
        except CheckerError as error:
            st.error(literal(str(error)))
        else:
            st.rerun()


def offer_to_resume() -> None:
    """Where a run did not come to its end: go on with it, or let it be."""
    if not background().ended_early:
        return
    st.warning("Reading this stack did not come to its end. Its files are still on this machine.")
    with st.container(horizontal=True):
        resumed = st.button("Resume", type="primary")
        left = st.button("Remove the files that are left")
    try:
        if resumed:
            background().resume()
        elif left:
            background().forget()
    except CheckerError as error:
        st.error(literal(str(error)))
    else:
        if resumed or left:
            st.rerun()


def _problem(store: Store) -> Problem | None:
    if has_problem(store):
        problem = reference_of(problem_of(store)).problem
        st.text(f"Problem: {problem.title}")
        if not st.toggle("Judge against a changed problem file"):
            return problem
        return _own_file()
    samples = sample_problems()
    choice = st.selectbox(
        "Problem", [OWN_FILE, *samples], index=None, placeholder="Choose one", key="stack_problem"
    )
    return _own_file() if choice == OWN_FILE else samples.get(choice or "")


def _own_file() -> Problem | None:
    upload = st.file_uploader("Problem file (TOML)", type=["toml"], key="stack_problem_file")
    if upload is None:
        return None
    try:
        return uploaded_problem(upload.name, upload.getvalue())
    except CheckerError as error:
        st.error(literal(str(error)))
        return None


def _split(store: Store) -> Split:
    """How pages make up submissions: once begun, a stack keeps to it."""
    before = store.setting(SPLIT)
    if before is not None:
        return int(before) if before.isdecimal() else _word(before)
    words = st.radio("A submission is", list(_SPLITS), horizontal=True)
    if _SPLITS[words]:
        return _word(str(_SPLITS[words]))
    return int(st.number_input("Pages each", min_value=1, max_value=50, value=1))


def _word(text: str) -> Split:
    return "folder" if text == "folder" else "file"
