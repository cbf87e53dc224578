"""What a worker does with one page: its bytes in, its reading and a small picture out."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

from checker.errors import PageError
from checker.submission import Upload, is_typed

if TYPE_CHECKING:
    import numpy as np

    from checker.reading.layout import Finder
    from checker.reading.page import Candidate, LineReader, PageReading

LONG_SIDE = 1600  # pixels of the kept picture
_QUALITY = 80
_TOO_LARGE = "Reading it takes more memory than a page may take; scale it down and give it again."


@dataclass(frozen=True)
class PageResult:
    """Either a reading or the sentence why there is none; ``picture`` is a JPEG, upright as its
    EXIF orientation asks, of a photo that could be loaded; ``again`` says that the machine was at
    fault and not the page."""

    reading: PageReading | None
    reason: str | None = None
    picture: bytes | None = None
    again: bool = False


def read_one(name: str, content: bytes) -> PageResult:
    """Read a page. Whatever is wrong with it is the result's reason; ReaderError if the reader
    itself cannot run, which no other page would survive either."""
    picture = None
    try:
        if is_typed(Upload(name, content)):
            from checker.reading.typed import read_typed

            return PageResult(read_typed(content))
        from checker.reading.load import load_photo
        from checker.reading.read_page import read_page

        reader, finder = _tools()
        photo = load_photo(content)
        picture = small_picture(photo.colour)
        return PageResult(_light(read_page(photo, reader=reader, finder=finder)), None, picture)
    except PageError as error:
        return PageResult(None, str(error), picture)
    except MemoryError:
        return PageResult(None, _TOO_LARGE, picture, again=True)


def _light(reading: PageReading) -> PageReading:
    """The reading without how its signs look, most of its weight on the way to the store."""

    def light(candidate: Candidate) -> Candidate:
        tokens = (replace(token, shape=None) for token in candidate.tokens)
        return replace(candidate, tokens=tuple(tokens))

    lines = (replace(line, candidates=tuple(map(light, line.candidates))) for line in reading.lines)
    return replace(reading, lines=tuple(lines))


def small_picture(colour: np.ndarray) -> bytes:
    """An RGB array (height, width, 3) as a JPEG of at most ``LONG_SIDE`` pixels."""
    from PIL import Image

    from checker.reading.smaller import smaller

    factor = LONG_SIDE / max(colour.shape[:2])
    if factor < 1:
        colour = smaller(colour, factor)
    file = io.BytesIO()
    Image.fromarray(colour).save(file, "JPEG", quality=_QUALITY)
    return file.getvalue()


@cache
def _tools() -> tuple[LineReader, Finder]:
    """Models loaded once in a process and used with one thread: every core has its own worker."""
    import cv2

    from checker.reading.read_page import default_finder, default_reader

    cv2.setNumThreads(1)
    return default_reader(threads=1), default_finder(threads=1)
