"""Paper: its tone, its printed ruling, its wear; and the desk beneath it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from checker.training.draw import grain, pick, smooth
from checker.training.marks import Mark

RULINGS = ("blank", "ruled", "grid", "dotted")
Colour = tuple[int, int, int]
Window = tuple[float, float, float, float]

_PRINT: tuple[Colour, ...] = ((110, 140, 200), (130, 130, 140), (120, 165, 140), (150, 120, 170),
                              (95, 110, 150), (180, 150, 120))  # fmt: skip
_RED: Colour = (205, 90, 100)
_PITCHES = {"blank": (8.0,), "ruled": (6.0, 7.1, 8.0, 8.7, 10.0),
            "grid": (4.0, 5.0, 5.0, 6.0, 6.35), "dotted": (4.0, 5.0, 5.0, 6.0)}  # fmt: skip
_TINTS = ((1.0, 1.0, 1.0),) * 5 + ((1.0, 0.98, 0.92),) * 2 + ((0.97, 0.98, 1.0), (1.0, 0.96, 0.85))


@dataclass(frozen=True)
class Ruling:
    """A printed ruling; lengths in mm, ``phase`` = a point of the lattice on the sheet."""

    kind: str  # blank | ruled | grid | dotted
    pitch: float = 8.0
    phase: tuple[float, float] = (0.0, 0.0)
    width: float = 0.15  # line width or dot diameter
    strength: float = 0.5  # darkness 0..1
    colour: Colour = (120, 150, 200)
    margin: float | None = None  # x of the red margin line
    every: int = 0  # each so many grid lines one is stronger; 0: none


@dataclass(frozen=True)
class Paper:
    """The look of one sheet, colours RGB in 0..1."""

    tone: tuple[float, float, float]
    texture: float  # relative deviation of the fine grain
    mottle: float  # relative deviation of centimetre-sized clouds
    show_through: float  # darkness of the back side's writing
    folds: tuple[tuple[bool, float, float], ...]  # (across?, position 0..1, brightness step)
    holes: str  # none | punched | spiral
    stain: bool


def choose_ruling(kind: str, rng: np.random.Generator) -> Ruling:
    """A ruling of this kind as stationers print them; "any" picks the kind too."""
    if kind == "any":
        kind = pick(rng, ("blank", *RULINGS))
    if kind not in RULINGS:
        raise ValueError(f"ruling {kind!r}: use one of {', '.join(RULINGS)} or any")
    pitch = float(pick(rng, _PITCHES[kind]))
    dots = kind == "dotted"
    return Ruling(
        kind,
        pitch,
        (float(rng.uniform(0, pitch)), float(rng.uniform(0, pitch))),
        float(rng.uniform(0.25, 0.5) if dots else rng.uniform(0.08, 0.22)),
        float(rng.uniform(0.15, 0.65) if dots else rng.uniform(0.15, 0.85)),
        pick(rng, _PRINT),
        float(rng.uniform(18, 35)) if kind == "ruled" and rng.random() < 0.5 else None,
        pick(rng, (0, 0, 0, 5, 10)) if kind == "grid" else 0,
    )


def ruling_marks(ruling: Ruling, window: Window) -> tuple[Mark, ...]:
    """The ruling inside ``window`` (x0, y0, x1, y1 mm) as printed marks."""
    if ruling.kind == "blank":
        return ()
    x0, y0, x1, y1 = window
    xs = _lattice(x0, x1, ruling.pitch, ruling.phase[0])
    ys = _lattice(y0, y1, ruling.pitch, ruling.phase[1])

    def lines(at: np.ndarray, lo: float, hi: float, upright: bool) -> tuple[np.ndarray, ...]:
        along = np.linspace(lo, hi, max(2, int((hi - lo) / 8) + 2))
        columns = [(np.full_like(along, v), along) for v in at.tolist()]
        return tuple(np.stack(c if upright else c[::-1], axis=1) for c in columns)

    def mark(paths: tuple[np.ndarray, ...], width: float, strength: float, c: Colour) -> Mark:
        return Mark(paths, False, width, min(strength, 1.0), c)

    if ruling.kind == "dotted":
        dots = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 1, 2)
        return (mark(tuple(dots), ruling.width, ruling.strength, ruling.colour),)
    level = lines(ys, x0, x1, False)
    out = [mark(level, ruling.width, ruling.strength, ruling.colour)]
    if ruling.kind == "grid":
        upright = lines(xs, y0, y1, True)
        out.append(mark(upright, ruling.width, ruling.strength, ruling.colour))
        if ruling.every:
            strong = level[:: ruling.every] + upright[:: ruling.every]
            out.append(mark(strong, ruling.width * 1.6, ruling.strength * 1.4, ruling.colour))
    if ruling.margin is not None and x0 < ruling.margin < x1:
        edge = lines(np.array([ruling.margin]), y0, y1, True)
        out.append(mark(edge, ruling.width * 1.2, ruling.strength, _RED))
    return tuple(out)


def _lattice(low: float, high: float, pitch: float, phase: float) -> np.ndarray:
    first = int(np.ceil((low - phase) / pitch))
    last = int(np.floor((high - phase) / pitch))
    return phase + pitch * np.arange(first, last + 1)


def choose_paper(rng: np.random.Generator, severity: float = 1.0) -> Paper:
    """A sheet as it lies on a desk."""
    tint = np.array(pick(rng, _TINTS))
    r, g, b = (float(v) for v in tint * rng.uniform(0.84, 0.96) + rng.normal(0, 0.008, 3))
    folds: list[tuple[bool, float, float]] = []
    if rng.random() < 0.25 * severity:
        folds.append((True, float(rng.normal(0.5, 0.03)), float(rng.normal(0, 0.04))))
        if rng.random() < 0.5:
            folds.append((False, float(rng.normal(0.5, 0.03)), float(rng.normal(0, 0.04))))
    return Paper(
        (r, g, b),
        float(rng.uniform(0.002, 0.012) * severity),
        float(rng.uniform(0.0, 0.012) * severity),
        float(rng.uniform(0.02, 0.14)) if rng.random() < 0.25 * severity else 0.0,
        tuple(folds),
        pick(rng, ("none",) * 7 + ("punched", "punched", "spiral")),
        bool(rng.random() < 0.06 * severity),
    )


def fibre(rng: np.random.Generator, shape: tuple[int, int], paper: Paper) -> np.ndarray:
    """The paper's fine grain about 1, float32 (H, W)."""
    soft = np.asarray(cv2.GaussianBlur(grain(rng, shape), (3, 3), 0.7))
    return soft * np.float32(2 * paper.texture) + np.float32(1)


