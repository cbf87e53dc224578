"""From the page network's maps to lines of writing and drawings."""

from __future__ import annotations

import cv2
import numpy as np

from checker.reading.shape import LineShape, polygon
from checker.reading.whole_lines import put_together

STRIDE, SPAN = 4, 16.0
CORE, UP, DOWN, DRAWING, PAPER = range(5)
_CERTAIN, _LIKELY = 0.5, 0.25  # probabilities of being in a line, to see it and to go on with it
_REACH = 12  # cells, how far it is gone on with
_LEAST_CELLS = 5  # of a line's middle band
_LEAST_DRAWING = 150  # cells
_LEAN = 0.05  # most a line may lean or bend away from the page's own slope, unless it is
_DARKEST = 1.5  # percent of a strip that are ink for certain
_PALE = 0.4  # share of the usual darkness; what shows through: 0.2; real lines: at least 0.7
_LONG = 25  # times as long as its band is thick: then it shows a curl of the paper


def decode(maps: np.ndarray, flat: np.ndarray) -> list[LineShape]:
    """Maps (5, h, w), with probabilities for core and drawing, to shapes in pixels of the input.

    ``flat`` is the evened page (height, width) that the network saw.
    """
    band = (maps[CORE] > _CERTAIN).astype(np.uint8)
    count, labels = cv2.connectedComponents(band, connectivity=8)
    labels = _along_rows(labels, maps[CORE] > _LIKELY)
    y, x = np.nonzero(labels)
    order = np.argsort(labels[y, x], kind="stable")
    ends = np.cumsum(np.bincount(labels[y, x], minlength=count))[:-1]
    parts = zip(np.split(x[order], ends)[1:], np.split(y[order], ends)[1:], strict=True)
    bands = [(x, y) for x, y in parts if len(x) >= _LEAST_CELLS]
    slope = _common_slope(bands)
    found = _without_faint([_line(maps, x, y, slope) for x, y in bands], flat)
    shapes = put_together(found, _drawings(maps[DRAWING]), flat)
    return sorted(shapes, key=lambda shape: float(shape.centre[:, 1].mean()))


def _along_rows(labels: np.ndarray, room: np.ndarray) -> np.ndarray:
    """Labels (h, w) of bands, each gone on with to the left and the right where there is ``room``:
    small or faint writing is less certain.  Bands that meet are one."""
    for _ in range(_REACH):
        for step in (1, -1):
            beside = np.roll(labels, step, axis=1)
            beside[:, 0 if step > 0 else -1] = 0
            labels = np.where((labels == 0) & room, beside, labels)
    left, right = labels[:, :-1], labels[:, 1:]
    meet = (left != right) & (left > 0) & (right > 0)
    same = np.arange(labels.max() + 1)
    for one, two in zip(left[meet], right[meet], strict=True):
        same[same == same[two]] = same[one]
    return np.asarray(same[labels])


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


def _without_faint(lines: list[LineShape], flat: np.ndarray) -> list[LineShape]:
    """Without what is far paler than the rest: writing on the back of the sheet shows through."""
    if not lines:
        return []
    depths = np.array([_depth(line, flat) for line in lines])
    pale = depths < _PALE * np.percentile(depths, 75)
    return [line for line, faint in zip(lines, pale, strict=True) if not faint]


def _depth(line: LineShape, flat: np.ndarray) -> float:
    """How much darker than paper the ink of a line is, 0 to 255."""
    corners = np.round(polygon(line)).astype(np.int32)
    low = np.clip(corners.min(axis=0), 0, None)
    part = flat[low[1] : corners[:, 1].max() + 1, low[0] : corners[:, 0].max() + 1]
    inside = np.zeros(part.shape, np.uint8)
    cv2.fillConvexPoly(inside, corners - low, 1)
    seen = part[inside > 0]
    return 255.0 - float(np.percentile(seen, _DARKEST)) if seen.size else 0.0


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
