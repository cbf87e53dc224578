"""Judgements made by hand for the report tests."""

from __future__ import annotations

from PIL import Image

from checker.matching.judgement import JudgedStatement, Judgement, Slip
from checker.problem.given import make_problem
from checker.problem.reduction import solve
from checker.reading.page import Candidate, Line, PageReading, Polygon
from checker.submission import Checked

SLIP = Slip(
    statement=1,
    kind="series-combined-as-parallel",
    quantity="equivalent capacitance of C1, C2",
    written="16 µF",
    expected="3 µF",
    hint="Look at how C1 and C2 are joined.",
    explanation="C1 and C2 are in series, so their reciprocals add.",
    also=(),
)
REFERENCE = solve(
    make_problem(
        "Three capacitors on a 24 V supply",
        "24 V",
        "parallel(series(C1, C2), C3)",
        {"C1": "4 µF", "C2": "12 µF", "C3": "5 µF"},
    )
)


def statement(
    index: int,
    verdict: str = "follows",
    *,
    polygon: Polygon | None = None,
    line: int | None = None,
    page: int = 0,
    text: str = "C12 = 16 µF",
    question: str | None = None,
) -> JudgedStatement:
    return JudgedStatement(
        index=index,
        page=page,
        polygon=polygon,
        line=line,
        text=text,
        confidence=0.97,
        quantity=None,
        verdict=verdict,  # type: ignore[arg-type]
        remark=None,
        question=question,
    )


def upright(left: float, top: float, right: float, bottom: float) -> Polygon:
    return ((left, top), (right, top), (right, bottom), (left, bottom))


def judgement(statements: list[JudgedStatement], outcome: str = "slip found") -> Judgement:
    return Judgement(
        outcome=outcome,  # type: ignore[arg-type]
        first_slip=SLIP if outcome == "slip found" else None,
        statements=tuple(statements),
        later_slips=(),
        remarks=(),
    )


def photographed() -> Judgement:
    """Four lines on a 400 × 500 photo, the second of them the first slip."""
    verdicts = ["follows", "first slip", "carried forward", "unsure"]
    return judgement(
        [
            statement(i, verdict, polygon=upright(80, 50 + 100 * i, 300, 90 + 100 * i))
            for i, verdict in enumerate(verdicts)
        ]
    )


def typed() -> Checked:
    """Two typed lines, the second of them the first slip."""
    texts = ["1/C12 = 1/4 + 1/12", "C12 = 16 µF"]
    lines = tuple(Line(0, (Candidate(t, 1.0),), line=i) for i, t in enumerate(texts))
    reading = PageReading(0, "working.txt", (0, 0), lines)
    statements = [
        statement(0, "follows", line=0, text=texts[0]),
        statement(1, "first slip", line=1, text=texts[1]),
    ]
    return Checked(REFERENCE, ("working.txt",), (reading,), judgement(statements), 0.25)


def paper(width: int = 400, height: int = 500) -> Image.Image:
    return Image.new("RGB", (width, height), (214, 208, 196))
