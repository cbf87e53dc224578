"""What can be taken away from a stack, as downloads."""

from __future__ import annotations

import io
from collections.abc import Callable

import streamlit as st

from checker.report.stack_pdf import write_pdf
from checker.report.stack_rows import StackHead, StackRow
from checker.stack.outputs import OUTPUTS, Output
from checker.stack.store import Store


def offer(store: Store) -> None:
    """A button for each output; it is written when its button is pressed."""
    st.subheader("Take away")
    st.caption("Each says which marks a person confirmed.")
    with st.container(horizontal=True):
        for output in OUTPUTS:
            st.download_button(
                output.title,
                data=_written(store, output),
                file_name=output.file,
                mime=output.media,
                on_click="ignore",
                key=f"take-{output.file}",
            )


def offer_one(row: StackRow, head: StackHead) -> None:
    """The marked pages of one submission, without any part of its name in the file's."""

    def pdf() -> bytes:
        out = io.BytesIO()
        write_pdf(head, [row], out)
        return out.getvalue()

    st.download_button(
        "Marked pages (PDF)",
        data=pdf,
        file_name=f"submission-{row.position + 1}.pdf",
        mime="application/pdf",
        on_click="ignore",
    )


def _written(store: Store, output: Output) -> Callable[[], bytes]:
    def content() -> bytes:
        out = io.BytesIO()
        output.write(store, out)
        return out.getvalue()

    return content
