"""Even light: paper becomes white, ink stays dark, whatever lamp and shadow the photo had."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from checker.reading.smaller import smaller

_GRID = 700  # long side, in cells, of the coarse picture from which the paper is estimated


@dataclass(frozen=True)
class Light:
    """How the photo was lit: ``paper`` is the usual grey value of the sheet's bare paper, 0-255."""

    paper: float
    ink: float  # grey value of solid ink after evening, 0-255; 255 when there is no ink
    noise: float  # standard deviation of bare paper after evening

    @property
    def too_dark(self) -> bool:
        return self.paper < 40

    @property
    def contrast(self) -> float:
        return 255.0 - self.ink


def even(grey: np.ndarray, corners: np.ndarray) -> tuple[np.ndarray, Light]:
    """Divide a photo (uint8, height x width) by its paper.

    ``corners`` (4, 2) outline the sheet: only what lies on it decides how far to stretch.

    Returns the evened photo (paper ≈ 255, solid ink ≈ 40 where there is enough of it to tell)
    and what was found out about the light.
    """
    paper = paper_under(grey)
    height, width = grey.shape
    full = cv2.resize(paper, (width, height), interpolation=cv2.INTER_LINEAR)
    flat = cv2.divide(grey, np.maximum(full, 1), scale=255)
    small = smaller(flat, 0.5)
    on_sheet = np.zeros(small.shape, np.uint8)
    cv2.fillConvexPoly(on_sheet, np.round(corners / 2).astype(np.int32), 1)
    bare = cv2.resize(paper, (small.shape[1], small.shape[0]), interpolation=cv2.INTER_LINEAR)
    brightness = float(np.median(bare[on_sheet > 0])) if on_sheet.any() else 0.0
    on_sheet[_too_thick(small)] = 0
    values = small[on_sheet > 0]
    noise = 1.48 * float(np.median(255 - values[values > 200])) if (values > 200).any() else 0.0
    ink = _ink_level(values, noise)
    # Stretch so that bare paper (its noise included) is white and solid ink is dark; the gain is
    # bounded so that a page without writing does not turn into amplified noise.
    white = 255.0 - min(max(6.0, 2.0 * noise), 25.0)
    gain = min(215.0 / max(white - ink, 1.0), 3.0)
    table = np.clip(255.0 - (white - np.arange(256)) * gain, 0, 255).astype(np.uint8)
    return cv2.LUT(flat, table), Light(brightness, ink, noise)


def paper_under(grey: np.ndarray) -> np.ndarray:
    """The brightness of the bare paper at each place, as a coarse uint8 picture.

    Marks narrower than about 1/60 of the long side vanish under the local maximum; the smoothing
    keeps the edges of cast shadows.
    """
    scale = min(1.0, _GRID / max(grey.shape))
    coarse = smaller(grey, scale)
    reach = 2 * max(1, round(_GRID / 140)) + 1
    brush = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (reach, reach))
    closed = cv2.morphologyEx(coarse, cv2.MORPH_CLOSE, brush)
    closed = cv2.medianBlur(closed, 2 * reach + 1 if reach < 20 else 41)
    return cv2.GaussianBlur(closed, (0, 0), reach / 3)


def _too_thick(evened: np.ndarray) -> np.ndarray:
    """Mask of what is dark but no pen stroke: punched holes, the desk, fingers."""
    scale = min(1.0, _GRID / max(evened.shape))
    coarse = smaller(evened, scale)
    dark = (coarse < 150).astype(np.uint8)
    core = cv2.morphologyEx(dark, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    core = cv2.dilate(core, np.ones((9, 9), np.uint8))
    size = (evened.shape[1], evened.shape[0])
    return cv2.resize(core, size, interpolation=cv2.INTER_NEAREST) > 0


def _ink_level(values: np.ndarray, noise: float) -> float:
    """Grey value of the darkest part of what is clearly no paper: ink rather than printed rules."""
    histogram = np.bincount(values, minlength=256)
    dark = histogram[: int(255 - max(45.0, 5 * noise))]
    if dark.sum() < 1e-4 * values.size:
        return 255.0
    return float(np.searchsorted(np.cumsum(dark), dark.sum() / 6))


def edge_width(evened: np.ndarray) -> float:
    """How many pixels the edge of a stroke takes from paper to ink (about 2 in a sharp photo).

    Contrast over slope along the strongest edges; 0 when there are no edges to measure.
    """
    soft = cv2.GaussianBlur(evened, (0, 0), 1.0)
    slope_x = cv2.Sobel(soft, cv2.CV_32F, 1, 0, ksize=3, scale=1 / 8)
    slope_y = cv2.Sobel(soft, cv2.CV_32F, 0, 1, ksize=3, scale=1 / 8)
    slope = cv2.magnitude(slope_x, slope_y)
    dark = evened < 160
    if np.count_nonzero(dark) < 50:
        return 0.0
    ring = cv2.dilate(dark.astype(np.uint8), np.ones((5, 5), np.uint8)).astype(bool)
    steepest = float(np.percentile(slope[ring], 90))
    depth = 255.0 - float(np.percentile(evened[dark], 20))
    return depth / max(steepest, 1e-3)
