"""What can be taken away from a stack, as downloads."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable
from typing import BinaryIO

import streamlit as st

from checker.report.stack_json import write_json
from checker.report.stack_page import write_page
from checker.report.stack_pdf import write_pdf
from checker.report.stack_rows import StackHead, StackRow
from checker.report.stack_table import write_table
from checker.stack.judging import problem_of, reference_of
from checker.stack.present import head_of, stack_rows
from checker.stack.store import Store

Writer = Callable[[StackHead, Iterable[StackRow], BinaryIO], object]


def offer(store: Store) -> None:
    """A button for each output; it is written when its button is pressed."""
    st.subheader("Take away")
    st.caption("Each says which marks a person confirmed.")
    reference = reference_of(problem_of(store))
    writers: dict[str, tuple[str, str, Writer]] = {
        "Table (CSV)": ("stack.csv", "text/csv", lambda _head, rows, out: write_table(rows, out)),
        "Marked pages (PDF)": ("stack.pdf", "application/pdf", write_pdf),
        "Web page (HTML)": (
            "stack.html",
            "text/html",
            lambda head, rows, out: write_page(head, reference, list(rows), out),
        ),
        "JSON": ("stack.json", "application/json", write_json),
    }
    with st.container(horizontal=True):
        for label, (name, kind, writer) in writers.items():
            st.download_button(
                label,
                data=_written(store, writer),
                file_name=name,
                mime=kind,
                on_click="ignore",
                key=f"take-{name}",
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


def _written(store: Store, writer: Writer) -> Callable[[], bytes]:
    def content() -> bytes:
        out = io.BytesIO()
        writer(head_of(store), stack_rows(store), out)
        return out.getvalue()

    return content
