"""Where a line of writing lies on the photo, and the straightened picture of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property

import cv2
import numpy as np

from checker.reading.page import Polygon, Role

MARGIN, ENDS = 0.15, 0.3  # room around a strip, see ``extract``
ToPhoto = Callable[[np.ndarray], np.ndarray]


@dataclass(frozen=True)
class LineShape:
    """A possibly curled line: ``centre`` (n, 2) pixels in reading direction, n >= 2.

    ``up`` and ``down`` (n,) are the distances from the centre to the top and the bottom of the
    ink, perpendicular to the line.  ``probability``: that this is a line of writing.
    """

    centre: np.ndarray
    up: np.ndarray
    down: np.ndarray
    probability: float
    role: Role = "working"

    @property
    def height(self) -> float:
        return float(self.up.max() + self.down.max())

    @property
    def length(self) -> float:
        return float(np.linalg.norm(np.diff(self.centre, axis=0), axis=1).sum())

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of the strip."""
        corners = np.array(polygon(self))
        (left, top), (right, bottom) = corners.min(axis=0), corners.max(axis=0)
        return float(left), float(top), float(right), float(bottom)

    def middle(self, x: float) -> float:
        """The row of the centre of a line on a level page, at column ``x``."""
        return float(np.interp(x, self.centre[:, 0], self.centre[:, 1]))

    def reaching(self, up: float, down: float) -> LineShape:
        """The line with a strip that reaches so far all along."""
        ends = np.ones(len(self.centre))
        return replace(self, up=up * ends, down=down * ends)


def writing(shapes: Iterable[LineShape]) -> list[LineShape]:
    """The lines of writing among shapes, without drawings and the like."""
    return [shape for shape in shapes if shape.role == "working"]


def grown(
    lines: list[LineShape], taken_up: Callable[[LineShape, LineShape], LineShape | None]
) -> list[LineShape]:
    """Lines, largest first, each with the smaller ones that are part of it: ``taken_up`` gives a
    line with one of them, None where that is a line of its own."""
    lines = sorted(lines, key=lambda line: -line.length * line.height)
    at = 0
    while at < len(lines):
        line, rest = lines[at], []
        for piece in lines[at + 1 :]:
            if (more := taken_up(line, piece)) is None:
                rest.append(piece)
            else:
                line = more
        lines = [*lines[:at], line, *rest]
        at += 1
    return lines


def carried(shape: LineShape, transform: Callable[[np.ndarray], np.ndarray]) -> LineShape:
    """The shape seen through a map of points (n, 2) -> (n, 2) that keeps handedness."""
    normal = normals(shape.centre)
    centre = transform(shape.centre)
    top = transform(shape.centre - normal * shape.up[:, None])
    bottom = transform(shape.centre + normal * shape.down[:, None])
    return LineShape(
        centre,
        np.linalg.norm(top - centre, axis=1),
        np.linalg.norm(bottom - centre, axis=1),
        shape.probability,
        shape.role,
    )


def normals(centre: np.ndarray) -> np.ndarray:
    """Unit vectors pointing "down the page", perpendicular to the reading direction, (n, 2)."""
    direction = np.gradient(centre, axis=0)
    direction /= np.maximum(np.linalg.norm(direction, axis=1, keepdims=True), 1e-6)
    return np.stack([-direction[:, 1], direction[:, 0]], axis=1)


def polygon(shape: LineShape) -> Polygon:
    """The smallest four-cornered strip along the chord of the line that holds all of it.

    Corners are clockwise from the top left as the line is read.
    """
    normal = normals(shape.centre)
    edge = np.concatenate(
        [shape.centre - normal * shape.up[:, None], shape.centre + normal * shape.down[:, None]]
    )
    chord = shape.centre[-1] - shape.centre[0]
    along = chord / max(float(np.linalg.norm(chord)), 1e-6)
    across = np.array([-along[1], along[0]])
    u, v = edge @ along, edge @ across
    corners = [(u.min(), v.min()), (u.max(), v.min()), (u.max(), v.max()), (u.min(), v.max())]
    first, second, third, fourth = (tuple(map(float, a * along + b * across)) for a, b in corners)
    return (first, second, third, fourth)  # type: ignore[return-value]


