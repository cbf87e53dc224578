"""A photograph in, its lines of text out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import cv2
import numpy as np

from checker.reading.layout import ClassicalFinder, Finder
from checker.reading.layout_net import MODEL, TrainedFinder
from checker.reading.light import edge_width, even
from checker.reading.load import Photo, load_photo
from checker.reading.page import Candidate, Line, LineReader, PageReading, Role, Token
from checker.reading.shape import LineShape, ToPhoto, extract, polygon, upside_down
from checker.reading.sheet import find_sheet
from checker.reading.typed import read_typed

LINE_HEIGHT = 96  # pixels of a line image given to the reader
_VOTERS = 3  # lines that decide whether the page is upside down
_SURE = 0.6  # mean probability of the voters from which on nobody asks
_BLUR = 0.13  # share of the height of a line image over which ink fades into paper
_DARK = "The photo is too dark to read; take it again in more light."
_BLURRED = "The photo is too blurred to read safely; take it again, held still and in focus."
_EMPTY = "No writing was found on the photo; take it again, closer and in focus."


def default_reader() -> LineReader:
    """The reader used when none is chosen: our own wherever its model is installed."""
    from checker.reading.ink_reader import MODELS, InkReader
    from checker.reading.tesseract_reader import TesseractReader

    return InkReader() if (MODELS / "line_encoder.onnx").exists() else TesseractReader()


@cache
def default_finder() -> Finder:
    """The page network where its model is installed, classical image processing elsewhere."""
    return TrainedFinder() if MODEL.exists() else ClassicalFinder()


def read_page(
    source: str | Path | bytes,
    *,
    page: int = 0,
    reader: LineReader | None = None,
    finder: Finder | None = None,
) -> PageReading:
    """Read one photographed page; a path ending in .txt is read as a typed page.

    Polygons and token boxes are in pixels of the photo after EXIF orientation; ``page`` is the
    0-based number given to every line.  A page photographed sideways or upside down is turned
    (``PageReading.turned``).  Raises PageError for what is no usable image and ReaderError when
    the reader cannot run.
    """
    if not isinstance(source, bytes) and Path(source).suffix.lower() == ".txt":
        return read_typed(source, page)
    photo = load_photo(source)
    reader = reader or default_reader()
    sheet = find_sheet(photo.colour)
    evened, light = even(cv2.cvtColor(photo.colour, cv2.COLOR_RGB2GRAY), sheet.corners)
    if light.too_dark:
        return _nothing(photo, page, _DARK)
    layout = (finder or default_finder()).find(photo.colour, evened, sheet.corners)
    shapes, turned = layout.shapes, layout.turned
    if not any(shape.role == "working" for shape in shapes):
        return _nothing(photo, page, _EMPTY, *sheet.remarks)
    if _reads_better_upside_down(evened, shapes, reader):
        shapes = [upside_down(shape) for shape in reversed(shapes)]
        turned = (turned + 2) % 4
    cut = _cut(evened, shapes)
    remarks = sheet.remarks + ((_BLURRED,) if _is_blurred([image for image, _ in cut]) else ())
    lines = _read_lines(shapes, cut, page, reader)
    return PageReading(page, photo.name, photo.size, tuple(lines), remarks, turned)


def _nothing(photo: Photo, page: int, *remarks: str) -> PageReading:
    return PageReading(page, photo.name, photo.size, (), remarks)


def _is_blurred(images: Sequence[np.ndarray]) -> bool:
    """Whether the edge of a stroke is so wide that neighbouring strokes run together."""
    return float(np.median([edge_width(image) for image in images])) > _BLUR * LINE_HEIGHT


def _reads_better_upside_down(
    evened: np.ndarray, shapes: Sequence[LineShape], reader: LineReader
) -> bool:
    """The longest lines vote; only when they read badly are they tried the other way up."""
    writing = [shape for shape in shapes if shape.role == "working"]
    voters = sorted(writing, key=lambda shape: -shape.length / shape.height)[:_VOTERS]
    upright = _trust(evened, voters, reader)
    if upright > _SURE:
        return False
    return _trust(evened, [upside_down(shape) for shape in voters], reader) > upright + 0.1


def _trust(evened: np.ndarray, shapes: Sequence[LineShape], reader: LineReader) -> float:
    """Mean probability of the best texts; what is read as no working counts nothing."""
    texts = reader.read([extract(evened, shape, LINE_HEIGHT)[0] for shape in shapes])
    best = [candidates[0] for candidates in texts]
    return float(np.mean([one.probability * (_role(one.text) == "working") for one in best]))


def _cut(evened: np.ndarray, shapes: Sequence[LineShape]) -> list[tuple[np.ndarray, ToPhoto]]:
    """Line images of all but the drawings, with their ways back to the photo."""
    return [extract(evened, shape, LINE_HEIGHT) for shape in shapes if shape.role == "working"]


def _read_lines(
    shapes: Sequence[LineShape],
    cut: Sequence[tuple[np.ndarray, ToPhoto]],
    page: int,
    reader: LineReader,
) -> list[Line]:
    """The lines in the order of their shapes; drawings are not given to the reader."""
    texts = reader.read([image for image, _ in cut])
    read = iter(zip(texts, cut, strict=True))
    lines = []
    for shape in shapes:
        if shape.role == "working":
            found, (_, to_photo) = next(read)
            candidates = tuple(_on_photo(candidate, to_photo) for candidate in found)
            role = _role(candidates[0].text)
        else:
            candidates, role = (Candidate("<aside>", shape.probability),), shape.role
        lines.append(Line(page, candidates, polygon(shape), role=role))
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
