"""The order in which a person looks at a stack, and a row of its table."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import streamlit as st

from checker.matching.slips import SLIPS
from checker.report.marks import written_points
from checker.report.stack_rows import StackRow
from checker.report.verdict_marks import MARKS, OUTCOME_MARK

# Widths in pixels: the longest kinds but one fit. A narrow screen scrolls the table sideways.
COLUMNS = {
    "Submission": st.column_config.Column(width=150),
    "Outcome": st.column_config.Column(width=120),
    "First slip": st.column_config.Column(width=190),
    "Kind": st.column_config.Column(width=270),
    "Sure": st.column_config.NumberColumn(width=55, format="%.2f"),
    "Carried": st.column_config.Column(width=70),
    "Pages": st.column_config.Column(width=60),
    "You": st.column_config.Column(width=85),
    "Mark": st.column_config.Column(width=140),
}
_FIRST = ("nothing read", "needs a look", "slip found", "all follows")


def by_need(rows: Sequence[StackRow]) -> list[StackRow]:
    """Undecided ones first: what could not be judged, then slips, then the rest; the less sure
    the reading, the earlier."""
    return sorted(rows, key=_need)


def _need(row: StackRow) -> tuple[bool, bool, int, float, int]:
    failed = any(page.reason for page in row.pages)
    place = _FIRST.index(row.outcome)
    return row.person is not None, not failed, place, confidence(row), row.position


def confidence(row: StackRow) -> float:
    """The reader's probability of the slipped line; else of the least sure line of working."""
    if row.slipped:
        return row.slipped.confidence
    working = [s.confidence for s in row.stands.statements if s.verdict != "not working"]
    return min(working, default=0.0)


def table_row(row: StackRow) -> dict[str, Any]:
    """The cells of a submission by the titles of their columns."""
    mark = ""
    if row.mark:
        points = f"{written_points(row.mark.points)} of {written_points(row.mark.of)}"
        mark = f"{points}, {'confirmed' if row.mark.confirmed else 'suggested'}"
    return {
        "Submission": row.name,
        "Outcome": f"{MARKS[OUTCOME_MARK[row.outcome]].sign} {row.outcome}",
        "First slip": row.slipped.text if row.slipped else "",
        "Kind": SLIPS[row.slip.kind].title if row.slip else "",
        "Sure": round(confidence(row), 2),
        "Carried": row.carried,
        "Pages": len(row.pages),
        "You": row.person or "",
        "Mark": mark,
    }
