"""A photograph in, its lines of text out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import cv2
import numpy as np

from checker.reading.columns import gutter, is_edge_below, is_edge_between, reading_order
from checker.reading.frame import Frame
from checker.reading.layout import ClassicalFinder, Finder
from checker.reading.layout_net import MODEL, TrainedFinder
from checker.reading.light import edge_width, even
from checker.reading.load import Photo, load_photo
from checker.reading.page import Candidate, Line, LineReader, PageReading, Role
from checker.reading.screenshot import is_screenshot
from checker.reading.shape import ToPhoto, polygon
from checker.reading.sheet import find_sheet, whole_photo
from checker.reading.typed import read_typed
from checker.reading.way_up import LINE_HEIGHT, Read, read_right_way_up

_BLUR = 0.13  # share of the height of a line image over which ink fades into paper
_SOFT = 6.5  # pixels over which ink fades into paper on a page where nothing was found
_MOST_INK = 0.2  # share of a page that writing may cover
_LIT = 150.0  # grey value of paper up to which a dim photo is brightened for the finder
_SPECK = 1.2  # what is set aside and no longer than this many line heights is a stain, no note
_READ = 0.48  # least mean probability of the lines of a page on which a verdict may rest
_DARK = "The photo is too dark to read; take it again in more light."
_BLURRED = "The photo is too blurred to read safely; take it again, held still and in focus."
_EMPTY = "No writing was found on the photo; take it again, closer and in focus."
_LITTLE = (
    "Little of the writing could be read for certain; take the photo again, closer, in focus and "
    "in even light."
)
_SCREEN = "This looks like a screenshot; give a photo or a scan of the written page."
_TWO_SHEETS = "There seem to be two sheets on the photo; take one photo of each sheet."


def default_reader(threads: int = 2) -> LineReader:
    """The reader used when none is chosen: our own wherever its model is installed."""
    from checker.reading.ink_reader import MODELS, InkReader

    if (MODELS / "line_encoder.onnx").exists():
        return InkReader(threads=threads)
    from checker.reading.tesseract_reader import TesseractReader

    return TesseractReader()


@cache
def default_finder(threads: int = 2) -> Finder:
    """The page network where its model is installed, classical image processing elsewhere."""
    return TrainedFinder(threads=threads) if MODEL.exists() else ClassicalFinder()


def read_page(
    source: str | Path | bytes | Photo,
    *,
    page: int = 0,
    reader: LineReader | None = None,
    finder: Finder | None = None,
    upright: bool = False,
) -> PageReading:
    """Read one photographed page, from its path, its bytes or loaded; a path ending in .txt is
    read as a typed page.

    Polygons and token boxes are in pixels of the photo after EXIF orientation; ``page`` is the
    0-based number given to every line.  A page photographed sideways or upside down is turned
    (``PageReading.turned``); ``PageReading.doubts`` says why no verdict may rest on the page.
    ``upright``: it is known to lie as the finder sees it, other ways are not tried.  Raises
    PageError for what is no usable image and ReaderError when the reader cannot run.
    """
    if isinstance(source, str | Path) and Path(source).suffix.lower() == ".txt":
        return read_typed(source, page)
    photo = source if isinstance(source, Photo) else load_photo(source)
    reader, finder = reader or default_reader(), finder or default_finder()
    sheet = find_sheet(photo.colour)
    if sheet.found and finder.writing_beyond(photo.colour, sheet.corners):
        sheet = whole_photo(photo.colour)
    doubts = [_TWO_SHEETS] if sheet.several else []
    if is_screenshot(photo.colour):
        doubts.append(_SCREEN)
    grey = cv2.cvtColor(photo.colour, cv2.COLOR_RGB2GRAY)
    evened, light = even(grey, sheet.corners)
    if light.too_dark:
        return _reading(photo, page, doubts=doubts or [_DARK])
    bright = photo.colour
    if light.paper < _LIT:
        bright = cv2.convertScaleAbs(bright, alpha=_LIT / light.paper)
    read = read_right_way_up(finder, reader, bright, evened, sheet.corners, upright)
    turned = read.layout.turned
    frame = Frame.of(np.roll(sheet.corners, -turned, axis=0))
    if not read.images:
        soft = _is_soft(frame.flatten(evened))
        return _reading(photo, page, doubts=[*doubts, _BLURRED if soft else _EMPTY])
    lines = _lines(read, page)
    boxes = _boxes(lines, frame)
    writing = boxes[[shape.role == "working" for shape in read.layout.shapes]]
    strip = gutter(writing, least=1)
    flat = frame.flatten(grey)
    if is_edge_below(flat, writing) or (strip and is_edge_between(flat, writing, strip)):
        doubts.append(_TWO_SHEETS)
    sizes = [max(shape.length, shape.height) for shape in read.layout.shapes]
    usual = np.median([s.height for s in read.layout.shapes if s.role == "working"])
    lines = [
        lines[k]
        for k in reading_order(boxes)
        if lines[k].role != "aside" or sizes[k] > _SPECK * usual
    ]
    working = [line.candidates[0] for line in lines if line.role == "working"]
    if _is_blurred(read.images):
        doubts.append(_BLURRED)
    elif working and np.mean([best.probability * bool(best.text) for best in working]) < _READ:
        doubts.append(_BLURRED if _is_soft(frame.flatten(evened)) else _LITTLE)
    return _reading(photo, page, lines, dict.fromkeys(doubts), turned)


def _reading(
    photo: Photo,
    page: int,
    lines: Sequence[Line] = (),
    doubts: Iterable[str] = (),
    turned: int = 0,
) -> PageReading:
    whole = tuple(_enlarged(line, photo.scale) for line in lines)
    return PageReading(page, photo.name, photo.size, whole, photo.remarks, tuple(doubts), turned)


def _enlarged(line: Line, scale: float) -> Line:
    """The line in pixels of the photo as given, where that was made smaller to be read."""
    if scale == 1.0 or line.polygon is None:
        return line
    corners = tuple((x * scale, y * scale) for x, y in line.polygon)
    candidates = tuple(_on_photo(one, lambda points: points * scale) for one in line.candidates)
    return replace(line, polygon=corners, candidates=candidates)  # type: ignore[arg-type]


def _boxes(lines: Sequence[Line], frame: Frame) -> np.ndarray:
    """Left, top, right and bottom (n, 4) of the lines on the upright page of a frame."""
    corners = np.array([line.polygon for line in lines]).reshape(-1, 1, 2)
    corners = cv2.perspectiveTransform(corners, np.linalg.inv(frame.to_photo)).reshape(-1, 4, 2)
    return np.concatenate([corners.min(axis=1), corners.max(axis=1)], axis=1)


def _is_soft(flat: np.ndarray) -> bool:
    """Whether an evened page where little or nothing could be read has ink out of focus on it."""
    return edge_width(flat) > _SOFT and float((flat < 160).mean()) < _MOST_INK


def _is_blurred(images: Sequence[np.ndarray]) -> bool:
    """Whether the edge of a stroke is so wide that neighbouring strokes run together."""
    return float(np.median([edge_width(image) for image in images])) > _BLUR * LINE_HEIGHT


def _lines(read: Read, page: int) -> list[Line]:
    """The lines in the order of their shapes; drawings were not given to the reader."""
    texts = iter(zip(read.texts, read.to_photo, strict=True))
    lines = []
    for shape in read.layout.shapes:
        if shape.role == "working":
            found, to_photo = next(texts)
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
