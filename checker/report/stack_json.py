"""A stack as JSON, for other programs.

Format 1 (keys may be added later; none goes away or changes its meaning without a new number)::

    {"format": 1, "problem": title, "caution": sentence | null,
     "submissions": [SUBMISSION, ...] in stack order}

    SUBMISSION = {"position": number, "name": label,
                  "outcome", "first_slip", "later_slips", "statements": the program's judgement, as
                      in ``report.as_json``,
                  "standing": the outcome that stands, a person's where overruled,
                  "person": "agreed" | "overruled" | null, "remark": text,
                  "corrected": lines put right by hand,
                  "mark": {"points": "3/2", "of": "4", "confirmed": true} | null, exact fractions,
                  "pages": [{"source": label, "number": 1-based page of that file,
                             "size": [width, height] | null where it was not read,
                             "turned": clockwise quarter turns undone | null,
                             "reason": sentence | null}, ...],
                  "reasons": [sentence, ...]}

The same rows give the same bytes: one submission a line, UTF-8, not escaped.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any, BinaryIO

from checker.report.as_json import judgement_as_dict
from checker.report.stack_rows import StackHead, StackPage, StackRow

FORMAT = 1


def write_json(head: StackHead, rows: Iterable[StackRow], out: BinaryIO) -> None:
    """Write the document described above."""
    start = {"format": FORMAT, "problem": head.title, "caution": head.caution}
    out.write(_text(start)[:-1] + b', "submissions": [')
    for number, row in enumerate(rows):
        out.write((b",\n" if number else b"\n") + _text(_submission(row)))
    out.write(b"\n]}\n")


def _text(value: dict[str, Any]) -> bytes:
    return json.dumps(value, ensure_ascii=False).encode("utf-8", "replace")


def _submission(row: StackRow) -> dict[str, Any]:
    mark = row.mark
    return {
        "position": row.position,
        "name": row.name,
        **judgement_as_dict(row.judgement),
        "standing": row.outcome,
        "person": row.person,
        "remark": row.remark,
        "corrected": row.corrected,
        "mark": mark
        and {"points": str(mark.points), "of": str(mark.of), "confirmed": mark.confirmed},
        "pages": list(map(_page, row.pages)),
        "reasons": list(row.reasons),
    }


def _page(page: StackPage) -> dict[str, Any]:
    return {
        "source": page.source,
        "number": page.number,
        "size": list(page.reading.size) if page.reading else None,
        "turned": page.reading.turned if page.reading else None,
        "reason": page.reason,
    }
