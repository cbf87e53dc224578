"""The student's own page with the verdicts drawn on it.

The first slip is boxed strongly and named beside its box; every other line gets one small mark in
the margin. Marks differ by outline and sign as well as by colour, and a strip below the page says
what each one means, so nothing is lost in grey print. The page keeps its size and its pixel
coordinates; the strip only adds height.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from PIL import Image, ImageDraw

from checker.matching.judgement import JudgedStatement, Judgement, Slip
from checker.reading.page import Polygon
from checker.report.drawing import Box, Place, box_of, draw_frame, draw_sign, draw_tag, font
from checker.report.verdict_marks import MARKS, OUTCOME_MARK, OUTCOMES

_PAPER = "#fbfaf7"
_INK = "#20262d"
_GRAVEST = ("first slip", "later slip", "unsure", "carried forward", "follows", "not working")


@dataclass(frozen=True)
class Row:
    """Statements one behind the other on a line: where the first and the last of them stand, and
    their gravest verdict."""

    first: Polygon
    last: Polygon
    verdict: str


def annotate(photo: Image.Image, judgement: Judgement, page: int = 0) -> Image.Image:
    """``photo``, already turned by its EXIF orientation, with the verdicts of page ``page``.

    Gives a new RGB image of the same width with a strip of text below the photo.
    """
    here = [s for s in judgement.statements if s.page == page and s.polygon is not None]
    canvas = photo.convert("RGB")
    unit = _unit(canvas.width, here)
    rows = _rows(here)
    marks = [_draw_row_mark(canvas, row, unit) for row in rows if row.verdict != "not working"]
    taken = [*marks, *(box for s in here if s.polygon for box in _pieces(s.polygon))]
    pointed = _pointed_at(judgement, here)
    if pointed:
        _point_at(canvas, pointed, unit, taken)
    return _with_strip(canvas, judgement, page, {row.verdict for row in rows})


def _pointed_at(judgement: Judgement, here: Sequence[JudgedStatement]) -> JudgedStatement | None:
    """The first slip; where there is none on any page, the first question of this page."""
    if judgement.first_slip:
        return next((s for s in here if s.index == judgement.first_slip.statement), None)
    return next((s for s in here if s.question), None)


def _unit(width: int, statements: Sequence[JudgedStatement]) -> float:
    """The height of a usual line in pixels, kept between 1/60 and 1/20 of the page's width."""
    heights = [math.dist(s.polygon[0], s.polygon[3]) for s in statements if s.polygon]
    return min(max(median(heights) if heights else 0.0, width / 60), width / 20)


def _rows(statements: Sequence[JudgedStatement]) -> list[Row]:
    rows: list[Row] = []
    for statement in statements:
        if statement.polygon is None:
            continue
        if rows and _goes_on(rows[-1].last, statement.polygon):
            gravest = min(rows[-1].verdict, statement.verdict, key=_GRAVEST.index)
            rows[-1] = Row(rows[-1].first, statement.polygon, gravest)
        else:
            rows.append(Row(statement.polygon, statement.polygon, statement.verdict))
    return rows


def _goes_on(a: Polygon, b: Polygon) -> bool:
    """Whether b stands right behind a on one line, also where a tilted line has upright boxes."""
    if a == b:
        return True
    height = min(math.dist(a[0], a[3]), math.dist(b[0], b[3]))
    (ax, ay), (bx, by) = _middle([a[1], a[2]]), _middle([b[0], b[3]])
    (i, j), (k, m) = _towards(a[0], a[1], 1.0), _towards(a[0], a[3], 1.0)
    gap, drop = (bx - ax) * i + (by - ay) * j, (bx - ax) * k + (by - ay) * m
    return abs(drop) < height and -height < gap < 2.5 * height


def _middle(places: Sequence[Place]) -> Place:
    return sum(x for x, _ in places) / len(places), sum(y for _, y in places) / len(places)


def _draw_row_mark(canvas: Image.Image, row: Row, unit: float) -> Box:
    """The mark left of the row, at its tilt; gives the place it takes."""
    size = unit * (0.9 if row.verdict == "first slip" else 0.72)
    x, y = _middle([row.first[0], row.first[3]])
    back = _towards(row.first[0], row.first[1], unit * 0.95)
    x, y = max(x - back[0], size * 0.62), y - back[1]
    draw_sign(canvas, (x, y), size, MARKS[row.verdict])
    return Box(x - size / 2, y - size / 2, x + size / 2, y + size / 2)


