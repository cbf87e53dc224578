"""A line as it was read, to be put right."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

LONGEST_LINE = 300


def line_field(
    label: str, said: str, key: Callable[[], str], correct: Callable[[str], object]
) -> None:
    """A field that shows ``said`` and hands what a person makes of it to ``correct``.

    ``key()`` must differ after each correction or undoing of the line.
    """
    drawn = key()

    def changed() -> None:
        # Where a run was interrupted, a field nobody touched, and one that is gone already,
        # count as changed.
        if key() == drawn and st.session_state[drawn] != said:
            correct(st.session_state[drawn])

    st.text_input(
        label,
        said,
        key=drawn,
        max_chars=LONGEST_LINE,
        label_visibility="collapsed",
        on_change=changed,
    )
