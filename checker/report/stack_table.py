"""The table of a stack as CSV: one line for each submission, safe to open in a spreadsheet.

RFC 4180: commas, CRLF, every cell in quotes, quotes doubled; UTF-8 with a byte order mark, without
which spreadsheets guess another encoding. Text is data: a cell that a spreadsheet could take for a
formula gets an apostrophe before it, and characters that end a line or a cell become spaces.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from typing import BinaryIO

from checker.exact import Fraction
from checker.matching.slips import SLIPS
from checker.report.stack_rows import StackRow

COLUMNS = (
    "position", "submission", "outcome", "a person", "pages", "pages not read", "step", "page",
    "quantity", "slip", "written", "expected", "confidence", "carried forward", "later slips",
    "lines corrected", "points", "out of", "mark confirmed", "remark", "reasons",
)  # fmt: skip
# A formula begins with one of these, also in the full-width forms that some spreadsheets take.
_FORMULA = "=+-@|%\uff1d\uff0b\uff0d\uff20"


def write_table(rows: Iterable[StackRow], out: BinaryIO) -> None:
    """Write the header and a line for each row."""
    out.write("\ufeff".encode())
    out.write(_line(COLUMNS))
    for row in rows:
        out.write(_line(list(map(safe_cell, _cells(row)))))


def safe_cell(text: str) -> str:
    """``text`` as a cell that no spreadsheet evaluates and that ends no line."""
    plain = "".join(letter if letter.isprintable() else " " for letter in text)
    return f"'{plain}" if plain.lstrip(" \u3000'\"").startswith(tuple(_FORMULA)) else plain


def _line(cells: Sequence[str]) -> bytes:
    line = io.StringIO()
    csv.writer(line, quoting=csv.QUOTE_ALL, lineterminator="\r\n").writerow(cells)
    return line.getvalue().encode("utf-8", "replace")


def _cells(row: StackRow) -> list[str]:
    slip, at, mark = row.slip, row.slipped, row.mark
    return [
        str(row.position),
        row.name,
        row.outcome,
        row.person or "",
        str(len(row.pages)),
        str(sum(page.reading is None for page in row.pages)),
        str(slip.statement + 1) if slip else "",
        str(at.page + 1) if at else "",
        (slip.quantity or "") if slip else "",
        SLIPS[slip.kind].title if slip else "",
        slip.written if slip else "",
        (slip.expected or "") if slip else "",
        f"{at.confidence:.3f}" if at else "",
        str(row.carried),
        str(len(row.judgement.later_slips)),
        str(row.corrected),
        _points(mark.points) if mark else "",
        _points(mark.of) if mark else "",
        ("yes" if mark.confirmed else "no") if mark else "",
        row.remark,
        " ".join(row.reasons),
    ]


def _points(points: Fraction) -> str:
    return f"{float(points):g}"