def _pieces(polygon: Polygon, count: int = 8) -> list[Box]:
    """Upright boxes that cover the polygon more closely than one would, also at a tilt."""

    def along(a: Place, b: Place, t: float) -> Place:
        return a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t

    a, b, c, d = polygon
    ends = [(along(a, b, i / count), along(d, c, i / count)) for i in range(count + 1)]
    return [box_of([*left, *right]) for left, right in pairwise(ends)]


def _point_at(
    canvas: Image.Image, statement: JudgedStatement, unit: float, taken: Sequence[Box]
) -> None:
    """A frame around the statement at its tilt, and a tag beside it; a question's is dashed."""
    if statement.polygon is None:
        return
    mark = MARKS[statement.verdict]
    slip = statement.verdict == "first slip"
    corners = _grown(statement.polygon, unit * 0.22)
    draw_frame(canvas, corners, unit * (0.11 if slip else 0.06), mark.colour, dashed=not slip)
    tag = f"{mark.sign} {'first slip' if slip else 'please look'}"
    draw_tag(canvas, tag, unit * 0.62, mark.colour, beside=box_of(corners), avoid=taken)


def _grown(polygon: Polygon, by: float) -> list[Place]:
    """The polygon moved outwards by ``by`` along both of its own directions."""
    origin, right, _, down = polygon
    i, j = _towards(origin, right, by), _towards(origin, down, by)
    signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    return [
        (x + a * i[0] + b * j[0], y + a * i[1] + b * j[1])
        for (x, y), (a, b) in zip(polygon, signs, strict=True)
    ]


def _towards(a: Place, b: Place, length: float) -> Place:
    size = math.dist(a, b) or 1.0
    return (b[0] - a[0]) / size * length, (b[1] - a[1]) / size * length


def _with_strip(
    canvas: Image.Image, judgement: Judgement, page: int, verdicts: Collection[str]
) -> Image.Image:
    """The page with the strip of text below it: what was found and what the marks mean."""
    size = max(canvas.width / 42, 11.0)
    step = size * 1.5
    room = canvas.width - 2 * size
    mark, sentences = _finding(judgement, page)
    lines = [part for sentence in sentences for part in _wrap(sentence, size, room)]
    legend = _legend(verdicts, size, room)
    height = size * 1.6 + step * (len(lines) + 1.2 * len(legend))
    sheet = Image.new("RGB", (canvas.width, canvas.height + math.ceil(height)), _PAPER)
    sheet.paste(canvas)
    pen = ImageDraw.Draw(sheet)
    y = float(canvas.height)
    pen.rectangle((0, y, sheet.width, y + size * 0.22), fill=MARKS[mark].colour)
    y += size
    for number, line in enumerate(lines):
        pen.text((size, y), line, fill=_INK if number else MARKS[mark].colour, font=font(size))
        y += step
    for row in legend:
        x = size
        y += step * 0.2
        for verdict in row:
            draw_sign(sheet, (x + size * 0.6, y + size * 0.6), size * 1.1, MARKS[verdict])
            pen.text((x + size * 1.6, y), MARKS[verdict].meaning, fill=_INK, font=font(size * 0.9))
            x += _legend_width(verdict, size)
        y += step
    return sheet


def _finding(judgement: Judgement, page: int) -> tuple[str, list[str]]:
    """The verdict that gives the strip its colour, and what the strip says."""
    slip: Slip | None = judgement.first_slip
    if slip is None:
        asked = [s.question for s in judgement.statements if s.question and s.page == page]
        return OUTCOME_MARK[judgement.outcome], [OUTCOMES[judgement.outcome], *asked[:1]]
    if judgement.statements[slip.statement].page != page:
        return "not working", ["The first slip is on another page."]
    about = f"{slip.quantity}, written as " if slip.quantity else ""
    return "first slip", [f"First slip: {about}{slip.written}", slip.hint]


def _legend(verdicts: Collection[str], size: float, room: float) -> list[list[str]]:
    rows: list[list[str]] = []
    used = 0.0
    for verdict in (v for v in MARKS if v in verdicts and v != "not working"):
        needed = _legend_width(verdict, size)
        if not rows or used + needed > room:
            rows.append([])
            used = 0.0
        rows[-1].append(verdict)
        used += needed
    return rows


def _legend_width(verdict: str, size: float) -> float:
    return size * 3.2 + font(size * 0.9).getlength(MARKS[verdict].meaning)


def _wrap(text: str, size: float, room: float) -> list[str]:
    letters = font(size)
    lines: list[str] = []
    for word in text.split():
        if lines and letters.getlength(f"{lines[-1]} {word}") <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines
