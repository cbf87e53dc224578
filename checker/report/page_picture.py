"""The marked picture of one page of a submission, photographed or typed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from PIL import Image

from checker.matching.judgement import JudgedStatement, Judgement
from checker.reading.load import load_photo
from checker.reading.page import PageReading, Polygon
from checker.report.annotate import annotate
from checker.report.typed_sheet import typed_sheet
from checker.submission import Checked, Upload, is_typed


def page_picture(checked: Checked, page: int) -> Image.Image:
    """Page ``page`` (0-based) with its marks.

    A photo taken sideways or upside down is turned so that the writing is upright; typed working
    is set on a sheet.
    """
    source, reading = checked.sources[page], checked.pages[page]
    if is_typed(source):
        return marked(None, reading, checked.judgement, page)
    photo = load_photo(source.content if isinstance(source, Upload) else source)
    return marked(Image.fromarray(photo.colour), reading, checked.judgement, page)


def marked(
    picture: Image.Image | None, reading: PageReading, judgement: Judgement, page: int
) -> Image.Image:
    """Page ``page`` of a judgement as ``page_picture`` gives it.

    ``picture`` is the photo, upright by its EXIF orientation, in any size; None for typed working.
    """
    if picture is None:
        sheet, places = typed_sheet(reading)
        judgement = _moved(judgement, page, lambda s: places.get(-1 if s.line is None else s.line))
        return annotate(sheet, judgement, page)
    if (scale := reading.size[0] / picture.width) != 1.0:
        judgement = _moved(judgement, page, partial(_made_smaller, scale=scale))
    for _ in range(reading.turned):
        judgement = _moved(judgement, page, partial(_quarter_back, width=picture.width))
        picture = picture.transpose(Image.Transpose.ROTATE_90)
    return annotate(picture, judgement, page)


def _moved(
    judgement: Judgement, page: int, place: Callable[[JudgedStatement], Polygon | None]
) -> Judgement:
    """``judgement`` with new polygons for the statements of ``page``."""
    statements = tuple(
        replace(s, polygon=place(s)) if s.page == page else s for s in judgement.statements
    )
    return replace(judgement, statements=statements)


def _made_smaller(statement: JudgedStatement, scale: float) -> Polygon | None:
    """Where it stands on a picture that is ``scale`` times smaller than the photo."""
    if statement.polygon is None:
        return None
    a, b, c, d = ((x / scale, y / scale) for x, y in statement.polygon)
    return a, b, c, d


def _quarter_back(statement: JudgedStatement, width: int) -> Polygon | None:
    """Where it stands once a photo ``width`` pixels wide is turned counter-clockwise."""
    if statement.polygon is None:
        return None
    a, b, c, d = ((y, width - x) for x, y in statement.polygon)
    return a, b, c, d
