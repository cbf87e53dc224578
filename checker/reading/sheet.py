"""Finds the sheet of paper on the photo, or says that the whole photo is the page.

A wrong crop loses lines of work, a missed sheet only leaves some of the desk in the picture: so a
sheet counts as found only when all four of its sides are seen or lie on the edge of the photo.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import cv2
import numpy as np

from checker.reading.smaller import smaller

_SIDE = 320  # long side of the small picture on which the sheet is looked for
_LEAST_SIDE = 24  # short side of it, below which it is a strip and no photo of a sheet
_LEAST_AREA, _MOST_AREA = 0.12, 0.985  # of the photo
_SNUG = 0.94  # overlap of a region with its quadrilateral
_MOST_LEAN = 25.0  # degrees a corner may differ from a right angle; simulated sheets: at most 24


@dataclass(frozen=True)
class Sheet:
    """``corners`` (4, 2) in photo pixels, clockwise from top left; ``found`` when it is a sheet
    seen on the photo, not simply the whole photo; ``several`` when there are two of
    about the same size."""

    corners: np.ndarray
    found: bool
    several: bool = False


def find_sheet(colour: np.ndarray) -> Sheet:
    """The sheet on an RGB photo; the whole photo when none stands out beyond doubt."""
    height, width = colour.shape[:2]
    whole = whole_photo(colour)
    scale = _SIDE / max(height, width)
    if scale >= 1 or min(height, width) * scale < _LEAST_SIDE:
        return whole
    small = smaller(colour, scale)
    view = _View.of(small)
    quads = []
    for region in _regions(view):
        quad = _quadrilateral(region)
        if quad is not None and _stands_out(quad, view):
            quads.append((np.count_nonzero(_filled(quad, region.shape)), quad))
    if not quads:
        return whole
    area, best = max(quads, key=lambda one: one[0])
    mask = _filled(best, view.light.shape)
    for other_area, other in quads:
        shared = np.count_nonzero(_filled(other, mask.shape) & mask)
        if other_area > 0.4 * area and shared < 0.1 * other_area:
            return replace(whole, several=True)
    ratio = np.array([width / small.shape[1], height / small.shape[0]])
    return Sheet(best * ratio, True)


def whole_photo(colour: np.ndarray) -> Sheet:
    """The whole photo, where no sheet stands out."""
    height, width = colour.shape[:2]
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float64)
    return Sheet(corners, False)


@dataclass(frozen=True)
class _View:
    """The small photo without its ink: ``light`` (h, w) log brightness, ``tint`` (h, w, 2) the
    logarithms of red and blue over green, which a shadow hardly changes."""

    light: np.ndarray
    tint: np.ndarray
    rough: np.ndarray  # (h, w) how much the bare surface varies from place to place

    @classmethod
    def of(cls, small: np.ndarray) -> _View:
        brush = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (9, 9))
        bare = cv2.morphologyEx(small, cv2.MORPH_CLOSE, brush)
        bare = cv2.medianBlur(bare, 5)
        logs = np.log(bare.astype(np.float32) + 8.0)
        tint = np.stack([logs[..., 0] - logs[..., 1], logs[..., 2] - logs[..., 1]], axis=-1)
        light = logs @ np.array([0.3, 0.6, 0.1], np.float32)
        fine = light - cv2.GaussianBlur(light, (0, 0), 4)
        rough = np.sqrt(cv2.GaussianBlur(fine * fine, (0, 0), 4))
        return cls(light, cv2.GaussianBlur(tint, (0, 0), 1.0), rough)


def _regions(view: _View) -> Iterator[np.ndarray]:
    """Candidate regions (uint8 masks): what looks like the middle of the photo, more or less."""
    height, width = view.light.shape
    middle = (slice(height // 4, -(height // 4)), slice(width // 4, -(width // 4)))
    light = np.percentile(view.light[middle], 75)
    bright = np.abs(view.light[middle] - light) < 0.15
    tint = np.median(view.tint[middle][bright], axis=0)
    away = np.linalg.norm(view.tint - tint, axis=2)
    for tint_weight, rough_weight in ((1.0, 0.0), (4.0, 0.0), (4.0, 4.0)):
        darker = np.maximum(light - view.light, 0.3 * (view.light - light))
        distance = darker + tint_weight * away + rough_weight * view.rough
        for reach in (0.12, 0.2, 0.3, 0.42, 0.56, 0.75, 1.0):
            yield from _largest(distance < reach)
    for reach in (0.04, 0.07, 0.1, 0.15, 0.2):
        yield from _largest(away < reach)


def _largest(mask: np.ndarray) -> Iterator[np.ndarray]:
    """The two largest connected parts of a mask, holes filled, whose size can be a sheet's."""
    solid = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    contours, _ = cv2.findContours(solid, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    for contour in sorted(contours, key=cv2.contourArea, reverse=True)[:2]:
        if _LEAST_AREA < cv2.contourArea(contour) / mask.size < _MOST_AREA:
            region = np.zeros(mask.shape, np.uint8)
            cv2.drawContours(region, [contour], -1, 1, cv2.FILLED)
            yield region


def _quadrilateral(region: np.ndarray) -> np.ndarray | None:
    """The four-sided figure (4, 2) a region fills snugly; sides may lie on the photo's edge."""
    height, width = region.shape
    contours, _ = cv2.findContours(region, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    hull = cv2.convexHull(contours[0])
    rough = cv2.approxPolyDP(hull, 0.012 * (height + width), True)[:, 0].astype(np.float64)
    edge = {
        "top": ((0.0, 0.0), (width, 0.0)),
        "right": ((width, 0.0), (width, height)),
        "bottom": ((width, height), (0.0, height)),
        "left": ((0.0, height), (0.0, 0.0)),
    }
    sides = {name: np.array(ends, dtype=np.float64) for name, ends in edge.items()}
    longest = dict.fromkeys(edge, 0.0)
    middle = rough.mean(axis=0)
    for start, end in zip(rough, np.roll(rough, -1, axis=0), strict=True):
        if _on_edge(start, end, width, height):
            continue
        along = end - start
        out = (start + end) / 2 - middle
        if abs(along[0]) >= abs(along[1]):
            name = "top" if out[1] < 0 else "bottom"
        else:
            name = "left" if out[0] < 0 else "right"
        length = float(np.linalg.norm(along))
        if length > max(longest[name], 0.2 * min(height, width)):
            longest[name], sides[name] = length, _fitted(contours[0][:, 0], start, end)
    if not any(longest.values()):
        return None
    order = ("left", "top", "right", "bottom")
    corners = [_meeting(sides[order[k]], sides[order[(k + 1) % 4]]) for k in range(4)]
    if any(corner is None for corner in corners):
        return None
    quad = np.array(corners)
    filled = _filled(quad, region.shape)
    both = np.count_nonzero(filled & region)
    either = np.count_nonzero(filled | region)
    plausible = both > _SNUG * either and _is_convex(quad) and _lean(quad) < _MOST_LEAN
    return quad if plausible else None


def _on_edge(start: np.ndarray, end: np.ndarray, width: int, height: int) -> bool:
    near = 4.0
    return bool(
        max(start[0], end[0]) < near
        or max(start[1], end[1]) < near
        or min(start[0], end[0]) > width - 1 - near
        or min(start[1], end[1]) > height - 1 - near
    )


def _fitted(contour: np.ndarray, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """A straight line through the contour near a rough side, as two points."""
    along = (end - start) / np.linalg.norm(end - start)
    points = contour - start
    far = np.abs(points @ np.array([-along[1], along[0]]))
    at = points @ along
    near = contour[(far < 5) & (at > 0) & (at < np.linalg.norm(end - start))]
    if len(near) < 10:
        return np.array([start, end])
    vx, vy, x, y = cv2.fitLine(near.astype(np.float32), cv2.DIST_HUBER, 0, 0.01, 0.01).ravel()
    return np.array([[x, y], [x + vx, y + vy]], dtype=np.float64)


def _meeting(one: np.ndarray, two: np.ndarray) -> np.ndarray | None:
    """Where two straight lines, each through two points, meet."""
    a, b = one[1] - one[0], two[1] - two[0]
    cross = a[0] * b[1] - a[1] * b[0]
    if abs(cross) < 0.3 * np.linalg.norm(a) * np.linalg.norm(b):
        return None
    gap = two[0] - one[0]
    return one[0] + a * (gap[0] * b[1] - gap[1] * b[0]) / cross


def _filled(quad: np.ndarray, shape: tuple[int, ...]) -> np.ndarray:
    mask = np.zeros(shape, np.uint8)
    cv2.fillConvexPoly(mask, np.round(quad).astype(np.int32), 1)
    return mask


def _is_convex(quad: np.ndarray) -> bool:
    return bool(cv2.isContourConvex(quad.astype(np.float32)))


def _lean(quad: np.ndarray) -> float:
    """By how many degrees the corner least like a right angle differs from one: two sheets that
    overlap, or a sheet and a bright patch of desk, make a figure that no camera sees."""
    side = np.roll(quad, -1, axis=0) - quad
    side /= np.linalg.norm(side, axis=1, keepdims=True)
    cosines = (side * np.roll(side, -1, axis=0)).sum(axis=1)
    return float(np.degrees(np.arcsin(np.abs(cosines).max())))


def _stands_out(quad: np.ndarray, view: _View) -> bool:
    """Whether the paper ends at every side that is not on the photo's edge.

    A step in brightness alone could be the edge of a shadow, so at most one side may rest on it.
    """
    height, width = view.light.shape
    sure = doubtful = 0
    centre = quad.mean(axis=0)
    for start, end in zip(quad, np.roll(quad, -1, axis=0), strict=True):
        if _on_edge(start, end, width, height):
            continue
        share = np.linspace(0.06, 0.94, 40)[:, None]
        points = start + share * (end - start)
        normal = np.array([-(end - start)[1], (end - start)[0]])
        normal /= np.linalg.norm(normal)
        normal *= np.sign((points.mean(axis=0) - centre) @ normal)
        inside, outside = points - 6 * normal, points + 6 * normal
        visible = _within(inside, width, height) & _within(outside, width, height)
        if visible.sum() < 8:
            continue
        a, b = inside[visible].astype(int).T, outside[visible].astype(int).T
        darker = view.light[a[1], a[0]] - view.light[b[1], b[0]]
        tint = np.linalg.norm(view.tint[a[1], a[0]] - view.tint[b[1], b[0]], axis=1)
        rougher = view.rough[b[1], b[0]] - view.rough[a[1], a[0]]
        other = (tint > 0.07) | (darker > 0.9) | (rougher > 0.04)
        if other.mean() > 0.8:
            sure += 1
        elif (other | (darker > 0.1)).mean() > 0.85:
            doubtful += 1
        else:
            return False
    return sure >= 1 and doubtful <= 1


def _within(points: np.ndarray, width: int, height: int) -> np.ndarray:
    x, y = points.T
    return (x >= 0) & (y >= 0) & (x < width) & (y < height)
