"""Tells sketches (circuits) and frames from writing by their long bare strokes."""

from __future__ import annotations

import numpy as np

from checker.reading.pieces import Pieces


def find_drawings(pieces: Pieces) -> tuple[list[np.ndarray], np.ndarray]:
    """Index arrays, one per drawing, and the mask (n,) of all pieces that are no writing.

    A drawing starts from strokes that enclose much more than they ink: large, and hardly longer
    than the outline of their box.  What stands inside or close to the cluster (labels, component
    symbols) belongs to it.  A frame round some lines and the long edge of a sheet are left out
    without being a drawing.
    """
    size = pieces.size
    length = pieces.area / max(pieces.stroke, 1.0)
    bare = length < 3.0 * (pieces.width + pieces.height)
    large = (pieces.width > 2.5 * size) & (pieces.height > 2.5 * size)
    tall = (pieces.height > 3.5 * size) & (pieces.width < size)
    no_writing = (bare & tall) | (pieces.height > 9 * size)
    for k in np.flatnonzero(bare & (pieces.width > 3 * size) & (pieces.height > 1.2 * size)):
        no_writing[k] |= _is_frame(pieces, int(k))
    frames = no_writing & ~tall & (pieces.height < 9 * size)
    page = _box(pieces, np.arange(len(pieces.left)))
    drawings: list[np.ndarray] = []
    for cluster in _clusters(pieces, np.flatnonzero(bare & (large | tall) & ~frames)):
        box = _box(pieces, cluster)
        no_writing[cluster] = True
        whole = (box[2] - box[0]) * (box[3] - box[1]) > 0.5 * (page[2] - page[0]) * (
            page[3] - page[1]
        )
        if whole or not (large[cluster].any() or tall[cluster].sum() >= 2):
            continue
        inside = (
            (pieces.cx > box[0] - 1.5 * size)
            & (pieces.cx < box[2] + 1.5 * size)
            & (pieces.cy > box[1] - size)
            & (pieces.cy < box[3] + size)
        )
        no_writing |= inside
        drawings.append(np.flatnonzero(inside))
    return drawings, no_writing


def _is_frame(pieces: Pieces, k: int) -> bool:
    """A box drawn round a result: low, and filled with writing for most of its width."""
    if pieces.height[k] > 5.5 * pieces.size:
        return False
    inside = np.flatnonzero(
        (pieces.left > pieces.left[k])
        & (pieces.right < pieces.right[k])
        & (pieces.top > pieces.top[k] - 0.2 * pieces.size)
        & (pieces.bottom < pieces.bottom[k] + 0.2 * pieces.size)
    )
    return float(pieces.width[inside].sum()) > 0.45 * float(pieces.width[k])


def _box(pieces: Pieces, some: np.ndarray) -> tuple[float, float, float, float]:
    left, top, right, bottom = pieces.boxes(some)
    return float(left.min()), float(top.min()), float(right.max()), float(bottom.max())


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
