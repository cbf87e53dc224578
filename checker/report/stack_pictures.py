"""The marked pictures of a row's pages, for the annotated PDF and the thumbnails."""

from __future__ import annotations

import io

from PIL import Image

from checker.report.page_picture import marked
from checker.report.stack_rows import StackRow

_LEAST = 800  # pixels of width, on which the words beside the marks can be read


def row_picture(row: StackRow, page: int, width: int) -> Image.Image | None:
    """Page ``page`` (0-based) with its marks, at most ``width`` wide; None if it was not read."""
    here = row.pages[page]
    if here.reading is None:
        return None
    photo = None
    if here.picture is not None:
        with Image.open(io.BytesIO(here.picture), formats=("JPEG",)) as opened:
            opened.draft("RGB", (2 * width, 2 * width))  # decoded no larger than it takes
            photo = opened.convert("RGB")
        # Marks are drawn on no more than is shown, but not so small that their words are lost.
        long, most = 4 * width, max(width, _LEAST)
        size = (long, most) if here.reading.turned % 2 else (most, long)
        photo.thumbnail(size, Image.Resampling.BILINEAR)
    picture = marked(photo, here.reading, row.shown, page)
    picture.thumbnail((width, 4 * width), Image.Resampling.BILINEAR)
    return picture


def jpeg(picture: Image.Image, quality: int) -> bytes:
    data = io.BytesIO()
    picture.save(data, "JPEG", quality=quality, optimize=True)
    return data.getvalue()