def mottle(rng: np.random.Generator, shape: tuple[int, int], paper: Paper) -> np.ndarray:
    """Clouds in the paper about 1, float32 (H, W), for a coarse picture."""
    clouds = smooth(rng, shape, (max(2, shape[0] // 8), max(2, shape[1] // 8)))
    return 1 + clouds * np.float32(paper.mottle)


def outline(size: tuple[float, float], paper: Paper, rng: np.random.Generator) -> np.ndarray:
    """The sheet's edge as a closed polygon in mm, a point every few mm so that it can curl."""
    width, height = size
    n = 24
    t = np.linspace(0, 1, n, endpoint=False)
    top = np.stack((t * width, np.zeros(n)), 1)
    right = np.stack((np.full(n, width), t * height), 1)
    left = np.stack((np.zeros(n), (1 - t) * height), 1)
    if paper.holes == "spiral":  # the torn edge of a page from a spiral pad
        k = int(height / 4)
        y = (np.linspace(1, 0, 2 * k, endpoint=False)) * height
        left = np.stack(
            (np.where(np.arange(2 * k) % 2, 0.0, 2.2) + rng.uniform(0, 0.6, 2 * k), y), 1
        )
    return np.concatenate((top, right, np.stack((width - t * width, np.full(n, height)), 1), left))


def holes(size: tuple[float, float], paper: Paper) -> list[np.ndarray]:
    """Outlines in mm of the holes in the sheet."""
    width, height = size
    if paper.holes == "none" or width < 60:
        return []
    if paper.holes == "punched":  # ISO 838: 6 mm holes, 80 mm apart, 12 mm from the edge
        radius, centres = 3.0, [(12.0, height / 2 - 40), (12.0, height / 2 + 40)]
    else:
        radius, centres = 1.9, [(5.5, y) for y in np.arange(6.0, height - 4, 8.5).tolist()]
    angle = np.linspace(0, 2 * np.pi, 14, endpoint=False)
    ring = radius * np.stack((np.cos(angle), np.sin(angle)), 1)
    return [ring + centre for centre in centres]


_DESKS: tuple[Colour, ...] = (
    (176, 126, 76), (120, 82, 52), (205, 175, 135), (70, 55, 45), (230, 228, 222), (60, 62, 66),
    (25, 25, 28), (150, 152, 156), (190, 90, 85), (70, 95, 130), (90, 120, 90), (215, 200, 185),
)  # fmt: skip


def desk(shape: tuple[int, int], rng: np.random.Generator) -> np.ndarray:
    """A table top with some clutter, (H, W, 3) uint8 RGB."""
    height, width = max(8, shape[0] // 2), max(8, shape[1] // 2)
    base = np.array(pick(rng, _DESKS), np.float32)
    kind = pick(rng, ("plain", "plain", "wood", "wood", "wood", "speckle", "cloth"))
    field: Any = smooth(rng, (height, width), (4, 4)) * np.float32(0.03)
    if kind == "wood":
        for fine, strength in ((14, 0.09), (60, 0.06), (200, 0.05)):
            field += smooth(rng, (height, width), (3 + fine // 40, fine)) * np.float32(strength)
        bend = (smooth(rng, (height, width), (3, 2)) * np.float32(width / 60)).astype(np.float32)
        gx, gy = np.meshgrid(
            np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32)
        )
        field = cv2.remap(field, gx + bend, gy, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
        if rng.random() < 0.5:
            field = np.ascontiguousarray(cv2.resize(field.T, (width, height)))
    elif kind == "speckle":
        field += smooth(rng, (height, width), (height // 2, width // 2)) * np.float32(0.06)
        field += smooth(rng, (height, width), (height // 12, width // 12)) * np.float32(0.05)
    elif kind == "cloth":
        period = rng.uniform(5, 14)
        wave = np.sin(np.arange(width) * 2 * np.pi / period)[None, :]
        weft = np.sin(np.arange(height) * 2 * np.pi / period)[:, None]
        field += np.float32(0.05) * (wave * weft).astype(np.float32)
        field += smooth(rng, (height, width), (height // 3, width // 3)) * np.float32(0.05)
    field += 1
    planes = [cv2.convertScaleAbs(field * v) for v in base.tolist()]
    out = cv2.merge(planes)
    _clutter(out, rng)
    return cv2.resize(out, (shape[1], shape[0]), interpolation=cv2.INTER_LINEAR)


def _clutter(image: np.ndarray, rng: np.random.Generator) -> None:
    height, width = image.shape[:2]
    span = np.array((width, height))
    for _ in range(int(rng.poisson(0.7))):  # other sheets, books
        centre = rng.uniform(-0.1, 1.1, 2) * span
        half = rng.uniform(0.15, 0.5, 2) * span
        corners = _turned(half, rng.uniform(-0.5, 0.5)) + centre
        shade = rng.uniform(180, 245) * np.array((1, 0.99, 0.96))
        if rng.random() < 0.4:
            shade = rng.uniform(20, 220, 3)
        cv2.fillPoly(image, [np.rint(corners).astype(np.int32)], shade.tolist(), cv2.LINE_AA)
    for _ in range(int(rng.poisson(0.5))):  # pens
        a = rng.uniform(0, 1, 2) * span
        angle, length = rng.uniform(0, 2 * np.pi), 0.45 * height
        b = a + length * np.array((np.cos(angle), np.sin(angle)))
        thick = max(2, round(0.02 * height))
        tip = tuple(int(v) for v in b)
        cv2.line(image, tuple(int(v) for v in a), tip, rng.uniform(0, 230, 3).tolist(), thick)
        neck = tuple(int(v) for v in b - 0.12 * (b - a))
        cv2.line(image, neck, tip, rng.uniform(0, 230, 3).tolist(), thick)


def _turned(half: np.ndarray, angle: float) -> np.ndarray:
    corners = np.array(((-1, -1), (1, -1), (1, 1), (-1, 1))) * half
    c, s = np.cos(angle), np.sin(angle)
    return corners @ np.array(((c, s), (-s, c)))
