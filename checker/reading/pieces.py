"""The connected pieces of ink on a page and what each of them looks like."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np

_DARK = 185  # ink is darker than this …
_SURE = 150  # … and somewhere darker than this (evened page, paper 255)


@dataclass(frozen=True)
class Pieces:
    """Boxes (n,) in pixels of the page; ``size`` is the height of a typical glyph."""

    left: np.ndarray
    top: np.ndarray
    right: np.ndarray
    bottom: np.ndarray
    area: np.ndarray
    size: float
    stroke: float  # width of a pen stroke

    @property
    def width(self) -> np.ndarray:
        return self.right - self.left

    @property
    def height(self) -> np.ndarray:
        return self.bottom - self.top

    @property
    def cx(self) -> np.ndarray:
        return (self.left + self.right) / 2

    @property
    def cy(self) -> np.ndarray:
        return (self.top + self.bottom) / 2

    def chosen(self, some: np.ndarray) -> Pieces:
        """Only the pieces of a mask (n,)."""
        return replace(
            self,
            left=self.left[some],
            top=self.top[some],
            right=self.right[some],
            bottom=self.bottom[some],
            area=self.area[some],
        )

    def boxes(self, some: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
        """Left, top, right and bottom of some pieces."""
        return self.left[some], self.top[some], self.right[some], self.bottom[some]

    @property
    def is_mark(self) -> np.ndarray:
        """Points, primes, specks: too small to show where a line runs."""
        return np.maximum(self.width, self.height) < 0.36 * self.size

    @property
    def is_bar(self) -> np.ndarray:
        """Minus signs, fraction bars, a stroke of an equals sign."""
        thin = np.maximum(np.minimum(0.3 * self.width, 0.45 * self.size), 0.07 * self.width)
        flat = self.height < np.maximum(thin, 1.6 * self.stroke)
        return flat & (self.width > 0.36 * self.size)


def find_pieces(cleaned: np.ndarray) -> Pieces | None:
    """Pieces of ink on an evened page without rules; None when there is nothing like writing."""
    dark = (cleaned < _DARK).astype(np.uint8)
    if np.count_nonzero(dark) > 0.5 * dark.size:
        return None
    count, labels, stats, _ = cv2.connectedComponentsWithStats(dark, connectivity=8)
    sure = np.zeros(count, bool)
    sure[np.unique(labels[cleaned < _SURE])] = True
    sure[0] = False
    depth = cv2.distanceTransform(dark, cv2.DIST_L2, 3)
    stroke = _stroke(depth)
    written = sure & (stats[:, cv2.CC_STAT_AREA] >= 3) & ~_at_border(stats, dark.shape)
    written &= ~_is_blob(stats, labels, depth, stroke)
    if written.sum() < 2:
        return None
    size = _glyph_size(stats[written, 2], stats[written, 3], stroke)
    if size is None:
        return None
    boxes = _boxes(dark, labels, stats, written, size, stroke)
    left, top, right, bottom, area = _join_parts(boxes, size).T
    return Pieces(left, top, right, bottom, area, size, stroke)


def _boxes(
    dark: np.ndarray,
    labels: np.ndarray,
    stats: np.ndarray,
    written: np.ndarray,
    size: float,
    stroke: float,
) -> np.ndarray:
    """Left, top, right, bottom and area of all written pieces, (n, 5).

    A numerator often touches its bar: a piece with one level stroke nearly as long as itself is
    taken apart into that bar and the rest.
    """
    brush = np.ones((1, max(3, round(1.1 * size))), np.uint8)
    level = cv2.morphologyEx(dark, cv2.MORPH_OPEN, brush)
    level = cv2.dilate(level, np.ones((3, 7), np.uint8)) & dark  # a slanting bar comes in steps
    _, names, bars, _ = cv2.connectedComponentsWithStats(level, connectivity=8)
    owner = np.zeros(len(bars), int)
    owner[names[level > 0]] = labels[level > 0]
    share = bars[:, 2] / np.maximum(stats[owner, 2], 1)
    share[0] = 0
    count = np.bincount(owner[share > 0.4], minlength=len(stats))
    longest = np.zeros(len(stats))
    np.maximum.at(longest, owner, share)
    width, height, area = stats[:, 2], stats[:, 3], stats[:, 4]
    apart = written & (count == 1) & (longest > 0.75) & (height > 0.5 * size)
    drawn = (height > 2.2 * size) & (area < 3.0 * stroke * (width + height))
    apart &= (height < 5 * size) & ~drawn
    chosen = np.flatnonzero(apart[owner] & (share > 0.4))
    cut = np.isin(names, chosen) & (level > 0)
    rest = (apart[labels] & ~cut).astype(np.uint8)
    pieces = cv2.connectedComponentsWithStats(rest, connectivity=8)[2][1:]
    found = np.concatenate([stats[written & ~apart], bars[chosen], pieces[pieces[:, 4] >= 3]])
    left, top, width, high, area = found.T.astype(np.float32)
    return np.stack([left, top, left + width, top + high, area], axis=1)


def _stroke(depth: np.ndarray) -> float:
    """Median width of the strokes, from the distance of every ink pixel to the paper."""
    ridge = depth[(depth >= cv2.dilate(depth, np.ones((3, 3), np.uint8))) & (depth > 0)]
    return 2.0 * float(np.median(ridge)) if len(ridge) else 1.0


def _at_border(stats: np.ndarray, shape: tuple[int, ...]) -> np.ndarray:
    """What runs off the page is its edge, the desk or a hole, not writing."""
    left, top, width, height = stats[:, :4].T
    return (
        (left <= 1) | (top <= 1) | (left + width >= shape[1] - 1) | (top + height >= shape[0] - 1)
    )


def _is_blob(stats: np.ndarray, labels: np.ndarray, depth: np.ndarray, stroke: float) -> np.ndarray:
    """Punched holes, stains, spots of shadow: filled far deeper than a pen stroke."""
    deepest = np.zeros(len(stats), np.float32)
    deep = depth > 1.6 * stroke
    np.maximum.at(deepest, labels[deep], depth[deep])
    width, height, area = stats[:, 2], stats[:, 3], stats[:, 4]
    return (deepest > 2.2 * stroke) & (area > 0.5 * width * height)


def _glyph_size(width: np.ndarray, height: np.ndarray, stroke: float) -> float | None:
    """Typical height of a full-size glyph: the upper half of what is neither speck nor bar."""
    glyph = (height > 2.5 * stroke) & (height > 6) & (width < 12 * height)
    heights = np.sort(height[glyph])
    if len(heights) < 2:
        return None
    for _ in range(3):
        middle = float(np.median(heights))
        heights = heights[(heights > 0.45 * middle) & (heights < 3 * middle)]
    return float(np.percentile(heights, 60))


def _join_parts(boxes: np.ndarray, size: float) -> np.ndarray:
    """Join boxes that together are one symbol of at most a glyph's height: = ÷ ≈ i : and breaks."""
    order = np.argsort(boxes[:, 0])
    boxes = boxes[order]
    alive = np.ones(len(boxes), bool)
    changed = True
    while changed:
        changed = False
        for i in range(len(boxes)):
            if not alive[i]:
                continue
            left, top, right, bottom, area = boxes[i]
            near = np.flatnonzero(alive & (boxes[:, 0] <= right) & (boxes[:, 2] >= left))
            for k in near[near != i]:
                other = boxes[k]
                shared = min(right, other[2]) - max(left, other[0])
                narrow = min(right - left, other[2] - other[0])
                tall = max(bottom, other[3]) - min(top, other[1])
                wide = max(right, other[2]) - min(left, other[0])
                if shared < 0.6 * narrow or tall > 1.05 * size or wide > 2.2 * size:
                    continue
                if bottom - top > 0.85 * size or other[3] - other[1] > 0.85 * size:
                    continue
                boxes[i] = (
                    min(left, other[0]),
                    min(top, other[1]),
                    max(right, other[2]),
                    max(bottom, other[3]),
                    area + other[4],
                )
                left, top, right, bottom, area = boxes[i]
                alive[k] = False
                changed = True
    return boxes[alive]
