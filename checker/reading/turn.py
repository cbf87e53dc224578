"""Finds out how a page was turned: sideways, and by what slope its lines run.

Upside-down cannot be told from the picture of working alone (6 and 9, 1 and 1): for that
``read_page`` lets the reader vote.
"""

from __future__ import annotations

import cv2
import numpy as np

from checker.reading.pieces import Pieces
from checker.reading.smaller import smaller


def is_sideways(pieces: Pieces) -> bool:
    """Whether the lines run up or down the page.

    The nearest neighbour of a glyph stands beside it on its line, seldom above or below: for at
    least 54 % of the glyphs on upright simulated pages, at most 39 % on sideways ones.  A few
    words in joined writing can look either way, so few glyphs must agree more clearly.
    """
    large = np.maximum(pieces.width, pieces.height) > 4 * pieces.size
    glyphs = np.flatnonzero(~pieces.is_mark & ~large)
    if len(glyphs) < 12:
        return False
    left, top, right, bottom = pieces.boxes(glyphs)
    across = np.maximum(left[:, None] - right[None], left[None] - right[:, None])
    along = np.maximum(top[:, None] - bottom[None], top[None] - bottom[:, None])
    gap = np.hypot(np.maximum(across, 0), np.maximum(along, 0))
    np.fill_diagonal(gap, np.inf)
    nearest = (np.arange(len(glyphs)), gap.argmin(axis=1))
    return float((across[nearest] > along[nearest]).mean()) < (0.3 if len(glyphs) < 30 else 0.46)


def slope(evened: np.ndarray, limit: float = 12.0) -> float:
    """By how many degrees the lines (and rules) of a page fall to the right, within ± limit.

    Picks the slope at which the sums of ink along the rows change most sharply; 0 when no slope
    does clearly better than level.
    """
    scale = min(1.0, 600 / max(evened.shape))
    ink = 255 - smaller(evened, scale)
    if not (ink > 40).any():
        return 0.0
    coarse = {angle: _sharpness(ink, angle) for angle in np.arange(-limit, limit + 0.1, 1.0)}
    best = max(coarse, key=lambda angle: coarse[angle])
    fine = {angle: _sharpness(ink, angle) for angle in best + np.arange(-0.75, 0.8, 0.25)}
    best = max(fine, key=lambda angle: fine[angle])
    return float(best) if fine[best] > 1.05 * coarse[0.0] else 0.0


def _sharpness(ink: np.ndarray, degrees: float) -> float:
    height, width = ink.shape
    shear = np.array([[1, 0, 0], [-np.tan(np.radians(degrees)), 1, 0]], dtype=np.float64)
    shear[1, 2] = np.tan(np.radians(degrees)) * width / 2
    level = cv2.warpAffine(ink, shear, (width, height), flags=cv2.INTER_LINEAR)
    rows = level.sum(axis=1, dtype=np.float64)
    return float(np.square(np.diff(rows)).sum())
