"""Adding pages, and putting them in order and upright."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

import streamlit as st

from checker.desk.look import literal
from checker.desk.own_work import OwnWork
from checker.stack.intake import GivenPage, given_pages
from checker.submission import Upload

TYPES = ["jpg", "jpeg", "png", "heic", "heif", "webp", "tif", "tiff", "pdf", "txt"]


class Given(Protocol):
    """What an uploader or a camera gives."""

    name: str

    def getvalue(self) -> bytes: ...


def choose_pages(work: OwnWork) -> None:
    """The uploader, the camera where it is asked for, and the pages that were given."""
    turn = st.session_state.setdefault("uploads", 0)
    files = st.file_uploader(
        "Add pages",
        type=TYPES,
        accept_multiple_files=True,
        key=f"files-{turn}",
        help="Photos (JPEG, PNG, HEIC, WebP, TIFF), a PDF, or a .txt file with one step per line. "
        "On a phone this offers its camera.",
    )
    shots = []
    if st.toggle("Use this computer's camera"):
        shot = st.camera_input("Hold the page so that it fills the picture", key=f"shot-{turn}")
        shots = [shot] if shot is not None else []
    if files or shots:
        _take(work, [*files, *shots])
    for at, page in enumerate(work.pages):
        _page_row(work, at, page.name, page.key)


def _take(work: OwnWork, given: Iterable[Given]) -> None:
    """Move what was given into the session's own list, and empty the uploader."""
    for file in given:
        content = file.getvalue()
        if not content.startswith(b"%PDF-"):
            work.add(file.name, content)
            continue
        for page in given_pages([Upload(file.name, content)]):
            if isinstance(page, GivenPage):
                work.add(f"{file.name}, page {page.number}", page.content)
            else:
                work.add(file.name, content)  # reading it says what is wrong, beside its name
    st.session_state["uploads"] += 1
    st.rerun()


def _page_row(work: OwnWork, at: int, name: str, key: str) -> None:
    row = st.container(horizontal=True, vertical_alignment="center", gap="small")
    row.text(f"{at + 1}. {name}", width="stretch")
    number = at + 1
    buttons = (
        ("↑", f"Move page {number} up", work.move, (at, -1), at == 0),
        ("↻", f"Turn page {number}", work.turn, (at,), False),
        ("✕", f"Remove page {number}", work.remove, (at,), False),
    )
    for sign, does, action, args, idle in buttons:
        row.button(sign, key=f"{sign}-{at}", help=does, disabled=idle, on_click=action, args=args)
    if key in work.failed:
        st.error(literal(work.failed[key]))
