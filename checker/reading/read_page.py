"""A photograph in, its lines of text out."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np

from checker.reading.frame import Frame
from checker.reading.light import even
from checker.reading.lines import find_lines
from checker.reading.load import Photo, load_photo
from checker.reading.page import Candidate, Line, LineReader, PageReading, Role, Token
from checker.reading.shape import LineShape, ToPhoto, carried, extract, polygon
from checker.reading.sheet import find_sheet
from checker.reading.turn import slope
from checker.reading.typed import read_typed

LINE_HEIGHT = 96


def default_reader() -> LineReader:
    """The reader used when none is chosen."""
    from checker.reading.tesseract_reader import TesseractReader

    return TesseractReader()


def read_page(
    source: str | Path | bytes, *, page: int = 0, reader: LineReader | None = None
) -> PageReading:
    """Read one photographed page; a path ending in .txt is read as a typed page.

    Polygons and token boxes are in pixels of the photo after EXIF orientation; ``page`` is the
    0-based number given to every line.  Raises PageError for what is no usable image and
    ReaderError when the reader cannot run.
    """
    if not isinstance(source, bytes) and Path(source).suffix.lower() == ".txt":
        return read_typed(source, page)
    photo = load_photo(source)
    reader = reader or default_reader()
    sheet = find_sheet(photo.colour)
    grey = cv2.cvtColor(photo.colour, cv2.COLOR_RGB2GRAY)
    evened, light = even(grey, sheet.corners)
    if light.too_dark:
        return _nothing(photo, page, "The photo is too dark to read; take it again in more light.")
    frame = Frame.of(sheet.corners)
    flat = frame.flatten(evened)
    frame = frame.rotated(slope(flat))
    flat = frame.flatten(evened)
    shapes = [carried(shape, frame.carry) for shape in find_lines(flat)]
    writing = [shape for shape in shapes if shape.role == "working"]
    if not writing:
        return _nothing(photo, page, "No writing was found on the photo.", *sheet.remarks)
    lines = _read_lines(evened, shapes, page, reader)
    return PageReading(page, photo.name, photo.size, tuple(lines), sheet.remarks, frame.quarters)


def _nothing(photo: Photo, page: int, *remarks: str) -> PageReading:
    return PageReading(page, photo.name, photo.size, (), remarks)


def _read_lines(
    evened: np.ndarray, shapes: list[LineShape], page: int, reader: LineReader
) -> list[Line]:
    """The lines in the order of their shapes; drawings are not given to the reader."""
    cut = {
        k: extract(evened, shape, LINE_HEIGHT)
        for k, shape in enumerate(shapes)
        if shape.role == "working"
    }
    texts = dict(zip(cut, reader.read([image for image, _ in cut.values()]), strict=True))
    lines = []
    for k, shape in enumerate(shapes):
        if k not in cut:
            aside = Candidate("<aside>", shape.probability)
            lines.append(Line(page, (aside,), polygon(shape), role="aside"))
            continue
        to_photo = cut[k][1]
        candidates = tuple(_on_photo(candidate, to_photo) for candidate in texts[k])
        lines.append(Line(page, candidates, polygon(shape), role=_role(candidates[0].text)))
    return lines


def _role(text: str) -> Role:
    """A reader says in the text itself that a line is crossed out or no working at all."""
    return {"<struck>": "struck", "<aside>": "aside"}.get(text, "working")  # type: ignore[return-value]


def _on_photo(candidate: Candidate, to_photo: ToPhoto) -> Candidate:
    return replace(
        candidate, tokens=tuple(_token_on_photo(token, to_photo) for token in candidate.tokens)
    )


def _token_on_photo(token: Token, to_photo: ToPhoto) -> Token:
    left, top, right, bottom = token.box
    corners = to_photo(np.array([[left, top], [right, top], [right, bottom], [left, bottom]]))
    (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
    return replace(token, box=(float(x0), float(y0), float(x1), float(y1)))
