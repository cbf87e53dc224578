"""A photograph in, its lines of text out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np

from checker.reading.drawings import find_drawings
from checker.reading.frame import Frame
from checker.reading.light import edge_width, even
from checker.reading.lines import find_lines
from checker.reading.load import Photo, load_photo
from checker.reading.page import Candidate, Line, LineReader, PageReading, Role, Token
from checker.reading.pieces import find_pieces
from checker.reading.rules import remove_rules
from checker.reading.shape import LineShape, ToPhoto, carried, extract, polygon, upside_down
from checker.reading.sheet import find_sheet
from checker.reading.turn import is_sideways, slope
from checker.reading.typed import read_typed

LINE_HEIGHT = 96  # pixels of a line image given to the reader
_VOTERS = 3  # lines that decide whether the page is upside down
_SURE = 0.6  # mean probability of the voters from which on nobody asks
_DARK = "The photo is too dark to read; take it again in more light."
_BLURRED = "The photo is too blurred to read safely; take it again, held still and in focus."
_EMPTY = "No writing was found on the photo; take it again, closer and in focus."


def default_reader() -> LineReader:
    """The reader used when none is chosen: our own wherever its model is installed."""
    from checker.reading.ink_reader import MODELS, InkReader
    from checker.reading.tesseract_reader import TesseractReader

    return InkReader() if (MODELS / "line_encoder.onnx").exists() else TesseractReader()


def read_page(
    source: str | Path | bytes, *, page: int = 0, reader: LineReader | None = None
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
    frame, flat = _upright(Frame.of(sheet.corners), evened)
    shapes = find_lines(flat)
    if not any(shape.role == "working" for shape in shapes):
        return _nothing(photo, page, _EMPTY, *sheet.remarks)
    remarks = sheet.remarks + ((_BLURRED,) if _is_blurred(flat, shapes) else ())
    shapes = [carried(shape, frame.carry) for shape in shapes]
    turned = frame.quarters
    if _reads_better_upside_down(evened, shapes, reader):
        shapes = [upside_down(shape) for shape in reversed(shapes)]
        turned = (turned + 2) % 4
    lines = _read_lines(evened, shapes, page, reader)
    return PageReading(page, photo.name, photo.size, tuple(lines), remarks, turned)


def _nothing(photo: Photo, page: int, *remarks: str) -> PageReading:
    return PageReading(page, photo.name, photo.size, (), remarks)


def _upright(frame: Frame, evened: np.ndarray) -> tuple[Frame, np.ndarray]:
    """The frame in which lines run level, and the flat page in it; it may be upside down."""
    flat = frame.flatten(evened)
    small = cv2.resize(flat, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    pieces = find_pieces(remove_rules(small)[0])
    if pieces is not None:
        _, drawn = find_drawings(pieces)
        if is_sideways(pieces.chosen(~drawn)):
            frame = frame.turned(1)
            flat = frame.flatten(evened)
    fall = slope(flat)
    if fall:
        frame = frame.rotated(fall)
        flat = frame.flatten(evened)
    return frame, flat


def _is_blurred(flat: np.ndarray, shapes: Sequence[LineShape]) -> bool:
    """Whether the edge of a stroke is so wide that neighbouring strokes run together."""
    heights = [shape.height for shape in shapes if shape.role == "working"]
    return edge_width(flat) > 0.22 * float(np.median(heights))


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


def _read_lines(
    evened: np.ndarray, shapes: Sequence[LineShape], page: int, reader: LineReader
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
