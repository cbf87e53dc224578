"""The result as JSON, for other programs.

Format 1 (keys may be added later; none goes away or changes its meaning without a new number)::

    {"format": 1,
     "problem": the problem's title,
     "outcome": "all follows" | "slip found" | "needs a look" | "nothing read",
     "first_slip": null | SLIP,
     "later_slips": [SLIP, ...],
     "statements": [STATEMENT, ...],
     "remarks": [sentence, ...],
     "caution": sentence | null, where the circuit could hurt someone who builds it,
     "seconds": wall-clock time of reading and judging}

    SLIP = {"statement": index into "statements",
            "kind": "series-combined-as-parallel" and the like,
            "quantity": "equivalent capacitance of C1, C2" | null,
            "written": "16 µF", "expected": "3 µF" | null,
            "hint": where to look, "explanation": what went wrong,
            "also": [other kinds that would explain the same value, ...]}

    STATEMENT = {"index": 0, "page": 0-based page,
                 "polygon": [[x, y] x 4]   for a photo: clockwise from top left, pixels of the photo
                                           as given, after its EXIF orientation,
                 "line": 0-based line      for typed working, instead of "polygon",
                 "text": "1/C12 = 1/4 + 1/12", "confidence": 0 to 1,
                 "quantity": text | null,
                 "verdict": "follows" | "first slip" | "carried forward" | "later slip" | "unsure"
                            | "not working",
                 "remark": sentence | null, "question": sentence | null}

Text is UTF-8 and not escaped; micro is U+00B5.
"""

from __future__ import annotations

import json
from typing import Any

from checker.matching.judgement import JudgedStatement, Judgement, Slip
from checker.submission import Checked

FORMAT = 1


def as_json(checked: Checked) -> str:
    """The document described above, indented, without a final newline."""
    return json.dumps(as_dict(checked), ensure_ascii=False, indent=2)


def as_dict(checked: Checked) -> dict[str, Any]:
    """The document described above as plain dictionaries and lists."""
    return {
        "format": FORMAT,
        "problem": checked.problem.title,
        **judgement_as_dict(checked.judgement),
        "remarks": list(checked.remarks),
        "caution": checked.caution,
        "seconds": round(checked.seconds, 3),
    }


def judgement_as_dict(judgement: Judgement) -> dict[str, Any]:
    """The keys of the document that say what was found, from "outcome" to "statements"."""
    return {
        "outcome": judgement.outcome,
        "first_slip": _slip(judgement.first_slip) if judgement.first_slip else None,
        "later_slips": [_slip(slip) for slip in judgement.later_slips],
        "statements": [_statement(statement) for statement in judgement.statements],
    }


def _slip(slip: Slip) -> dict[str, Any]:
    return {
        "statement": slip.statement,
        "kind": slip.kind,
        "quantity": slip.quantity,
        "written": slip.written,
        "expected": slip.expected,
        "hint": slip.hint,
        "explanation": slip.explanation,
        "also": list(slip.also),
    }


def _statement(statement: JudgedStatement) -> dict[str, Any]:
    place: dict[str, Any] = {}
    if statement.polygon is not None:
        place["polygon"] = [[round(x, 1), round(y, 1)] for x, y in statement.polygon]
    else:
        place["line"] = statement.line
    return {
        "index": statement.index,
        "page": statement.page,
        **place,
        "text": statement.text,
        "confidence": round(statement.confidence, 4),
        "quantity": statement.quantity,
        "verdict": statement.verdict,
        "remark": statement.remark,
        "question": statement.question,
    }
