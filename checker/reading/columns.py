"""Lines side by side: two columns of one sheet, or two sheets that touch or overlap."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np

_LEAST = 3  # lines of a column
_BESIDE = 0.4  # share of the shorter column's height over which both stand side by side
_ROW = 0.7  # share of right-hand pieces level with one on the left that makes them rows
_MORE = 50  # pixels above and below in which the edge of a sheet goes on
_RULE = 11  # pixels; darker stripes narrower than this are printed or drawn, not a gap
_LEAST_SEEN = 40  # pixels, short side of a picture in which an edge shows
_BESIDE_GAP = 25  # pixels of the lines above and below a gap that are looked at with it
_ROWS = 300  # of a picture that are compared: enough for its quartiles
_STEP = 0.08  # logarithm of brightness across the edge of a sheet; inside one: at most 0.04
_STEP_BELOW = 0.15  # the same from line to line; on single sheets, shadows included: at most 0.11


def gutter(boxes: np.ndarray, least: int = _LEAST) -> tuple[float, float] | None:
    """The widest empty strip (left, right) between two columns of lines; None for one column.

    ``boxes`` (n, 4) are left, top, right, bottom of the lines on the upright page.  At most one
    line in ten (a title) may run across.  ``least``: lines that make a column.
    """
    best: tuple[float, float] | None = None
    for left in np.unique(boxes[:, 2]):
        before = boxes[:, 2] <= left
        starts = boxes[~before & (boxes[:, 0] > left), 0]
        if before.sum() < least or len(starts) < least:
            continue
        right = float(starts.min())
        after = boxes[:, 0] >= right
        if (~before & ~after).sum() > len(boxes) // 10 or not _beside(boxes, before, after):
            continue
        if best is None or right - left > best[1] - best[0]:
            best = float(left), right
    return best


def _beside(boxes: np.ndarray, before: np.ndarray, after: np.ndarray) -> bool:
    tops = [boxes[side, 1].min() for side in (before, after)]
    bottoms = [boxes[side, 3].max() for side in (before, after)]
    shorter = min(bottom - top for top, bottom in zip(tops, bottoms, strict=True))
    return bool(min(bottoms) - max(tops) > _BESIDE * shorter)


def column_gap(boxes: np.ndarray) -> tuple[float, float] | None:
    """The gutter, unless what is right of it goes on from pieces on the left, row by row."""
    strip = gutter(boxes)
    if strip is None:
        return None
    middle = (boxes[:, 1] + boxes[:, 3]) / 2
    right = boxes[:, 0] >= strip[1]
    near = np.abs(middle[right][:, None] - middle[~right][None]).min(axis=1)
    height = (boxes[right, 3] - boxes[right, 1]) / 4
    return strip if float((near < height).mean()) < _ROW else None


def reading_order(boxes: np.ndarray) -> list[int]:
    """The lines from top to bottom, one column after the other."""
    middle = (boxes[:, 1] + boxes[:, 3]) / 2
    strip = column_gap(boxes)
    right = boxes[:, 0] >= strip[1] if strip else np.zeros(len(boxes), bool)
    return sorted(range(len(boxes)), key=lambda k: (right[k], middle[k]))


def is_edge_between(grey: np.ndarray, boxes: np.ndarray, strip: Sequence[float]) -> bool:
    """Whether a sheet ends between two columns: a straight step in brightness or a dark gap.

    ``grey`` is the upright page, not evened; where the columns stand side by side its brightness
    along the likeliest direction is compared across the ``strip``.
    """
    before, after = boxes[:, 2] <= strip[0], boxes[:, 0] >= strip[1]
    top = int(max(boxes[before, 1].min(), boxes[after, 1].min(), _MORE) - _MORE)
    bottom = int(min(boxes[before, 3].max(), boxes[after, 3].max()) + _MORE)
    left, right = max(int(strip[0]) - 60, 0), int(strip[1]) + 60
    part = grey[top:bottom, left:right]
    return _step_across(part) > _STEP


def is_edge_below(grey: np.ndarray, boxes: np.ndarray) -> bool:
    """Whether a sheet ends between two lines one above the other (arguments as above)."""
    order = boxes[np.argsort(boxes[:, 1])]
    left, right = max(int(boxes[:, 0].min()), 0), int(boxes[:, 2].max())
    for k in range(1, len(order)):
        above, below = order[:k, 3].max(), order[k:, 1].min()
        part = grey[max(int(above) - _BESIDE_GAP, 0) : int(below) + _BESIDE_GAP, left:right]
        if below > above - 8 and _step_across(np.ascontiguousarray(part.T)) > _STEP_BELOW:
            return True
    return False


def _step_across(part: np.ndarray) -> float:
    """The sharpest upright step of a grey picture that runs from its top to its bottom, in
    logarithms of brightness; 0 where there is too little to see."""
    if min(part.shape) < _LEAST_SEEN:
        return 0.0
    closed = cv2.morphologyEx(part, cv2.MORPH_CLOSE, np.ones((1, _RULE), np.uint8))
    every = max(len(part) // _ROWS, 1)
    logs = np.log(np.ascontiguousarray(closed[::every]).astype(np.float32) + 8)
    height, width = logs.shape
    steps = []
    for slant in np.linspace(-0.12, 0.12, 25) * every:
        shear = np.array([[1, slant, -slant * height / 2], [0, 1, 0]], np.float64)
        level = cv2.warpAffine(logs, shear, (width, height), borderMode=cv2.BORDER_REPLICATE)
        steps.append(min(map(_steepest, np.quantile(level, (0.25, 0.75), axis=0))))
    return max(steps)


def _steepest(profile: np.ndarray, reach: int = 6) -> float:
    return float(np.abs(profile[reach:] - profile[:-reach]).max(initial=0.0))
