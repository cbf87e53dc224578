"""Typed working: a text file with one line of work per line."""

from __future__ import annotations

from pathlib import Path

from checker.errors import PageError
from checker.reading.load import read_bytes
from checker.reading.page import Candidate, Line, PageReading

_MOST_BYTES = 200_000


def read_typed(source: str | Path | bytes, page: int = 0) -> PageReading:
    """Lines of a UTF-8 text file (its path or its bytes); blank lines are skipped.

    ``Line.line`` is the 0-based number of the line in the file.  Raises PageError.
    """
    name = "The typed page" if isinstance(source, bytes) else str(source)
    data = source if isinstance(source, bytes) else read_bytes(Path(source))
    if len(data) > _MOST_BYTES:
        raise PageError(f"{name} is larger than 200 kB; split the typed work into pages.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data[: error.start].count(b"\n") + 1
        raise PageError(f"{name} is not UTF-8 text (line {row}); save it as UTF-8.") from None
    if "\0" in text:
        raise PageError(f"{name} is not a text file; give typed work as plain UTF-8 text.")
    rows = text.splitlines()
    lines = tuple(
        Line(page, (Candidate(row.strip(), 1.0),), line=number)
        for number, row in enumerate(rows)
        if row.strip()
    )
    width = max((len(row) for row in rows), default=0)
    remarks = () if lines else (f"{name} holds no line of working.",)
    return PageReading(page, name, (width, len(rows)), lines, remarks)
