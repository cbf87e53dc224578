"""A sheet drawn from typed working, so that it can be marked like a photographed page."""

from __future__ import annotations

from PIL import Image, ImageDraw

from checker.markup import plain
from checker.reading.page import PageReading, Polygon
from checker.report.drawing import font

_SIZE = 26
_STEP = 52
_MARGIN = 90
_LEAST_WIDTH = 900


def typed_sheet(reading: PageReading) -> tuple[Image.Image, dict[int, Polygon]]:
    """A white sheet with the lines of a typed page, and where each line number stands on it."""
    letters = font(_SIZE)
    texts = {
        line.line: plain(line.candidates[0].text) for line in reading.lines if line.line is not None
    }
    widths = {number: letters.getlength(text) for number, text in texts.items()}
    width = max([_LEAST_WIDTH, *(round(w) + 3 * _MARGIN for w in widths.values())])
    sheet = Image.new("RGB", (width, _STEP * (len(texts) + 1)), "white")
    pen = ImageDraw.Draw(sheet)
    places: dict[int, Polygon] = {}
    for row, (number, text) in enumerate(texts.items()):
        top = row * _STEP + _STEP * 0.6
        right, bottom = _MARGIN + widths[number], top + _SIZE * 1.3
        places[number] = ((_MARGIN, top), (right, top), (right, bottom), (_MARGIN, bottom))
        pen.text((_MARGIN, (top + bottom) / 2), text, fill="#20262d", font=letters, anchor="lm")
    return sheet, places
