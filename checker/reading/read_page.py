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
from checker.reading.page import Candidate, Line, LineReader, PageReading, Role
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
    cut = _cut(evened, shapes)
    texts = reader.read([image for image, _ in cut])
    over = _read_upside_down(evened, shapes, texts, reader)
    if over:
        shapes = [upside_down(shape) for shape in reversed(shapes)]
        turned = (turned + 2) % 4
        cut = _cut(evened, shapes)
        texts = reader.read([image for image, _ in cut])
    remarks = sheet.remarks + ((_BLURRED,) if _is_blurred([image for image, _ in cut]) else ())
    lines = _lines(shapes, cut, texts, page)
    return PageReading(page, photo.name, photo.size, tuple(lines), remarks, turned)


def _nothing(photo: Photo, page: int, *remarks: str) -> PageReading:
    return PageReading(page, photo.name, photo.size, (), remarks)


def _is_blurred(images: Sequence[np.ndarray]) -> bool:
    """Whether the edge of a stroke is so wide that neighbouring strokes run together."""
    return float(np.median([edge_width(image) for image in images])) > _BLUR * LINE_HEIGHT


def _read_upside_down(
    evened: np.ndarray,
    shapes: Sequence[LineShape],
    texts: Sequence[tuple[Candidate, ...]],
    reader: LineReader,
) -> bool:
    """Whether the page reads better the other way up.

    The longest lines vote; only when they read badly are they tried upside down.
    """
    writing = [shape for shape in shapes if shape.role == "working"]
    longest = sorted(range(len(writing)), key=lambda k: -writing[k].length / writing[k].height)
    voters = longest[:_VOTERS]
    upright = _trust([texts[k] for k in voters])
    if upright > _SURE:
        return False
    turned = [extract(evened, upside_down(writing[k]), LINE_HEIGHT)[0] for k in voters]
    return _trust(reader.read(turned)) > upright + 0.1


def _trust(texts: Sequence[tuple[Candidate, ...]]) -> float:
    """Mean probability of the best texts; what is read as no working counts nothing."""
    best = [candidates[0] for candidates in texts]
    return float(np.mean([one.probability * (_role(one.text) == "working") for one in best]))


def _cut(evened: np.ndarray, shapes: Sequence[LineShape]) -> list[tuple[np.ndarray, ToPhoto]]:
    """Line images of all but the drawings, with their ways back to the photo."""
    return [extract(evened, shape, LINE_HEIGHT) for shape in shapes if shape.role == "working"]


def _lines(
    shapes: Sequence[LineShape],
    cut: Sequence[tuple[np.ndarray, ToPhoto]],
    texts: Sequence[tuple[Candidate, ...]],
    page: int,
) -> list[Line]:
    """The lines in the order of their shapes; drawings were not given to the reader."""
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
    """The candidate with its tokens' boxes in pixels of the photo."""
    if not candidate.tokens:
        return candidate
    boxes = np.array([token.box for token in candidate.tokens])
    corners = to_photo(boxes[:, [0, 1, 2, 1, 2, 3, 0, 3]].reshape(-1, 2)).reshape(-1, 4, 2)
    placed = np.concatenate([corners.min(axis=1), corners.max(axis=1)], axis=1).tolist()
    return replace(
        candidate,
        tokens=tuple(
            replace(token, box=(x0, y0, x1, y1))
            for token, (x0, y0, x1, y1) in zip(candidate.tokens, placed, strict=True)
        ),
    )
