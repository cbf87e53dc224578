"""Other forms of the same sign, drawn onto the strokes of a hand that has none of them.

Few writers of the archive write a one with flag and foot, a seven with a bar, or a zero whose end
runs on into it, and hooks where a stroke begins and ends differ from hand to hand.  Forms are
common practice, no source; how often each comes is a guess.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from checker.training.marks import Glyph

Rng = np.random.Generator
Form = Callable[[Glyph, Rng], Glyph]

_SHARE = {"1": 0.35, "7": 0.25, "0": 0.12, "Z": 0.2, "z": 0.2}  # of pages with the sign's own form
_HOOKED = 0.12  # share of a page's other signs whose strokes begin or end with a hook
_SLIM = 0.3  # width over height of a one that is a mere stroke
_HOOKS = frozenset("2345689abcdefghkmnpqrstuvwyABCDEFGJLPQRSUVW")


def form_of(character: str, rng: Rng) -> Form | None:
    """The form that a page writes a character in, if it is another than the hand's own."""
    if rng.random() < _SHARE.get(character, 0.0):
        if character == "1":
            return _one(rng)
        return _running_on if character == "0" else _barred
    if character in _HOOKS and rng.random() < _HOOKED:
        return _hooked(at_start=bool(rng.random() < 0.5))
    return None


def _one(rng: Rng) -> Form:
    """A one with a flag, a foot, or both."""
    flag, foot = rng.random() < 0.8, rng.random() < 0.6
    reach, drop = rng.uniform(0.1, 0.42), rng.uniform(-0.02, 0.4)
    left, right = rng.uniform(0.1, 0.4, 2)

    def form(glyph: Glyph, rng: Rng) -> Glyph:
        points = np.concatenate(glyph.paths)
        if np.ptp(points[:, 0]) > _SLIM * np.ptp(points[:, 1]):
            return glyph
        paths = list(glyph.paths)
        top, bottom = points[points[:, 1].argmin()], points[points[:, 1].argmax()]
        near = rng.normal(0, 0.03, (5, 2))
        if flag:
            tip = top + [-reach, drop] + near[0]
            bow = (tip + top) / 2 + near[1]
            paths.append(np.array([tip, bow, top + near[2] / 3], np.float32))
        if foot:
            ends = [bottom + [-left, 0] + near[3], bottom + [right, 0] + near[4]]
            paths.append(np.array(ends, np.float32))
        return _of(paths)

    return form


def _barred(glyph: Glyph, rng: Rng) -> Glyph:
    """A short bar through the slanting stroke, where there is none."""
    if len(glyph.paths) > 1:
        return glyph
    points = np.concatenate(glyph.paths)
    low, high = points[:, 1].min(), points[:, 1].max()
    level = low + (high - low) * rng.uniform(0.42, 0.62)
    stroke = max(glyph.paths, key=lambda path: float(np.ptp(path[:, 1])))
    below = np.flatnonzero(stroke[:, 1] >= level)
    if not below.size or below[0] == 0:
        return glyph
    a, b = stroke[below[0] - 1], stroke[below[0]]
    x = a[0] + (b[0] - a[0]) * (level - a[1]) / max(b[1] - a[1], 1e-3)
    half, tilt = rng.uniform(0.12, 0.26), rng.normal(0, 0.04)
    bar = np.array([[x - half, level + tilt], [x + half, level - tilt]], np.float32)
    return _of([*glyph.paths, bar])


def _running_on(glyph: Glyph, rng: Rng) -> Glyph:
    """The end of a ring that runs on inside it, or beyond, in one sign of three."""
    if rng.random() > 1 / 3:
        return glyph
    *others, ring = glyph.paths
    middle = (ring.min(0) + ring.max(0)) / 2
    end = ring[-1]
    inward = middle - end
    towards = inward * rng.uniform(0.25, 0.7) if rng.random() < 0.6 else -inward * 0.3
    aside = np.array([-inward[1], inward[0]]) * rng.uniform(-0.4, 0.4)
    more = np.stack([end + towards / 2 + aside, end + towards + aside / 2])
    return _of([*others, np.concatenate([ring, more.astype(np.float32)])])


def _hooked(at_start: bool) -> Form:
    """A hook where the first stroke begins, or where the last one ends."""

    def form(glyph: Glyph, rng: Rng) -> Glyph:
        paths = list(glyph.paths)
        path = paths[0][::-1] if at_start else paths[-1]
        if len(path) < 2:
            return glyph
        way = path[-1] - path[-2]
        turn = rng.uniform(-1.4, 1.4) + np.arctan2(way[1], way[0])
        length = rng.uniform(0.04, 0.16)
        tip = path[-1] + length * np.array([np.cos(turn), np.sin(turn)])
        longer = np.concatenate([path, tip[None].astype(np.float32)])
        if at_start:
            paths[0] = longer[::-1]
        else:
            paths[-1] = longer
        return _of(paths)

    return form


def _of(paths: list[np.ndarray]) -> Glyph:
    """A glyph of pen strokes whose x begins at 0."""
    points = np.concatenate(paths)
    left = np.array([points[:, 0].min(), 0], np.float32)
    moved = tuple(np.asarray(path - left, np.float32) for path in paths)
    return Glyph(moved, False, float(np.ptp(points[:, 0])))