def extract(
    image: np.ndarray,
    shape: LineShape,
    height: int,
    margin: float = MARGIN,
    ends: float = ENDS,
) -> tuple[np.ndarray, ToPhoto]:
    """The straightened line as a grey image ``height`` pixels tall, and the way back.

    ``margin`` is added above and below and ``ends`` at either end, as shares of the line's height:
    a last digit cut off costs more than some empty paper.  The function returned maps points
    (n, 2) of the line image to the photo.  Outside the photo is white.
    """
    up, down = float(shape.up.max()), float(shape.down.max())
    scale = height / max((up + down) * (1 + 2 * margin), 1.0)
    pad = margin * (up + down)
    centre, distance = _evenly(shape.centre, ends * (up + down))
    normal = normals(centre)
    width = max(8, round(float(distance[-1]) * scale))

    def to_photo(points: np.ndarray) -> np.ndarray:
        points = np.asarray(points, dtype=np.float64).reshape(-1, 2)
        along = (points[:, 0] + 0.5) / scale
        offset = (points[:, 1] + 0.5) / scale - up - pad
        return _at(centre, normal, distance, along, offset)

    along = (np.arange(width) + 0.5) / scale
    offset = ((np.arange(height) + 0.5) / scale - up - pad)[:, None]
    where = _at(centre, normal, distance, along, offset)
    return _sample(image, where, scale), to_photo


def _evenly(centre: np.ndarray, pad: float) -> tuple[np.ndarray, np.ndarray]:
    """Lengthen a polyline by ``pad`` at both ends; also the distance along it at each point."""
    step = np.diff(centre, axis=0)
    length = np.maximum(np.linalg.norm(step, axis=1, keepdims=True), 1e-6)
    first, last = step[0] / length[0], step[-1] / length[-1]
    centre = np.concatenate(
        [centre[:1] - first * pad, centre[1:-1], centre[-1:] + last * pad]
    ).astype(np.float64)
    step = np.linalg.norm(np.diff(centre, axis=0), axis=1)
    return centre, np.concatenate([[0.0], np.cumsum(step)])


def _at(
    centre: np.ndarray,
    normal: np.ndarray,
    distance: np.ndarray,
    along: np.ndarray,
    offset: np.ndarray,
) -> np.ndarray:
    """Photo points at given distances along and across the polyline (any shapes that broadcast),
    shape (..., 2)."""
    parts = [
        np.interp(along, distance, centre[:, k]) + offset * np.interp(along, distance, normal[:, k])
        for k in (0, 1)
    ]
    return np.stack(parts, axis=-1)


def _sample(image: np.ndarray, where: np.ndarray, scale: float) -> np.ndarray:
    """Look the pixels up; when that shrinks the picture, average first so that dots survive."""
    x, y = where[..., 0], where[..., 1]  # one by one: twenty times faster than over an axis of two
    low = np.floor([x.min(), y.min()]).astype(int) - 2
    high = np.ceil([x.max(), y.max()]).astype(int) + 3
    low = np.clip(low, 0, [image.shape[1] - 1, image.shape[0] - 1])
    high = np.clip(high, low + 1, [image.shape[1], image.shape[0]])
    part = image[low[1] : high[1], low[0] : high[0]]
    ratio = np.ones(2)
    if scale < 0.75:
        shrunk = [max(1, round(side * scale)) for side in (part.shape[1], part.shape[0])]
        ratio = np.array([shrunk[0] / part.shape[1], shrunk[1] / part.shape[0]])
        part = cv2.resize(part, shrunk, interpolation=cv2.INTER_AREA)
    x = (x - low[0] + 0.5) * ratio[0] - 0.5
    y = (y - low[1] + 0.5) * ratio[1] - 0.5
    return cv2.remap(
        part,
        x.astype(np.float32),
        y.astype(np.float32),
        cv2.INTER_CUBIC if scale > 1 else cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=255,
    )
