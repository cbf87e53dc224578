"""Light on a sheet: slopes, lamps, shadows; and its removal as page software does it."""

from __future__ import annotations

import cv2
import numpy as np

_INK = 210  # evened greys below this are no paper


def lamps(shape: tuple[int, int], rng: np.random.Generator, severity: float) -> np.ndarray:
    """Uneven light without edges, about 1 at its brightest, (H, W) float32 at coarse size."""
    x, y = _axes(shape)
    angle, fall = rng.uniform(0, 2 * np.pi), 0.35 * severity * rng.beta(1.2, 2)
    field = 1 - fall * (0.5 + 0.35 * (np.cos(angle) * x + np.sin(angle) * y))
    if rng.random() < 0.5:  # vignetting
        field = field * (1 - 0.18 * severity * rng.random() * (x * x + y * y))
    if rng.random() < 0.12 * severity:  # a lamp's reflection
        cx, cy, r = rng.uniform(-1, 1), rng.uniform(-1, 1), rng.uniform(0.15, 0.6)
        spot = np.exp(-((x - cx) ** 2 + (y - cy) ** 2) / r**2)
        field = field + rng.uniform(0.05, 0.3) * spot
    return np.broadcast_to(field, shape).astype(np.float32)


def shadow(
    shape: tuple[int, int], rng: np.random.Generator, severity: float, per_mm: float
) -> np.ndarray:
    """Cast shadows of a phone, a hand, a window frame: factors (H, W) float32.

    ``per_mm`` coarse pixels per mm: the edges are 1 to 25 mm soft.
    """
    out = np.ones(shape, np.float32)
    if rng.random() > 0.45 * severity:
        return out
    height, width = shape
    x, y = _axes(shape)
    x, y = x * (width / 2), y * (height / 2)
    for _ in range(1 + int(rng.random() < 0.3)):
        soft = float(np.exp(rng.uniform(np.log(1), np.log(25)))) * per_mm / 2
        depth = np.float32(severity * rng.uniform(0.08, 0.5))
        angle = rng.uniform(0, 2 * np.pi)
        cx, cy = rng.uniform(-0.8, 0.8) * width / 2, rng.uniform(-0.8, 0.8) * height / 2
        c, s = np.float32(np.cos(angle)), np.float32(np.sin(angle))
        along = c * (x - np.float32(cx)) + s * (y - np.float32(cy))
        inside = along
        if rng.random() < 0.6:  # a phone's or a sleeve's other edges
            across = c * (y - np.float32(cy)) - s * (x - np.float32(cx))
            half = np.float32(rng.uniform(20, 70) * per_mm)
            inside = np.minimum(along, half - np.abs(across))
        out *= 1 - depth / (1 + np.exp(np.clip(-inside / np.float32(soft), -30, 30)))
    return out


def _axes(shape: tuple[int, int]) -> tuple[np.ndarray, np.ndarray]:
    x = np.linspace(-1, 1, shape[1], dtype=np.float32)[None, :]
    y = np.linspace(-1, 1, shape[0], dtype=np.float32)[:, None]
    return x, y


def even(grey: np.ndarray, scale: float, rng: np.random.Generator) -> np.ndarray:
    """Divide by the paper's brightness: (H, W) uint8 -> uint8 with paper near 255.

    ``scale`` px per mm.  The paper is what is left on a coarse copy when marks narrower than a few
    mm are closed; cell and reach vary, so that no reader learns one way of evening.
    """
    height, width = grey.shape
    cell = rng.uniform(0.35, 0.8)  # mm
    small = (max(2, round(width / scale / cell)), max(2, round(height / scale / cell)))
    quick = cv2.resize(grey, (width // 2, height // 2), interpolation=cv2.INTER_AREA)
    coarse = cv2.resize(quick, small, interpolation=cv2.INTER_AREA)
    size = 2 * max(1, round(rng.uniform(1.4, 2.6) / cell)) + 1
    coarse = cv2.morphologyEx(
        coarse, cv2.MORPH_CLOSE, np.ones((size, size), np.uint8), borderType=cv2.BORDER_REPLICATE
    )
    coarse = cv2.blur(coarse, (size, size))
    paper = cv2.resize(coarse, (width, height), interpolation=cv2.INTER_LINEAR)
    return cv2.divide(grey, paper, scale=255)


def stretch(evened: np.ndarray, white: float, black: float) -> np.ndarray:
    """Spread the greys: ``white`` comes to 255, the darker third of all ink to ``black``.

    The gain is at most 3, so that noise does not turn into writing.
    """
    counts = np.cumsum(np.bincount(evened[::3, ::3].ravel(), minlength=256)[:_INK])
    if counts[-1] < 0.002 * evened.size / 9:
        return evened
    ink = int(np.searchsorted(counts, counts[-1] / 3))
    gain = min((255 - black) / max(white - ink, 1.0), 3.0)
    table = np.clip(255 - (white - np.arange(256)) * gain, 0, 255).astype(np.uint8)
    return cv2.LUT(evened, table)
