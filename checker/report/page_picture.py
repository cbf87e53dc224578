"""The picture of one page of a submission, photographed or typed, with its marks or without."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from PIL import Image

from checker.matching.judgement import Judgement
from checker.reading.load import load_photo
from checker.reading.page import PageReading, Polygon
from checker.report.annotate import annotate
from checker.report.typed_sheet import typed_sheet
from checker.submission import Checked, Source, Upload, is_typed

# Polygon of a photo and line number of a typed page (one of them is None) to the place on a picture
Placing = Callable[[Polygon | None, int | None], Polygon | None]


def page_picture(checked: Checked, page: int) -> Image.Image:
    """Page ``page`` (0-based) with its marks.

    A photo taken sideways or upside down is turned so that the writing is upright; typed working
    is set on a sheet.
    """
    photo = photo_of(checked.sources[page])
    return marked(photo, checked.pages[page], checked.judgement, page)


def photo_of(source: Source) -> Image.Image | None:
    """The photo, upright by its EXIF orientation; None for typed working."""
    if is_typed(source):
        return None
    photo = load_photo(source.content if isinstance(source, Upload) else source)
    return Image.fromarray(photo.colour)


def marked(
    picture: Image.Image | None, reading: PageReading, judgement: Judgement, page: int
) -> Image.Image:
    """Page ``page`` of a judgement as ``page_picture`` gives it.

    ``picture`` is the photo, upright by its EXIF orientation, in any size; None for typed working.
    """
    picture, place = upright_page(picture, reading)
    return annotate(picture, _moved(judgement, page, place), page)


def upright_page(picture: Image.Image | None, reading: PageReading) -> tuple[Image.Image, Placing]:
    """A page without marks, its writing upright, and where on it stands what was read.

    ``picture`` as in ``marked``.
    """
    if picture is None:
        sheet, places = typed_sheet(reading)
        return sheet, lambda _polygon, line: None if line is None else places.get(line)
    scale = reading.size[0] / picture.width
    widths = []
    for _ in range(reading.turned):
        widths.append(picture.width)
        picture = picture.transpose(Image.Transpose.ROTATE_90)

    def place(polygon: Polygon | None, _line: int | None) -> Polygon | None:
        if polygon is None:
            return None
        a, b, c, d = ((x / scale, y / scale) for x, y in polygon)
        for width in widths:  # a quarter turn counter-clockwise for each
            a, b, c, d = ((y, width - x) for x, y in (a, b, c, d))
        return a, b, c, d

    return picture, place


def _moved(judgement: Judgement, page: int, place: Placing) -> Judgement:
    """``judgement`` with the polygons that the statements of ``page`` have on its picture."""
    statements = tuple(
        replace(s, polygon=place(s.polygon, s.line)) if s.page == page else s
        for s in judgement.statements
    )
    return replace(judgement, statements=statements)
