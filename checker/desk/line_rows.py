"""The lines of the pages beside the verdicts on what they say."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from checker.markup import plain
from checker.matching.judgement import JudgedStatement, Judgement
from checker.reading.page import Line, PageReading, Polygon

GRAVEST = ("first slip", "later slip", "unsure", "carried forward", "follows", "not working")


@dataclass(frozen=True)
class LineRow:
    """A line of working, ``index`` its place among the lines of page ``page``; ``text`` is how
    it was taken."""

    page: int
    index: int
    line: Line
    text: str
    statements: tuple[JudgedStatement, ...]

    @property
    def verdict(self) -> str:
        verdicts = [statement.verdict for statement in self.statements]
        return min(verdicts, key=GRAVEST.index, default="not working")

    @property
    def notes(self) -> list[str]:
        """What is remarked on it, each thing once."""
        return list(dict.fromkeys(s.remark for s in self.statements if s.remark))


def line_rows(
    pages: Sequence[PageReading],
    judgement: Judgement,
    kept: Collection[tuple[int, int]] = (),
) -> list[LineRow]:
    """A row for every line of working, in order; ``kept`` are (page, index) of lines to be shown
    although a person set them aside."""
    lines = [
        (page.page, index, line)
        for page in pages
        for index, line in enumerate(page.lines)
        if (line.role == "working" and line.candidates) or (page.page, index) in kept
    ]
    here: dict[tuple[int, int], list[JudgedStatement]] = {}
    for statement in judgement.statements:
        own = [at for at in lines if at[0] == statement.page and at[2].role == "working"]
        if own:
            page, index, _line = min(own, key=lambda at: _distance(statement, at[2]))
            here.setdefault((page, index), []).append(statement)
    rows = []
    for page, index, line in lines:
        statements = tuple(here.get((page, index), ()))
        text = " ".join(s.text for s in statements)
        if not text and line.role == "working":
            text = plain(line.candidates[0].text)
        rows.append(LineRow(page, index, line, text, statements))
    return rows


def _distance(statement: JudgedStatement, line: Line) -> float:
    """How far a statement is from a line of its page: 0 for the one it stands on."""
    if statement.polygon is None or line.polygon is None:
        return float(statement.line != line.line)
    x, y = _middle(statement.polygon)
    (left, top), (right, bottom) = _reach(line.polygon)
    beside = max(left - x, 0.0, x - right)
    a, b, _c, d = line.polygon
    along = min(max((x - a[0]) / (b[0] - a[0]), 0.0), 1.0) if b[0] > a[0] else 0.5
    level = a[1] + (b[1] - a[1]) * along + (d[1] - a[1]) / 2
    return abs(y - level) + beside + (0.0 if top <= y <= bottom else bottom - top)


def _middle(polygon: Polygon) -> tuple[float, float]:
    return sum(x for x, _y in polygon) / 4, sum(y for _x, y in polygon) / 4


def _reach(polygon: Polygon) -> tuple[tuple[float, float], tuple[float, float]]:
    xs, ys = zip(*polygon, strict=True)
    return (min(xs), min(ys)), (max(xs), max(ys))
