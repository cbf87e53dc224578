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

from checker.reading.turn import slope

_STRIPS = 28
_LEAST_SHARE = 0.55  # of the strips in which a rule must be seen
_SURE_SHARE = 0.85  # a rule seen in so many strips needs no other to confirm it
_FAINT = 10  # the least darkness (of 255) of a printed rule
_REACH = 4  # rows above and below the middle of a rule that may be printed


@dataclass(frozen=True)
class Track:
    """One rule: its row at the middle of every strip, (strips,), in pixels of the levelled page."""

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
    dark, across = _remove_across(255 - evened, 0.0)
    turned = np.ascontiguousarray(dark.T)
    turned, upright = _remove_across(turned, slope(255 - turned, limit=8.0))
    dark, dots = _remove_dots(np.ascontiguousarray(turned.T))
    return 255 - dark, Ruling(across, upright, dots)


def _remove_across(dark: np.ndarray, degrees: float) -> tuple[np.ndarray, tuple[Track, ...]]:
    """Take off the rules that fall to the right by about ``degrees``."""
    height, width = dark.shape
    fall = float(np.tan(np.radians(degrees)))
    level = dark
    if fall:
        shear = np.array([[1, 0, 0], [-fall, 1, 0]])
        level = cv2.warpAffine(dark, shear, (width, height), flags=cv2.INTER_NEAREST)
    edges = np.linspace(0, width, _STRIPS + 1).round().astype(int)
    middles = [
        np.partition(level[:, a:b], (b - a) // 2, axis=1)[:, (b - a) // 2]
        for a, b in pairwise(edges)
    ]
    printed = np.stack(middles, axis=1).astype(np.float32)
    # What is printed stands out from the rows around it; an even tint does not.
    tint = cv2.morphologyEx(printed, cv2.MORPH_OPEN, np.ones((9, 1), np.uint8))
    lines = printed - tint
    tracks = _tracks(lines)
    if not tracks:
        return dark, ()
    middles = (edges[:-1] + edges[1:]) / 2
    layer = np.zeros(dark.shape, np.float32)
    columns = np.arange(width)
    for track in tracks:
        profile = _profile(lines, track)
        rows = (_between(columns, middles, track.rows) + fall * columns).round().astype(int)
        for offset in range(-_REACH, _REACH + 1):
            at = np.clip(rows + offset, 0, height - 1)
            layer[at, columns] = np.maximum(layer[at, columns], profile[offset + _REACH])
    # Ink over a rule is darker than the rule: it stays; only what is no darker goes.
    ink = dark > 1.35 * layer + 25
    cleaned = np.where(ink, dark, np.clip(dark - 1.2 * layer, 0, 255)).astype(np.uint8)
    # Strokes that crossed a rule as dark as themselves were cut: close the cut upright only.
    closed = cv2.morphologyEx(cleaned, cv2.MORPH_CLOSE, np.ones((7, 1), np.uint8))
    return np.where(layer > 8, closed, cleaned), tuple(tracks)


def _between(columns: np.ndarray, middles: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Rows of a track at every column; beyond the outermost middles it runs straight on."""
    first = rows[0] + (rows[1] - rows[0]) / (middles[1] - middles[0]) * (0 - middles[0])
    step = (rows[-1] - rows[-2]) / (middles[-1] - middles[-2])
    last = rows[-1] + step * (columns[-1] - middles[-1])
    at = np.concatenate([[0], middles, columns[-1:]])
    return np.interp(columns, at, np.concatenate([[first], rows, [last]]))


def _profile(lines: np.ndarray, track: Track) -> np.ndarray:
    """How dark a rule is at each row around its middle, whatever is written on it."""
    rows = track.rows.round().astype(int)
    around = rows[None] + np.arange(-_REACH, _REACH + 1)[:, None]
    values = lines[np.clip(around, 0, lines.shape[0] - 1), np.arange(lines.shape[1])[None]]
    middle = np.median(values, axis=1)
    return np.maximum(middle, np.maximum(np.roll(middle, 1), np.roll(middle, -1)))


def _tracks(lines: np.ndarray) -> list[Track]:
    """Follow peaks from strip to strip; a track lives on when a few strips do not show it.

    Rules are evenly spaced: where writing hides much of one, the others tell where it runs.
    """
    found = sorted(_followed(lines), key=lambda track: float(track.rows.mean()))
    sure = [track for track in found if track.seen > _SURE_SHARE]
    if len(sure) < 5:
        return found
    spacing = float(np.median(np.diff([track.rows.mean() for track in sure])))
    if spacing < 6:
        return found
    hidden = []
    for above, below in pairwise(sure):
        count = round(float((below.rows - above.rows).mean()) / spacing)
        for k in range(1, count):
            hidden.append(Track(above.rows + (below.rows - above.rows) * k / count, 0.0))
    for end, step in ((sure[0], -spacing), (sure[-1], spacing)):
        rows = end.rows + step
        while 0 <= rows.mean() < lines.shape[0]:
            hidden.append(Track(rows, 0.0))
            rows = rows + step
    return sure + [_snapped(track, lines) for track in hidden]


def _snapped(track: Track, lines: np.ndarray) -> Track:
    """A guessed track moved onto the peaks right beside it."""
    rows = track.rows.round().astype(int)
    around = np.clip(rows[None] + np.arange(-2, 3)[:, None], 0, lines.shape[0] - 1)
    values = lines[around, np.arange(lines.shape[1])[None]]
    shift = np.where(values.max(axis=0) > _FAINT, values.argmax(axis=0) - 2, 0)
    return Track(track.rows + shift, track.seen)


def _followed(lines: np.ndarray) -> list[Track]:
    """Chains of peaks that are seen in at least the least share of the strips."""
    swollen = cv2.dilate(lines, np.ones((7, 1), np.uint8))
    peak = (lines >= swollen) & (lines > _FAINT)
    peaks = [np.flatnonzero(peak[:, k]) for k in range(lines.shape[1])]
    free = [np.ones(len(found), bool) for found in peaks]
    strips = len(peaks)
    tracks: list[Track] = []
    usual = 0.0  # the slope of the rule before is a good first guess for the next
    for start in range(int(strips * (1 - _LEAST_SHARE)) + 1):
        for first, row in enumerate(peaks[start]):
            if not free[start][first]:
                continue
            rows = np.full(strips, np.nan)
            rows[start], taken = row, [(start, first)]
            lean, last = usual, start
            for k in range(start + 1, strips):
                if not len(peaks[k]):
                    continue
                guess = rows[last] + lean * (k - last)
                nearest = int(np.argmin(np.abs(peaks[k] - guess)))
                if not free[k][nearest] or abs(peaks[k][nearest] - guess) > 1.4 + 0.4 * (k - last):
                    continue
                step = (peaks[k][nearest] - rows[last]) / (k - last)
                lean += 0.3 * (step - lean)
                rows[k], last = peaks[k][nearest], k
                taken.append((k, nearest))
            seen = np.isfinite(rows)
            if seen.mean() < _LEAST_SHARE:
                continue
            for k, nearest in taken:
                free[k][nearest] = False
            filled = np.interp(np.arange(strips), np.flatnonzero(seen), rows[seen])
            tracks.append(Track(filled, float(seen.mean())))
            usual = float(np.median(np.diff(filled)))
    return tracks


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
    near = cv2.dilate(raster, np.ones((reach, reach), np.uint8))
    hits = np.zeros(len(points), int)
    for step in ((spacing, 0), (-spacing, 0), (0, spacing), (0, -spacing)):
        x, y = (points + step).round().astype(int).T
        inside = (x >= 0) & (y >= 0) & (x < dark.shape[1]) & (y < dark.shape[0])
        hits[inside] += near[y[inside], x[inside]]
    lattice = dots[hits >= 2]
    if len(lattice) < 60:
        return dark, 0
    mask = np.isin(labels, lattice).astype(np.uint8)
    dark[cv2.dilate(mask, np.ones((3, 3), np.uint8)) > 0] = 0
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
