"""Readings and judgements as JSON text and back, exactly.

The text is ASCII whatever was read. Coordinates and probabilities come back as the same floats.
A key may be added later if it has a default; anything else needs a new format of the store.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from checker.matching.judgement import JudgedStatement, Judgement, Slip
from checker.reading.page import Candidate, Line, PageReading, Token


def reading_to_json(reading: PageReading) -> str:
    """One page reading as compact JSON."""
    return json.dumps(
        {
            "page": reading.page,
            "source": reading.source,
            "size": list(map(int, reading.size)),
            "lines": [_line(line) for line in reading.lines],
            "remarks": list(reading.remarks),
            "doubts": list(reading.doubts),
            "turned": int(reading.turned),
        },
        separators=(",", ":"),
    )


def reading_from_json(text: str) -> PageReading:
    """What ``reading_to_json`` wrote; ValueError or KeyError for anything else."""
    kept = json.loads(text)
    width, height = kept["size"]
    return PageReading(
        page=kept["page"],
        source=kept["source"],
        size=(width, height),
        lines=tuple(_line_from(line) for line in kept["lines"]),
        remarks=tuple(kept["remarks"]),
        doubts=tuple(kept["doubts"]),
        turned=kept["turned"],
    )


def judgement_to_json(judgement: Judgement) -> str:
    """A judgement as compact JSON."""
    return json.dumps(asdict(judgement), separators=(",", ":"))


def judgement_from_json(text: str) -> Judgement:
    """What ``judgement_to_json`` wrote."""
    kept = json.loads(text)
    slip = kept["first_slip"]
    return Judgement(
        outcome=kept["outcome"],
        first_slip=None if slip is None else _slip(slip),
        statements=tuple(
            JudgedStatement(**{**one, "polygon": _polygon(one["polygon"])})
            for one in kept["statements"]
        ),
        later_slips=tuple(map(_slip, kept["later_slips"])),
        remarks=tuple(kept["remarks"]),
    )


def _line(line: Line) -> dict[str, Any]:
    return {
        "page": line.page,
        "candidates": [
            {
                "text": one.text,
                "probability": float(one.probability),
                "tokens": [
                    [token.text, _floats(token.box), float(token.probability)]
                    for token in one.tokens
                ],
            }
            for one in line.candidates
        ],
        "polygon": None if line.polygon is None else [_floats(point) for point in line.polygon],
        "line": line.line,
        "role": line.role,
    }


def _line_from(kept: dict[str, Any]) -> Line:
    candidates = tuple(
        Candidate(
            one["text"],
            one["probability"],
            tuple(Token(text, tuple(box), probability) for text, box, probability in one["tokens"]),
        )
        for one in kept["candidates"]
    )
    return Line(kept["page"], candidates, _polygon(kept["polygon"]), kept["line"], kept["role"])


def _floats(numbers: Iterable[float]) -> list[float]:
    """Plain floats: NumPy's are none to JSON."""
    return [float(number) for number in numbers]


def _polygon(corners: list[list[float]] | None) -> Any:
    return None if corners is None else tuple((x, y) for x, y in corners)


def _slip(kept: dict[str, Any]) -> Slip:
    return Slip(**{**kept, "also": tuple(kept["also"])})
