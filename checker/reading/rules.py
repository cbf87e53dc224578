"""Takes printed rules, grids and dots off the paper so that the writing on them can be found.

A printed rule runs across (nearly) the whole sheet, a fraction bar never does.  So the sheet is
cut into narrow strips, in each strip the median along the rule's direction shows what is printed
(writing covers less than half of it), and only what continues from strip to strip is taken off.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np

_STRIPS = 28
_LEAST_SHARE = 0.55  # of the strips in which a rule must be seen


@dataclass(frozen=True)
class Track:
    """One rule: its row at the middle of every strip, (strips,), in pixels."""

    rows: np.ndarray
    seen: float  # share of the strips in which it was really seen


@dataclass(frozen=True)
class Ruling:
    """What is printed on the paper."""

    across: tuple[Track, ...]
    upright: tuple[Track, ...]
    dots: int

    @property
    def kind(self) -> str:
        if self.dots:
            return "dotted"
        if len(self.across) >= 3 and len(self.upright) >= 3:
            return "grid"
        return "ruled" if self.across or self.upright else "blank"


def remove_rules(evened: np.ndarray) -> tuple[np.ndarray, Ruling]:
    """Lighten the printed rules and dots of an evened, roughly upright page (uint8 grey)."""
    dark = 255 - evened
    dark, across = _remove_across(dark)
    turned, upright = _remove_across(np.ascontiguousarray(dark.T))
    dark, dots = _remove_dots(np.ascontiguousarray(turned.T))
    return 255 - dark, Ruling(across, upright, dots)


def _remove_across(dark: np.ndarray) -> tuple[np.ndarray, tuple[Track, ...]]:
    height, width = dark.shape
    edges = np.linspace(0, width, _STRIPS + 1).round().astype(int)
    printed = np.stack(
        [np.median(dark[:, a:b], axis=1) for a, b in pairwise(edges)], axis=1
    ).astype(np.float32)
    # What is printed stands out from the rows around it; an even tint does not.
    tint = cv2.morphologyEx(printed, cv2.MORPH_OPEN, np.ones((9, 1), np.uint8))
    lines = printed - tint
    tracks = _tracks(lines)
    if not tracks:
        return dark, ()
    keep = np.zeros_like(lines)
    reach = np.arange(-3, 4)
    for track in tracks:
        rows = np.clip(track.rows.round().astype(int)[None] + reach[:, None], 0, height - 1)
        keep[rows, np.arange(_STRIPS)[None]] = 1
    layer = lines * keep
    # Where writing hides a rule in one strip, its neighbours tell how dark it is there.
    pad = np.pad(layer, ((0, 0), (2, 2)), mode="edge")
    layer = np.max([pad[:, k : k + _STRIPS] for k in range(5)], axis=0) * keep
    spread = cv2.dilate(layer, np.ones((3, 1), np.uint8))
    full = cv2.resize(spread, (width, height), interpolation=cv2.INTER_LINEAR)
    cleaned = np.clip(dark - 1.25 * full, 0, 255).astype(np.uint8)
    # Strokes that crossed a rule as dark as themselves were cut: close the cut upright only.
    closed = cv2.morphologyEx(cleaned, cv2.MORPH_CLOSE, np.ones((7, 1), np.uint8))
    return np.where(full > 8, closed, cleaned), tracks


def _tracks(lines: np.ndarray) -> tuple[Track, ...]:
    """Follow peaks from strip to strip; a track lives on when a few strips do not show it."""
    height, strips = lines.shape
    swollen = cv2.dilate(lines, np.ones((7, 1), np.uint8))
    peak = (lines >= swollen) & (lines > 10)
    peaks = [np.flatnonzero(peak[:, k]) for k in range(strips)]
    free = [np.ones(len(found), bool) for found in peaks]
    tracks = []
    for start in range(int(strips * (1 - _LEAST_SHARE)) + 1):
        for first, row in enumerate(peaks[start]):
            if not free[start][first]:
                continue
            rows = np.full(strips, np.nan)
            rows[start], taken = row, [(start, first)]
            slope, last = 0.0, start
            for k in range(start + 1, strips):
                if not len(peaks[k]):
                    continue
                guess = rows[last] + slope * (k - last)
                nearest = int(np.argmin(np.abs(peaks[k] - guess)))
                if not free[k][nearest] or abs(peaks[k][nearest] - guess) > 2.5 + (k - last):
                    continue
                step = (peaks[k][nearest] - rows[last]) / (k - last)
                slope += 0.4 * (step - slope)
                rows[k], last = peaks[k][nearest], k
                taken.append((k, nearest))
            seen = np.isfinite(rows)
            if seen.mean() < _LEAST_SHARE:
                continue
            for k, nearest in taken:
                free[k][nearest] = False
            filled = np.interp(np.arange(strips), np.flatnonzero(seen), rows[seen])
            tracks.append(Track(np.clip(filled, 0, height - 1), float(seen.mean())))
    return tuple(sorted(tracks, key=lambda track: float(track.rows.mean())))


def _remove_dots(dark: np.ndarray) -> tuple[np.ndarray, int]:
    """Take off small equal specks that have equal neighbours at one spacing in four directions."""
    _, labels, stats, centres = cv2.connectedComponentsWithStats((dark > 60).astype(np.uint8))
    size = dark.shape[1] / 100
    area = stats[:, cv2.CC_STAT_AREA]
    small = (stats[:, 2] < size) & (stats[:, 3] < size) & (area > 0)
    small[0] = False
    dots = np.flatnonzero(small)
    if len(dots) < 100:
        return dark, 0
    points = centres[dots].astype(np.float32)
    spacing = _spacing(points)
    if spacing is None:
        return dark, 0
    raster = np.zeros(dark.shape, np.uint8)
    raster[points[:, 1].astype(int), points[:, 0].astype(int)] = 1
    reach = 2 * max(1, round(0.12 * spacing)) + 1
    raster = cv2.dilate(raster, np.ones((reach, reach), np.uint8))
    hits = np.zeros(len(points), int)
    for step in ((spacing, 0), (-spacing, 0), (0, spacing), (0, -spacing)):
        x, y = (points + step).round().astype(int).T
        inside = (x >= 0) & (y >= 0) & (x < dark.shape[1]) & (y < dark.shape[0])
        hits[inside] += raster[y[inside], x[inside]]
    lattice = dots[hits >= 2]
    if len(lattice) < 60:
        return dark, 0
    mask = np.isin(labels, lattice).astype(np.uint8)
    mask = cv2.dilate(mask, np.ones((3, 3), np.uint8))
    dark[mask > 0] = 0
    return dark, len(lattice)


def _spacing(points: np.ndarray) -> float | None:
    """The spacing of a dot lattice: the one distance most specks have to their nearest speck."""
    some = points[:: max(1, len(points) // 400)]
    distances = np.linalg.norm(some[:, None] - points[None], axis=2)
    nearest = np.sort(distances, axis=1)[:, 1]
    nearest = nearest[nearest > 4]
    if len(nearest) < 60:
        return None
    histogram, edges = np.histogram(nearest, bins=np.arange(4, nearest.max() + 3, 1.0))
    smooth = np.convolve(histogram, np.ones(3), "same")
    best = int(np.argmax(smooth))
    if smooth[best] < 0.4 * len(some):
        return None
    middle = (edges[best] + edges[best + 1]) / 2
    return float(np.median(nearest[np.abs(nearest - middle) < 2.5]))
