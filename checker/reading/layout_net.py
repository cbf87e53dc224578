"""The trained page network: lines of writing, drawings and which way is up.

``models/layout.onnx`` (made by ``checker.training``) takes the levelled sheet, long side 1280, and
gives maps at a quarter of that; here they become shapes in pixels of the photo.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from pathlib import Path

import cv2
import numpy as np
import onnxruntime

from checker.errors import ReaderError
from checker.reading.frame import Frame
from checker.reading.layout import Layout, level
from checker.reading.shape import LineShape, carried, polygon

MODEL = Path(__file__).parent / "models" / "layout.onnx"
LONG_SIDE, STRIDE, SPAN, MULTIPLE = 1280, 4, 16.0, 32
CORE, UP, DOWN, DRAWING, PAPER = range(5)
_UPRIGHT = 0.7  # upright training pages: at least 0.76; pages on their side: at most 0.54
_LEAST_CELLS = 5  # of a line's middle band
_LEAST_DRAWING = 150  # cells
_LEAN = 0.05  # most a line may lean or bend away from the page's own slope, unless it is
_SMALL, _BEST, _LARGE = 9.0, 19.0, 40.0  # height of a digit in pixels of the network's input
_WORTH_IT = 1.2  # enlargement from which on a second look pays
_INK = 160  # an evened page is darker than this where there is ink
_LONG = 25  # times as long as its band is thick: then it shows a curl of the paper


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

    def find(self, colour: np.ndarray, evened: np.ndarray, corners: np.ndarray) -> Layout:
        """See ``Finder``; the desk around the sheet would only cost resolution."""
        found = Frame.of(corners, LONG_SIDE)
        frame = level(evened, found)
        if frame.quarters % 2 and self._is_upright(found.flatten(colour)):
            frame = level(evened, found, sideways=False)
        maps, way = self._run(frame.flatten(colour))
        if way[2] > way[0]:
            frame = frame.turned(2)
            maps, _ = self._run(frame.flatten(colour))
        shapes = decode(maps)
        closer = at_writing_scale(frame, shapes, frame.flatten(evened))
        if closer is not None:
            maps, _ = self._run(closer.flatten(colour))
            frame, shapes = closer, decode(maps)
        return Layout([carried(shape, frame.carry) for shape in shapes], frame.quarters)

    def _is_upright(self, small: np.ndarray) -> bool:
        """Whether the network is sure; few or joined letters mislead the classical measure."""
        _, way = self._run(small)
        odds = np.exp(way - way.max())
        return bool(odds[0] / odds.sum() > _UPRIGHT)

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


def at_writing_scale(frame: Frame, shapes: list[LineShape], flat: np.ndarray) -> Frame | None:
    """The part of the frame that holds shapes, in the scale the network reads best; None where
    that is what was seen already.  ``flat``: the evened page (height, width) of the frame."""
    tall = glyph_height(flat, shapes)
    if tall is None or _SMALL < tall < _LARGE:
        return None
    edges = np.concatenate([np.array(polygon(shape)) for shape in shapes])
    margin = 4 * tall
    low = np.maximum(edges.min(axis=0) - margin, 0)
    high = np.minimum(edges.max(axis=0) + margin, [frame.width, frame.height])
    zoom = min(_BEST / tall, LONG_SIDE / float(max(high - low)))
    if 1 / _WORTH_IT < zoom < _WORTH_IT:
        return None
    back = np.array([[1 / zoom, 0, low[0]], [0, 1 / zoom, low[1]], [0, 0, 1]])
    width, height = (max(1, round(float(side) * zoom)) for side in high - low)
    return replace(frame, to_photo=frame.to_photo @ back, width=width, height=height)


def glyph_height(flat: np.ndarray, shapes: list[LineShape]) -> float | None:
    """Height in pixels of a usual letter or digit in the lines found; None without lines."""
    lines = [np.array(polygon(shape)) for shape in shapes if shape.role == "working"]
    inside = np.zeros(flat.shape, np.uint8)
    cv2.fillPoly(inside, [np.round(line).astype(np.int32) for line in lines], 1)
    ink = (flat < _INK).astype(np.uint8) & inside
    _, _, stats, _ = cv2.connectedComponentsWithStats(ink)
    width, height = stats[1:, cv2.CC_STAT_WIDTH], stats[1:, cv2.CC_STAT_HEIGHT]
    letters = height[(height > 4) & (width < 1.6 * height)]  # no dots, bars, signs
    return float(np.median(letters)) if len(letters) else None


def decode(maps: np.ndarray) -> list[LineShape]:
    """Maps (5, h, w), with probabilities for core and drawing, to shapes in pixels of the input."""
    band = (maps[CORE] > 0.5).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(band, connectivity=8)
    bands = []
    for k in range(1, count):
        left, top, width, height, area = stats[k]
        if area >= _LEAST_CELLS:
            y, x = np.nonzero(labels[top : top + height, left : left + width] == k)
            bands.append((x + left, y + top))
    slope = _common_slope(bands)
    found = [_line(maps, x, y, slope) for x, y in bands]
    lines = [line for line in _joined(found) if line.height > 6]
    lines = _uncovered(_absorbed(lines))
    lines += _drawings(maps[DRAWING])
    return sorted(lines, key=lambda shape: float(shape.centre[:, 1].mean()))


def _common_slope(bands: list[tuple[np.ndarray, np.ndarray]]) -> float:
    """The slope most long lines of the page share."""
    slopes = []
    for x, y in bands:
        width = np.ptp(x)
        if width > 60 and width**2 > 10 * len(x):  # much longer than thick
            slopes.append(float(np.polyfit(x, y, 1)[0]))
    return float(np.median(slopes)) if slopes else 0.0


def _line(maps: np.ndarray, x: np.ndarray, y: np.ndarray, slope: float) -> LineShape:
    """A line from the cells of its band: a smooth centre, and one reach up and down.

    As in training, cell k of a map stands for pixel k * STRIDE of the input.  A band that leans
    far from the page's ``slope`` has strayed to the top or the bottom of a fraction.
    """
    weight = maps[CORE][y, x]
    up, down = (float(np.percentile(maps[at][y, x], 60)) * SPAN for at in (UP, DOWN))
    left, right = float(x.min()), float(x.max())
    thick = len(x) / max(right - left, 1.0)
    middle, reach = (left + right) / 2, max((right - left) / 2, 1.0)
    length = (right - left) / max(thick, 1.0)
    degree = 0 if length < 3 else 1 if length < 12 else 3
    level = y - slope * (x - middle)
    curve = np.polyfit((x - middle) / reach, level, degree, w=weight)
    xs = np.linspace(left, right, max(2, min(25, int(length) + 2)))
    bend = np.polyval(curve, (xs - middle) / reach)
    if length < _LONG and np.ptp(bend) > _LEAN * max(right - left, 1.0):
        bend = np.full(len(xs), np.median(level))
    centre = np.stack([xs, bend + slope * (xs - middle)], axis=1) * STRIDE
    ends = np.full(len(xs), 1.0)
    return LineShape(centre, up * ends, down * ends, float(weight.mean()))


def _joined(lines: list[LineShape]) -> list[LineShape]:
    """Lines whose band was broken, end to start, are one line."""
    lines = sorted(lines, key=lambda line: float(line.centre[0, 0]))
    at = 0
    while at < len(lines):
        after = next((k for k in range(at + 1, len(lines)) if _follows(lines[at], lines[k])), None)
        if after is None:
            at += 1
            continue
        one, two = lines[at], lines.pop(after)
        centre = np.concatenate([one.centre, two.centre])
        ends = np.ones(len(centre))
        up, down = max(one.up[0], two.up[0]), max(one.down[0], two.down[0])
        probability = min(one.probability, two.probability)
        lines[at] = LineShape(centre, up * ends, down * ends, probability)
    return lines


def _follows(one: LineShape, two: LineShape) -> bool:
    small, large = sorted((one.height, two.height))
    gap = two.centre[0, 0] - one.centre[-1, 0]
    step = abs(two.centre[0, 1] - one.centre[-1, 1])
    return bool(-0.2 * small < gap < 1.2 * large and step < 0.2 * large and large < 2.5 * small)


def _absorbed(lines: list[LineShape]) -> list[LineShape]:
    """Pieces of a fraction found apart at either end of a line make the line longer."""
    lines = sorted(lines, key=lambda line: -line.length * line.height)
    at = 0
    while at < len(lines):
        one = lines[at]
        part = next((k for k in range(at + 1, len(lines)) if _is_part(one, lines[k])), None)
        if part is None:
            at += 1
            continue
        two = lines.pop(part)
        ends = [two.centre[0], two.centre[-1]]
        before = [end for end in ends if end[0] < one.centre[0, 0]][:1]
        after = [end for end in ends if end[0] > one.centre[-1, 0]][-1:]
        level = [np.array([[end[0], one.centre[0, 1]]]) for end in before]
        right = [np.array([[end[0], one.centre[-1, 1]]]) for end in after]
        centre = np.concatenate([*level, one.centre, *right])
        reach = np.ones(len(centre))
        lines[at] = LineShape(centre, one.up[0] * reach, one.down[0] * reach, one.probability)
    return lines


def _is_part(line: LineShape, piece: LineShape) -> bool:
    """Whether the piece stands at the end of the line and within its height."""
    right = piece.centre[0, 0] > line.centre[:, 0].mean()
    end = line.centre[-1 if right else 0]
    near, far = (
        (piece.centre[0], piece.centre[-1]) if right else (piece.centre[-1], piece.centre[0])
    )
    gap = (near[0] - end[0]) if right else (end[0] - near[0])
    beyond = (far[0] - end[0]) if right else (end[0] - far[0])
    if beyond <= 0 or not -3 * line.height < gap < 0.7 * line.height:
        return False
    slack = 0.25 * line.height
    top, bottom = end[1] - line.up[0] - slack, end[1] + line.down[0] + slack
    y = float(piece.centre[:, 1].mean())
    return bool(
        top <= y - piece.up[0] and y + piece.down[0] <= bottom and piece.height < 0.75 * line.height
    )


def _uncovered(lines: list[LineShape]) -> list[LineShape]:
    """Without the parts of a line (a numerator, a script) that lie in the strip of a larger one."""
    kept: list[tuple[np.ndarray, LineShape]] = []
    for line in sorted(lines, key=lambda line: -line.length * line.height):
        strip = np.array(polygon(line), np.float32)
        area = cv2.contourArea(strip)
        if all(cv2.intersectConvexConvex(strip, other)[0] < 0.6 * area for other, _ in kept):
            kept.append((strip, line))
    return [line for _, line in kept]


def _drawings(drawing: np.ndarray) -> list[LineShape]:
    count, _, stats, _ = cv2.connectedComponentsWithStats((drawing > 0.5).astype(np.uint8))
    found = []
    for left, top, width, height, area in stats[1:count]:
        if area >= _LEAST_DRAWING:
            y = (top + height / 2) * STRIDE
            centre = np.array([[left * STRIDE, y], [(left + width) * STRIDE, y]], dtype=np.float64)
            reach = np.full(2, height / 2 * STRIDE, dtype=np.float64)
            found.append(LineShape(centre, reach, reach, 0.9, "aside"))
    return found
