"""Adding pages, and putting them in order and upright."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Protocol

import streamlit as st

from checker.desk.look import literal
from checker.desk.own_work import MOST_PAGES, Added, OwnWork
from checker.reading.file_kind import HEAD, file_kind
from checker.stack.intake import GivenPage, Refused, given_pages
from checker.submission import Upload, is_typed

TYPES = ["jpg", "jpeg", "png", "heic", "heif", "webp", "tif", "tiff", "pdf", "txt"]


class Given(Protocol):
    """What an uploader or a camera gives; ``file_id`` is another one for every upload."""

    name: str
    file_id: str

    def getvalue(self) -> bytes: ...


def choose_pages(work: OwnWork) -> None:
    """The uploader, the camera where it is asked for, and the pages that were given.

    The uploader stays the same one as long as the session lasts: another one in its place would
    lose what is on its way into it.
    """
    with st.container(key="own-pages"):
        files = st.file_uploader(
            "Add pages",
            type=TYPES,
            accept_multiple_files=True,
            key="files",
            help="Photos (JPEG, PNG, HEIC, WebP, TIFF), a PDF, or a .txt file with one step per "
            "line. On a phone this offers its camera.",
        )
    take(work, files)
    if st.toggle("Use this computer's camera"):
        shots = st.session_state.setdefault("shots", 0)
        shot = st.camera_input("Hold the page so that it fills the picture", key=f"shot-{shots}")
        if shot is not None:
            take(work, [shot])
            st.session_state["shots"] += 1  # the camera is ready for the next page
            st.rerun()
    for sentence in work.left_out:
        st.error(literal(sentence))
    for at, page in enumerate(work.pages):
        _page_row(work, at, page.name, page.key)


def take(work: OwnWork, given: Iterable[Given]) -> None:
    """Put what was not looked at before into the session's own list."""
    new = [file for file in given if file.file_id not in work.taken]
    if not new:
        return
    work.taken.update(file.file_id for file in new)
    refused: list[str] = []
    names: dict[Added, list[str]] = {"added": [], "known": [], "full": []}
    for page in _pages(new):
        if isinstance(page, Refused):
            refused.append(f"{page.name}: {page.reason}")
        else:
            names[work.add(page.name, page.content)].append(page.name)
    work.left_out = (*refused, *_left_out(names["known"], names["full"]))


def _pages(files: Iterable[Given]) -> Iterator[Upload | Refused]:
    """A page for each file, or several where it is a PDF or a TIFF."""
    for file in files:
        whole = Upload(file.name, file.getvalue())
        if is_typed(whole) or file_kind(whole.content[:HEAD]) not in ("pdf", "tiff"):
            yield whole
            continue
        for page in given_pages([whole]):
            if not isinstance(page, GivenPage):
                yield Refused(file.name, page.reason)
            else:
                name = f"{file.name}, page {page.number}" if page.of > 1 else file.name
                yield Upload(name, page.content)


def _left_out(known: Sequence[str], full: Sequence[str]) -> Iterator[str]:
    if known:
        what = "that page is" if len(known) == 1 else "these pages are"
        yield f"{_listed(known)} left out, as {what} on the list already; add another one."
    if full:
        them = "it" if len(full) == 1 else "them"
        yield (
            f"{_listed(full)} left out, as there is room for {MOST_PAGES} pages; "
            f"remove a page below, then add {them} again."
        )


def _listed(names: Sequence[str]) -> str:
    more = len(names) - 1
    return f"{names[0]} was" if not more else f"{names[0]} and {more} more were"


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
