"""Tells sketches (circuits, frames) from writing by their long bare strokes."""

from __future__ import annotations

import numpy as np

from checker.reading.pieces import Pieces


def find_drawings(pieces: Pieces) -> tuple[list[np.ndarray], np.ndarray]:
    """Index arrays, one per drawing, and the mask (n,) of all pieces that belong to one.

    A drawing starts from strokes that enclose much more than they ink: large, and hardly longer
    than the outline of their box.  What stands inside or close to the cluster (labels, component
    symbols) belongs to it.
    """
    size = pieces.size
    length = pieces.area / max(pieces.stroke, 1.0)
    bare = length < 3.0 * (pieces.width + pieces.height)
    large = (pieces.width > 2.5 * size) & (pieces.height > 2.5 * size)
    tall = (pieces.height > 3.5 * size) & (pieces.width < size)
    strokes = np.flatnonzero(bare & (large | tall))
    drawings: list[np.ndarray] = []
    drawn = np.zeros(len(pieces.left), bool)
    for cluster in _clusters(pieces, strokes):
        if not large[cluster].any():
            continue
        box = _box(pieces, cluster)
        inside = (
            (pieces.cx > box[0] - size)
            & (pieces.cx < box[2] + size)
            & (pieces.cy > box[1] - size)
            & (pieces.cy < box[3] + size)
            & ~drawn
        )
        drawn |= inside
        drawings.append(np.flatnonzero(inside))
    return [drawing for drawing in drawings if len(drawing)], drawn


def _box(pieces: Pieces, some: np.ndarray) -> tuple[float, float, float, float]:
    return (
        float(pieces.left[some].min()),
        float(pieces.top[some].min()),
        float(pieces.right[some].max()),
        float(pieces.bottom[some].max()),
    )


def _clusters(pieces: Pieces, strokes: np.ndarray) -> list[np.ndarray]:
    """Strokes whose boxes come within three glyph heights of each other."""
    reach = 3 * pieces.size
    rest = list(strokes)
    found = []
    while rest:
        cluster, queue = [], [rest.pop()]
        while queue:
            k = queue.pop()
            cluster.append(k)
            near = [
                j
                for j in rest
                if pieces.left[j] - reach < pieces.right[k]
                and pieces.left[k] - reach < pieces.right[j]
                and pieces.top[j] - reach < pieces.bottom[k]
                and pieces.top[k] - reach < pieces.bottom[j]
            ]
            rest = [j for j in rest if j not in near]
            queue += near
        found.append(np.array(cluster))
    return found
