"""The trained page network: lines of writing, drawings and which way is up.

``models/layout.onnx`` (made by ``checker.training``) takes the levelled sheet, long side 1280, and
gives maps at a quarter of that; here they become shapes in pixels of the photo.
"""

from __future__ import annotations

from functools import cached_property
from pathlib import Path

import cv2
import numpy as np
import onnxruntime

from checker.errors import ReaderError
from checker.reading.bands import CORE, DRAWING, PAPER, STRIDE, decode
from checker.reading.frame import Frame
from checker.reading.layout import Layout, level
from checker.reading.shape import LineShape, carried, polygon, writing
from checker.reading.smaller import smaller

MODEL = Path(__file__).parent / "models" / "layout.onnx"
LONG_SIDE, MULTIPLE = 1280, 32
_RARELY = 2.0  # log-odds: few photos lie upside down, and the reader finds out those that do
_UPRIGHT = 0.7  # upright training pages: at least 0.76; pages on their side: at most 0.54
_SMALL, _BEST, _LARGE = 12.5, 19.0, 40.0  # height of a digit in pixels of the network's input
_PIECE = 0.25  # share of a line's height that a letter has at least
_COVER = 0.4  # share of a page that a drawing leaves to the writing, or there is none
_SEVERAL = 3  # lines, from which on they show where the writing begins and ends
_EDGE, _MORE = 0.025, 0.15  # share of its width: so near its side, and so far beyond it
_CUT, _STILL_CUT = 0.5, 0.1  # share of lines that tells of a cut; of one where there was a cut
_TILTED = 2.0  # degrees by which lines fall or rise from which on a page is levelled again
_LONG = 4.0  # times as long as high: then a line shows where it runs
_WORTH_IT = 1.2  # enlargement from which on a second look pays
_GLANCE = 640  # long side of a photo on which it shows whether a sheet holds all the writing
_SEEN = 0.5  # probability of a line, and of paper, that counts
_ROOM = 1.02  # times the sheet, that still counts as on it
_BEYOND = 0.05  # share of the writing beyond it; simulated whole sheets: 0, cut through: over 0.4
_INK = 160  # an evened page is darker than this where there is ink


