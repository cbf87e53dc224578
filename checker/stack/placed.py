"""A kept reading at its place in a submission, with what a person corrected."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Literal

from checker.reading.page import Candidate, PageReading


def placed(reading: PageReading, number: int = 0, source: str = "") -> PageReading:
    """The reading as page ``number`` of a submission; without it as it is kept: of the page's
    bytes, not of the place where they were given."""
    lines = tuple(replace(line, page=number) for line in reading.lines)
    return replace(reading, page=number, source=source, lines=lines)


def corrected_reading(reading: PageReading, changes: Mapping[tuple[int, int], str]) -> PageReading:
    """``changes`` gives texts for (page number, index of the line).

    A person's text is certain; a line said to hold nothing is set aside.
    """
    lines = list(reading.lines)
    for (page, index), text in changes.items():
        if page != reading.page or not 0 <= index < len(lines):
            continue
        role: Literal["working", "aside"] = "working" if text.strip() else "aside"
        said = (Candidate(text.strip() or "<aside>", 1.0),)
        lines[index] = replace(lines[index], candidates=said, role=role)
    return replace(reading, lines=tuple(lines))
