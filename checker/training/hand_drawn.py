"""Marks drawn by rule with a human tremor: what no data set of isolated glyphs carries.

Symbols come as strokes in em units (baseline y = 0, y down, digit height 1); free marks (lines,
boxes, strike-outs) in whatever unit their arguments have.  Every call draws anew; ``style`` is a
number in 0..1 that one hand keeps, so that a writer forms a symbol the same way all over a page.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np

Path = np.ndarray  # float32 (n, 2)
Paths = tuple[Path, ...]

AXIS = -0.45  # height of the middle of + - = above the baseline


def wobble(points: np.ndarray, rng: np.random.Generator, amount: float) -> Path:
    """Displace a densely sampled path by a smooth random walk of about ``amount`` (same unit)."""
    points = np.asarray(points, float)
    knots = max(3, min(8, len(points) // 3))
    position = np.linspace(0, knots - 1, len(points))
    shift = [np.interp(position, np.arange(knots), rng.normal(0, amount, knots)) for _ in "xy"]
    return (points + np.stack(shift, 1)).astype(np.float32)


def _through(corners: list[tuple[float, float]], per_unit: float = 12) -> np.ndarray:
    """Sample a polyline evenly, every corner kept."""
    dense = [np.array(corners[:1], float)]
    for start, end in itertools.pairwise(corners):
        count = max(2, int(np.hypot(end[0] - start[0], end[1] - start[1]) * per_unit))
        dense.append(np.linspace(start, end, count + 1)[1:])
    return np.concatenate(dense)


def _arc(
    centre: tuple[float, float], radii: tuple[float, float], start: float, end: float, count: int
) -> np.ndarray:
    angle = np.radians(np.linspace(start, end, count))
    return np.stack([centre[0] + radii[0] * np.cos(angle), centre[1] + radii[1] * np.sin(angle)], 1)


# --- free marks ----------------------------------------------------------------------------------


def line(rng: np.random.Generator, length: float) -> Path:
    """A hand-drawn horizontal line from (0, 0) to about (length, 0): bowed, tilted, trembling."""
    x = np.linspace(0, 1, 14)
    bow, tilt = rng.normal(0, 0.012), rng.normal(0, 0.012)
    y = 4 * bow * x * (1 - x) + tilt * (x - 0.5)
    return wobble(np.stack([x, y], 1) * length, rng, 0.003 * length)


def scribble(rng: np.random.Generator, width: float, height: float) -> Paths:
    """A strike-out over the box (0, 0)..(width, height): line, two lines, zigzag, cross, tangle."""
    kind = rng.choice(["line", "double", "slash", "zigzag", "cross", "tangle"])
    if kind in ("line", "double"):
        paths = []
        for y in [0.5] if kind == "line" else [0.38, 0.62]:
            start, end = height * (y + rng.normal(0, 0.08, 2))
            over = width * rng.uniform(0, 0.06) + 0.1 * height
            stroke = line(rng, width + 2 * over) - np.array([over, 0], np.float32)
            stroke[:, 1] += np.linspace(start, end, len(stroke))
            paths.append(stroke)
        return tuple(paths)
    if kind in ("slash", "cross"):
        edge = rng.normal(0, 0.06, 8) * height
        down = _through([(edge[0], edge[1]), (width + edge[2], height + edge[3])], 12 / height)
        rise = _through([(edge[4], height + edge[5]), (width + edge[6], edge[7])], 12 / height)
        strokes = [rise] if kind == "slash" else [down, rise]
        return tuple(wobble(stroke, rng, 0.02 * height) for stroke in strokes)
    if kind == "zigzag":
        count = max(4, int(width / height * rng.uniform(2, 5)))
        x = np.linspace(0, width, count) + rng.normal(0, 0.1 * width / count, count)
        heights = np.where(np.arange(count) % 2, 0.15, 0.85) * height + rng.normal(
            0, 0.06 * height, count
        )
        return (
            wobble(_through(list(zip(x, heights, strict=True)), 6 / height), rng, 0.02 * height),
        )
    turns = max(3, int(width / height * rng.uniform(1.5, 4)))
    t = np.linspace(0, 1, turns * 12)
    knots = np.linspace(0, 1, turns + 1)
    size = np.interp(t, knots, rng.uniform(0.6, 1.1, turns + 1))[:, None]
    radius = np.array([max(0.2 * height, 0.6 * width / turns), rng.uniform(0.3, 0.48) * height])
    spin = np.stack([np.cos(2 * np.pi * turns * t), np.sin(2 * np.pi * turns * t)], 1)
    pace = np.interp(t, knots, np.sort(np.append(rng.random(turns - 1), [0, 1])))
    middle = np.stack([(0.7 * t + 0.3 * pace) * width, np.full_like(t, height / 2)], 1)
    return (wobble(middle + spin * radius * size, rng, 0.05 * height),)


def box(rng: np.random.Generator, width: float, height: float) -> Paths:
    """A frame round (0, 0)..(width, height), in one stroke or four, corners overshot or open."""
    corners = np.array([(0, 0), (width, 0), (width, height), (0, height), (0, 0)], float)
    slip = 0.04 * min(width, height)
    if rng.random() < 0.5:
        corners += rng.normal(0, slip, corners.shape)
        dense = _through([(x, y) for x, y in corners], 16 / max(width, height))
        return (wobble(dense, rng, 0.25 * slip),)
    sides = []
    for start, end in itertools.pairwise(corners):
        ends = np.array([start, end]) + rng.normal(0, slip, (2, 2))
        dense = _through([(x, y) for x, y in ends], 16 / max(width, height))
        sides.append(wobble(dense, rng, 0.2 * slip))
    return tuple(sides)


def ellipse(rng: np.random.Generator, width: float, height: float) -> Paths:
    """A ring round (0, 0)..(width, height), its ends overlapping or not quite meeting."""
    start = rng.uniform(180, 330)
    turn = rng.uniform(340, 420) * rng.choice([-1, 1])
    ring = _arc((width / 2, height / 2), (width / 2, height / 2), start, start + turn, 36)
    drift = np.linspace(-1, 1, 36)[:, None] * rng.normal(0, 0.03, 2) * np.array([width, height])
    return (wobble(ring + drift, rng, 0.015 * min(width, height)),)


def arrow(rng: np.random.Generator, start: tuple[float, float], end: tuple[float, float]) -> Paths:
    """A bowed shaft from ``start`` to ``end`` and an open head."""
    a, b = np.array(start, float), np.array(end, float)
    along = b - a
    length = float(np.hypot(*along)) or 1.0
    t = np.linspace(0, 1, 12)[:, None]
    normal = np.array([-along[1], along[0]]) * rng.normal(0, 0.08)
    shaft = wobble(a + t * along + 4 * t * (1 - t) * normal, rng, 0.006 * length)
    tip = np.asarray(shaft[-1], float)
    heading = np.arctan2(*(tip - shaft[-4])[::-1])
    reach = min(0.3 * length, rng.uniform(0.12, 0.3) * length + 0.5)
    barbs = [heading + np.pi + side * rng.uniform(0.35, 0.7) for side in (-1, 1)]
    ends = [tip + reach * np.array([np.cos(angle), np.sin(angle)]) for angle in barbs]
    if rng.random() < 0.6:
        return shaft, np.array([ends[0], tip, ends[1]], np.float32)
    return shaft, np.array([tip, ends[0]], np.float32), np.array([tip, ends[1]], np.float32)


def tick(rng: np.random.Generator, size: float) -> Paths:
    """A tick mark about ``size`` tall, its lowest point near (0.3 size, size)."""
    corners = [(0.0, 0.6), (0.3, 1.0), (1.0 + rng.normal(0, 0.15), rng.normal(0, 0.1))]
    return (wobble(_through(corners) * size, rng, 0.02 * size),)


# --- symbols -------------------------------------------------------------------------------------


def _spread(rng: np.random.Generator, value: float, part: float = 0.07) -> float:
    return value * float(1 + rng.normal(0, part))


def _bar(rng: np.random.Generator, x: float, y: float, width: float) -> Path:
    return line(rng, width) + np.array([x, y], np.float32)


def _dot(rng: np.random.Generator, x: float, y: float, size: float = 0.06) -> Path:
    """A dab: a point, a short dash or a tiny ring."""
    size = _spread(rng, size, 0.3)
    kind = rng.random()
    if kind < 0.35:
        return np.array([(x, y)], np.float32)
    if kind < 0.75:
        angle = rng.uniform(0.2, 1.2)
        end = (x + size * np.cos(angle), y + size * np.sin(angle))
        return np.array([(x, y), end], np.float32)
    return _arc((x, y), (size / 2, size / 2), 0, 360, 7).astype(np.float32)


def _dot_mid(rng: np.random.Generator, style: float) -> Paths:
    return (_dot(rng, 0.05, AXIS + rng.normal(0, 0.04)),)


def _times(rng: np.random.Generator, style: float) -> Paths:
    size = _spread(rng, 0.36 + 0.22 * style)
    low = AXIS + size / 2 + rng.normal(0, 0.04)
    corner = rng.normal(0, 0.05 * size, (4, 2)) + np.array(
        [(0, low - size), (size, low), (size, low - size), (0, low)]
    )
    down, up = (_through([tuple(corner[i]), tuple(corner[i + 1])], 14) for i in (0, 2))
    return tuple(wobble(stroke, rng, 0.012) for stroke in (down, up))


def _divide(rng: np.random.Generator, style: float) -> Paths:
    width, gap = _spread(rng, 0.45 + 0.15 * style), _spread(rng, 0.2)
    middle = width / 2 + rng.normal(0, 0.04)
    return (
        _bar(rng, 0, AXIS, width),
        _dot(rng, middle, AXIS - gap),
        _dot(rng, middle + rng.normal(0, 0.03), AXIS + gap),
    )


def _approx(rng: np.random.Generator, style: float) -> Paths:
    width, gap = _spread(rng, 0.5 + 0.15 * style), _spread(rng, 0.2 + 0.06 * style)
    t = np.linspace(0, 1, 16)
    rise = _spread(rng, 0.07)
    waves = []
    for y in (AXIS - gap / 2, AXIS + gap / 2):
        wave = y - rise * np.sin(2 * np.pi * (t * rng.uniform(0.9, 1.1) + rng.normal(0, 0.03)))
        waves.append(wobble(np.stack([t * width, wave], 1), rng, 0.01))
    return tuple(waves)


def _plus_minus(rng: np.random.Generator, style: float) -> Paths:
    size = _spread(rng, 0.5)
    top = AXIS - 0.1 - size / 2
    upright = _through([(size / 2, top), (size / 2 + rng.normal(0, 0.03), top + size)], 12)
    return (
        wobble(upright, rng, 0.01),
        _bar(rng, 0, AXIS - 0.1, size),
        _bar(rng, rng.normal(0, 0.04), AXIS + size / 2 + rng.uniform(0.0, 0.1), size),
    )


def _parallel(rng: np.random.Generator, style: float) -> Paths:
    height, gap = _spread(rng, 0.8 + 0.5 * style), _spread(rng, 0.16 + 0.12 * style)
    lean = rng.normal(0, 0.02) + 0.15 * (style > 0.6)
    strokes = []
    for x in (0.0, gap):
        tall = _spread(rng, height, 0.05)
        low = AXIS + height / 2 + rng.normal(0, 0.04)
        upright = _through([(x + lean * tall, low - tall), (x + rng.normal(0, 0.02), low)], 10)
        strokes.append(wobble(upright, rng, 0.01))
    return tuple(strokes)


def _right_arrow(rng: np.random.Generator, style: float) -> Paths:
    y = AXIS + rng.normal(0, 0.04)
    length = _spread(rng, 0.7 + 0.5 * style)
    return arrow(rng, (0.0, y), (length, y + float(rng.normal(0, 0.03))))


def _implies(rng: np.random.Generator, style: float) -> Paths:
    length, gap = _spread(rng, 0.6 + 0.3 * style), _spread(rng, 0.2)
    reach = _spread(rng, 0.26)
    tip = (length + 0.14, AXIS + rng.normal(0, 0.02))
    head = [(length - 0.1, AXIS - reach), tip, (length - 0.1, AXIS + reach)]
    return (
        _bar(rng, 0, AXIS - gap / 2, length),
        _bar(rng, 0, AXIS + gap / 2, length),
        wobble(_through(head, 12), rng, 0.01),
    )


def _therefore(rng: np.random.Generator, style: float) -> Paths:
    width, height = _spread(rng, 0.4), _spread(rng, 0.4)
    places = [(width / 2, -height - 0.1), (0.0, -0.1), (width, -0.1)]
    return tuple(_dot(rng, x + rng.normal(0, 0.03), y + rng.normal(0, 0.03)) for x, y in places)


def _delta(rng: np.random.Generator, style: float) -> Paths:
    width, height = _spread(rng, 0.75), _spread(rng, 1.0, 0.05)
    left, apex, right = (0.0, 0.0), (width * _spread(rng, 0.5, 0.1), -height), (width, 0.0)
    slips = [(float(x), float(y)) for x, y in rng.normal(0, 0.025, (4, 2))]

    def near(point: tuple[float, float], i: int) -> tuple[float, float]:
        return point[0] + slips[i][0], point[1] + slips[i][1]

    if style < 0.4:  # one stroke from the apex, round
        return (wobble(_through([apex, left, right, near(apex, 0)]), rng, 0.012),)
    if style < 0.75:  # one stroke from the left foot
        return (wobble(_through([left, apex, right, near(left, 0)]), rng, 0.012),)
    roof = wobble(_through([left, apex, right]), rng, 0.012)
    return roof, wobble(_through([near(left, 1), near(right, 2)]), rng, 0.012)


def _micro(rng: np.random.Generator, style: float) -> Paths:
    """A long left stem, a bowl, a right stem that may end in a tail."""
    tall, deep, width = _spread(rng, 0.66), _spread(rng, 0.38), _spread(rng, 0.48)
    lean = 0.12 * style
    bowl = _arc((width / 2, -0.18), (width / 2, 0.18 + rng.normal(0, 0.02)), 180, 0, 10)
    stem = _through([(lean, -tall), (-lean * deep / tall, deep)], 14)
    right = _through([(width, -0.18), (width + lean * 0.8, -tall)], 14)
    tail = _arc((width + 0.12, -0.14), (0.12, 0.14 + rng.normal(0, 0.02)), 180, 60, 7)
    if style < 0.3:  # stem up from below, retraced down into the bowl, in one stroke
        entry = _through([(lean, -tall), (0.0, -0.18)], 10)
        back = right[::-1]
        return (wobble(np.concatenate([stem[::-1], entry, bowl, right, back, tail]), rng, 0.012),)
    if style < 0.65:  # the u first, then its stem
        entry = _through([(lean, -tall), (0.0, -0.18)], 10)
        u = np.concatenate([entry, bowl, right, right[::-1], tail])
        return wobble(u, rng, 0.012), wobble(_through([(0.0, -0.2), (-0.06, deep)]), rng, 0.01)
    cup = np.concatenate([_arc((width / 2, -0.18), (width / 2, 0.18), 175, 0, 10), right])
    return wobble(stem, rng, 0.012), wobble(cup, rng, 0.012)


def _ohm(rng: np.random.Generator, style: float) -> Paths:
    """A loop open below, with feet; with round or flat joints."""
    width, height, foot = _spread(rng, 0.72), _spread(rng, 1.0, 0.05), _spread(rng, 0.2)
    opening = rng.uniform(22, 40)
    middle = width / 2 + foot * 0.6
    radius = height * rng.uniform(0.44, 0.49)
    ring = _arc((middle, -height + radius), (width / 2, radius), 90 + opening, 450 - opening, 22)
    (x0, _), (x1, _) = ring[0], ring[-1]
    dip = rng.normal(0, 0.03)
    if style < 0.6:
        start = _through([(x0 - foot - 0.08, dip), (x0, 0.0)], 12)
        end = _through([(x1, 0.0), (x1 + foot + 0.08, rng.normal(0, 0.03))], 12)
    else:  # curled feet
        start = np.array([(x0 - foot, -0.1), (x0 - 0.6 * foot, 0.0), (x0, -0.02)])
        end = np.array([(x1, -0.02), (x1 + 0.6 * foot, 0.0), (x1 + foot, -0.12)])
    return (wobble(np.concatenate([start, ring, end]), rng, 0.012),)


SYMBOLS: dict[str, Callable[[np.random.Generator, float], Paths]] = {
    "·": _dot_mid,
    "×": _times,
    "÷": _divide,
    "≈": _approx,
    "±": _plus_minus,
    "∥": _parallel,
    "→": _right_arrow,
    "⇒": _implies,
    "∴": _therefore,
    "Δ": _delta,
    "µ": _micro,
    "Ω": _ohm,
}


def symbol(character: str, rng: np.random.Generator, style: float) -> Paths:
    """Fresh strokes of one of SYMBOLS in em units; KeyError for any other character."""
    return SYMBOLS[character](rng, style)