class TrainedFinder:
    """A Finder by the page network; ``threads`` is for its arithmetic."""

    def __init__(self, model: Path = MODEL, threads: int = 2) -> None:
        self.model, self.threads = model, threads
        if not model.exists():
            raise ReaderError(f"The page model is missing from {model.parent}; install again.")

    @cached_property
    def _session(self) -> onnxruntime.InferenceSession:
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = self.threads
        options.log_severity_level = 3
        return onnxruntime.InferenceSession(
            str(self.model), options, providers=["CPUExecutionProvider"]
        )

    def find(
        self,
        colour: np.ndarray,
        evened: np.ndarray,
        corners: np.ndarray,
        as_given: bool = False,
    ) -> Layout:
        """See ``Finder``; the desk around the sheet would only cost resolution."""
        found = Frame.of(corners, LONG_SIDE)
        frame = level(evened, found, sideways=False)
        maps, way = self._run(frame.flatten(colour))
        if not (as_given or _is_upright(way)):
            # The classical measure, which few or joined letters mislead, decides only here.
            other = level(evened, found)
            if other.quarters % 2:
                frame = other
                maps, way = self._run(frame.flatten(colour))
        if way[2] > way[0] + _RARELY and not as_given:
            frame = frame.turned(2)
            maps, _ = self._run(frame.flatten(colour))
        flat = frame.flatten(evened)
        shapes = decode(maps, flat)
        if abs(fall := _fall(shapes)) > _TILTED:  # rules or the sheet's edges run otherwise
            frame = frame.rotated(fall)
            flat, shapes = self._look(frame, colour, evened)
        least = _CUT
        # Every step adds to the frame, so the photo's own edge ends this.
        while (wide := wider(frame, shapes, colour.shape[1::-1], least)) is not None:
            frame, least = wide, _STILL_CUT
            flat, shapes = self._look(frame, colour, evened)
        closer = at_writing_scale(frame, shapes, flat)
        if closer is not None:
            _, again = self._look(closer, colour, evened)
            if 2 * _written(again) >= _written(shapes):  # else too few pixels for that
                frame, shapes = closer, again
        return Layout([carried(shape, frame.carry) for shape in shapes], frame.quarters)

    def writing_beyond(self, colour: np.ndarray, corners: np.ndarray) -> bool:
        """See ``Finder``."""
        height, width = colour.shape[:2]
        small = smaller(colour, min(_GLANCE / max(height, width), 1.0))
        maps, _ = self._run(small)
        lines = (maps[CORE] > _SEEN) & (maps[PAPER] > _SEEN)
        inside = np.zeros(lines.shape, np.uint8)
        middle = corners.mean(axis=0)
        scale = np.array([small.shape[1] / width, small.shape[0] / height]) / STRIDE
        edge = np.round((middle + (corners - middle) * _ROOM) * scale).astype(np.int32)
        cv2.fillConvexPoly(inside, edge, 1)
        return bool((lines & (inside == 0)).sum() > _BEYOND * lines.sum())

    def _look(
        self, frame: Frame, colour: np.ndarray, evened: np.ndarray
    ) -> tuple[np.ndarray, list[LineShape]]:
        """The evened page in a frame, and what is on it."""
        flat = frame.flatten(evened)
        return flat, decode(self._run(frame.flatten(colour))[0], flat)

    def _run(self, small: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        height, width = small.shape[:2]
        padded = np.full(
            (-(-height // MULTIPLE) * MULTIPLE, -(-width // MULTIPLE) * MULTIPLE, 3), 127, np.uint8
        )
        padded[:height, :width] = small
        image = padded.transpose(2, 0, 1)[None].astype(np.float32) / 255
        maps, way = self._session.run(None, {"image": image})
        maps = maps[0, :, : -(-height // STRIDE), : -(-width // STRIDE)]
        for at in (CORE, DRAWING, PAPER):
            maps[at] = 1 / (1 + np.exp(-maps[at]))
        return maps, way[0]


def _is_upright(way: np.ndarray) -> bool:
    """Whether the network is sure, from its log-odds (4,) of the quarter turns."""
    odds = np.exp(way - way.max())
    return bool(odds[0] / odds.sum() > _UPRIGHT)


def _written(shapes: list[LineShape]) -> float:
    """How much writing there is, in lengths of a line over its height, whatever it fell into."""
    return sum(line.length / line.height for line in writing(shapes))


def _fall(shapes: list[LineShape]) -> float:
    """By how many degrees the lines fall to the right; 0 without lines long enough to show it."""
    long = (line for line in writing(shapes) if line.length > _LONG * line.height)
    ends = [line.centre[-1] - line.centre[0] for line in long]
    return float(np.degrees(np.median([np.arctan2(y, x) for x, y in ends]))) if ends else 0.0


def wider(
    frame: Frame, shapes: list[LineShape], size: tuple[int, ...], least: float
) -> Frame | None:
    """The frame with more of the photo (``size``: width, height) at the side where it cuts through
    more than the share ``least`` of the lines of writing, which was taken for the sheet's edge;
    None where it does not."""
    lines = [np.array(polygon(line)) for line in writing(shapes)]
    if len(lines) < _SEVERAL:
        return None
    low, high = np.zeros(2), np.array([frame.width, frame.height], float)
    near, more = _EDGE * frame.width, _MORE * frame.width
    if sum(line[:, 0].min() < near for line in lines) > least * len(lines):
        low[0] = -more
    if sum(line[:, 0].max() > frame.width - near for line in lines) > least * len(lines):
        high[0] += more
    middle = frame.carry(np.array([[low[0], frame.height / 2], [high[0], frame.height / 2]]))
    inside = ((middle >= 0) & (middle < size)).all()
    return frame.part(low, high, 1.0) if high[0] - low[0] > frame.width and inside else None


def _is_covered(shapes: list[LineShape], frame: Frame) -> bool:
    """Whether all the page seems to be one drawing: so writing far too large looks, on a grid."""
    drawings = [shape.length * shape.height for shape in shapes if shape.role == "aside"]
    return not shapes or max(drawings, default=0.0) > _COVER * frame.width * frame.height


def at_writing_scale(frame: Frame, shapes: list[LineShape], flat: np.ndarray) -> Frame | None:
    """The frame in the scale the network reads best, of a page of small writing the part that holds
    shapes; None where that is what was seen already.  ``flat``: the evened page (height, width).
    """
    low, high = np.zeros(2), np.array([frame.width, frame.height], float)
    if _is_covered(shapes, frame):
        return frame.part(low, high, 0.5)
    tall = glyph_height(flat, shapes)
    if tall is None or _SMALL < tall < _LARGE:
        return None
    zoom = _BEST / tall
    if zoom > 1:
        edges = np.concatenate([np.array(polygon(shape)) for shape in shapes])
        margin = 4 * tall
        low = np.maximum(edges.min(axis=0) - margin, low)
        high = np.minimum(edges.max(axis=0) + margin, high)
        zoom = min(zoom, LONG_SIDE / float(max(high - low)))
    if 1 / _WORTH_IT < zoom < _WORTH_IT:
        return None
    return frame.part(low, high, zoom)


def glyph_height(flat: np.ndarray, shapes: list[LineShape]) -> float | None:
    """Height in pixels of a usual letter or digit in the lines found; None without lines."""
    lines = writing(shapes)
    if not lines:
        return None
    inside = np.zeros(flat.shape, np.uint8)
    cv2.fillPoly(inside, [np.round(polygon(line)).astype(np.int32) for line in lines], 1)
    ink = (flat < _INK).astype(np.uint8) & inside
    _, _, stats, _ = cv2.connectedComponentsWithStats(ink)
    width, height = stats[1:, cv2.CC_STAT_WIDTH], stats[1:, cv2.CC_STAT_HEIGHT]
    # No dots, bars, signs, nor what pale strokes fall to pieces into.
    least = max(4.0, _PIECE * float(np.median([line.height for line in lines])))
    letters = height[(height > least) & (width < 1.6 * height)]
    return float(np.median(letters)) if len(letters) else None
