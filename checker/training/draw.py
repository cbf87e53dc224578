"""Drawing ink: marks in millimetres become coverage masks at a camera's resolution.

Strokes are drawn without anti-aliasing on a canvas several times finer than the camera and averaged
down, which is both faster and more exact in width than anti-aliased lines.  Strokes of equal
thickness and darkness go to OpenCV in one call.

Pixel coordinates everywhere: x to the right, y down, (0, 0) at the centre of the first pixel.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any

import cv2
import numpy as np

from checker.training.marks import Mark

Warp = Callable[[np.ndarray], np.ndarray]  # (n, 2) mm -> (n, 2) px

_SHIFT = 4  # fractional bits of OpenCV's fixed-point coordinates
_FINE = 15.0  # canvas pixels per mm at least wanted
_FAR = 1 << 24  # keeps wild coordinates inside 32-bit fixed point
_PIECE = 7  # points of a stroke drawn with one thickness
_LEVELS = 16  # steps of darkness kept apart
_QUANTILES = np.array([NormalDist().inv_cdf((k + 0.5) / 256) for k in range(256)], np.float32)


@dataclass(frozen=True)
class Layer:
    """All ink of one colour: ``coverage`` (H, W) float32 in 0..1."""

    coverage: np.ndarray
    colour: tuple[int, int, int]


def oversampling(scale: float) -> int:
    """How much finer than the camera to draw, for ``scale`` camera pixels per mm: 2 or 4."""
    return 4 if 2 * scale < _FINE else 2


def _averaged(canvas: np.ndarray, fine: int) -> np.ndarray:
    """Means of ``fine`` x ``fine`` squares, float32 in 0..1 (halving is OpenCV's fastest mean)."""
    while fine > 1:
        half = canvas.shape[1] // 2, canvas.shape[0] // 2
        canvas = cv2.resize(canvas, half, interpolation=cv2.INTER_AREA)
        fine //= 2
    return canvas * np.float32(1 / 255)


def draw(
    marks: Iterable[Mark],
    warp: Warp,
    size: tuple[int, int],
    scale: float,
    rng: np.random.Generator | None,
) -> list[Layer]:
    """Coverage of every ink colour among the marks, ``size`` = (height, width) px.

    ``scale`` is the typical number of pixels per mm.  With ``rng`` the pen presses unevenly;
    without it every line is even (printed rulings).
    """
    fine = oversampling(scale)
    by_colour: dict[tuple[int, int, int], list[Mark]] = defaultdict(list)
    for mark in marks:
        by_colour[mark.colour].append(mark)
    layers = []
    for colour, group in by_colour.items():
        canvas = np.zeros((size[0] * fine, size[1] * fine), np.uint8)
        if not _ink(canvas, group, warp, fine, rng):
            continue
        layers.append(Layer(_averaged(canvas, fine), colour))
    return layers


def _ink(
    canvas: np.ndarray,
    marks: Sequence[Mark],
    warp: Warp,
    fine: int,
    rng: np.random.Generator | None,
) -> bool:
    paths = [path for mark in marks for path in mark.paths if len(path)]
    owners = [mark for mark in marks for path in mark.paths if len(path)]
    if not paths:
        return False
    lengths = np.array([len(path) for path in paths])
    starts = np.concatenate(([0], np.cumsum(lengths)[:-1]))
    mm = np.concatenate(paths).astype(np.float64, copy=False)
    anchors = mm[starts]
    right, below = anchors + np.array((0.5, 0)), anchors + np.array((0, 0.5))
    pixels = warp(np.concatenate((mm, right, below)))
    n = len(mm)
    across, down = pixels[n : n + len(paths)], pixels[n + len(paths) :]
    pixels = pixels[:n]
    ux, uy = (across - pixels[starts]).T * 2
    vx, vy = (down - pixels[starts]).T * 2
    local = np.sqrt(np.abs(ux * vy - uy * vx)) * fine  # canvas px per mm
    fixed = (pixels + 0.5) * fine - 0.5
    low = np.minimum.reduceat(fixed, starts)
    high = np.maximum.reduceat(fixed, starts)
    reach = 2 * float(local.max())
    height, width = canvas.shape
    seen = (high > -reach).all(1) & (low < (width + reach, height + reach)).all(1)
    if not seen.any():
        return False
    grid = np.clip(np.rint(fixed * (1 << _SHIFT)), -_FAR, _FAR).astype(np.int32)
    batches: dict[tuple[int, int], list[np.ndarray]] = defaultdict(list)
    outlines: dict[int, list[np.ndarray]] = defaultdict(list)
    tremble = None if rng is None else _tremble(rng, lengths)
    piece = 0
    for k in np.flatnonzero(seen).tolist():
        mark, start, length = owners[k], int(starts[k]), int(lengths[k])
        points = grid[start : start + length]
        if mark.filled:
            outlines[id(mark)].append(points)
            continue
        width = min(mark.width * float(local[k]), 255.0)  # far outside the view a scale can explode
        if length < 2:  # OpenCV's dots come out thinner than its lines
            points, width = np.repeat(points, 2, axis=0), width + 0.8
        if tremble is None:
            _add(batches, points, width, mark.darkness)
            continue
        for first in range(0, max(length - 1, 1), _PIECE):
            part = points[first : first + _PIECE + 1]
            _add(batches, part, width * tremble[piece], mark.darkness)
            piece += 1
    for (level, thickness), group in sorted(batches.items()):
        cv2.polylines(canvas, group, False, level, thickness, cv2.LINE_8, _SHIFT)
    for mark in marks:
        if id(mark) in outlines:
            cv2.fillPoly(canvas, outlines[id(mark)], _level(mark.darkness), cv2.LINE_8, _SHIFT)
    return True


def _add(
    batches: dict[tuple[int, int], list[np.ndarray]], line: np.ndarray, width: float, dark: float
) -> None:
    """Queue a line of any width: a full core, and a wider line of partial darkness beneath it.

    OpenCV's lines come in widths of about 0.9, 2.9, 4.9 ... px (thickness 1, 2, 4 ...); the partial
    rim makes up the rest, so that the mean over a few pixels has the width asked for.
    """
    core = int(max(width - 0.9, 0.0) / 2)
    rim = round((width - 0.9 - 2 * core) * 2) / 4  # in quarters
    if rim > 0:
        batches[_level(dark * rim), 2 * core + 2].append(line)
    batches[_level(dark * min(1.0, width / 0.9)), max(2 * core, 1)].append(line)


def _tremble(rng: np.random.Generator, lengths: np.ndarray) -> list[float]:
    """Width factors for consecutive pieces of strokes: an even pressure with some tremble."""
    count = int((lengths // _PIECE + 1).sum()) + 1
    steps = rng.normal(0, 0.07, count)
    steps[1:] += 0.6 * steps[:-1]
    factors: list[float] = np.clip(1 + steps, 0.75, 1.3).tolist()
    return factors


def _level(darkness: float) -> int:
    return max(1, round(round(darkness * _LEVELS) * 255 / _LEVELS))


def texture(layer: Layer, kind: str, scale: float, rng: np.random.Generator) -> np.ndarray:
    """The coverage as this kind of pen leaves it on paper (float32, same shape).

    Pencil catches the paper's tooth, ball-points skip and fade, felt tips bleed a little.
    """
    coverage = layer.coverage
    height, width = coverage.shape
    if kind == "pencil":
        cells = max(2, round(height / scale * 5)), max(2, round(width / scale * 5))
        tooth = smooth(rng, coverage.shape, cells)
        tooth *= np.float32(rng.uniform(0.12, 0.3))
        tooth += np.float32(rng.uniform(0.7, 0.9))
        return np.minimum(coverage * tooth, 1)
    if kind == "ball":
        cells = max(2, round(height / scale / 1.4)), max(2, round(width / scale / 1.4))
        flow = smooth(rng, coverage.shape, cells)
        flow *= np.float32(rng.uniform(0.03, 0.2))
        flow += np.float32(0.93)
        out = np.minimum(coverage * flow, 1)
        if rng.random() < 0.25:  # an ink ball that skips
            cells = max(2, round(height / scale * 3)), max(2, round(width / scale * 3))
            gaps = smooth(rng, coverage.shape, cells)
            out[gaps > rng.uniform(1.5, 2.2)] *= np.float32(rng.uniform(0.3, 0.7))
        return out
    if kind == "felt":
        return cv2.GaussianBlur(coverage, (0, 0), max(0.3, 0.06 * scale))
    return coverage


def kind_of(layer: Layer, rng: np.random.Generator) -> str:
    """A pen kind that fits the layer's colour: plain mid greys are pencil."""
    low, high = min(layer.colour), max(layer.colour)
    if high - low < 30 and low > 42:
        return "pencil"
    return str(pick(rng, ("ball", "ball", "gel", "felt")))


def pick(rng: np.random.Generator, options: Sequence[Any]) -> Any:
    """One of the options at random; list one twice to see it twice as often."""
    return options[int(rng.integers(len(options)))]


def grain(rng: np.random.Generator, shape: tuple[int, ...]) -> np.ndarray:
    """Fast normal noise, mean 0, deviation 1 (its 256 quantiles), float32."""
    raw = np.frombuffer(rng.bytes(int(np.prod(shape))), np.uint8)
    return cv2.LUT(raw.reshape(shape), _QUANTILES)


def smooth(rng: np.random.Generator, shape: tuple[int, ...], cells: tuple[int, int]) -> np.ndarray:
    """Smooth noise of about unit deviation, ``cells`` = bumps down and across."""
    seeds = grain(rng, (min(cells[0], shape[0]), min(cells[1], shape[1])))
    return cv2.resize(seeds, (shape[1], shape[0]), interpolation=cv2.INTER_LINEAR)
