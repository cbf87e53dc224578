"""Where the camera stands: sheet millimetres to picture pixels, over a sheet that is not flat."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np

from checker.training.marks import Sheet


@dataclass(frozen=True)
class View:
    """A pinhole camera over a wavy sheet; call it with (n, 2) mm to get (n, 2) px."""

    size: tuple[float, float]  # of the sheet, mm
    waves: np.ndarray  # (k, 4): amplitude mm, cycles along x, along y, phase
    rotation: np.ndarray  # (3, 3)
    distance: float  # mm
    distortion: float  # radial, at one sheet diagonal's half
    zoom: float
    shift: tuple[float, float]
    scale: float = 1.0  # typical px per mm

    def __call__(self, mm: np.ndarray) -> np.ndarray:
        mm = np.asarray(mm, np.float64)
        unit = mm / self.size
        flat = mm - np.array(self.size) / 2
        x, y = flat[:, 0], flat[:, 1]
        z = self.height(unit[:, 0], unit[:, 1])
        r = self.rotation
        across = r[0, 0] * x + r[0, 1] * y + r[0, 2] * z
        down = r[1, 0] * x + r[1, 1] * y + r[1, 2] * z
        depth = 1 + (r[2, 0] * x + r[2, 1] * y + r[2, 2] * z) / self.distance
        out = np.empty((len(mm), 2))
        out[:, 0] = across / depth
        out[:, 1] = down / depth
        if self.distortion:
            reach = float(np.hypot(*self.size)) / 2
            out *= 1 + self.distortion * ((out / reach) ** 2).sum(1, keepdims=True)
        out *= self.zoom
        out += self.shift
        return out

    def height(self, u: np.ndarray, v: np.ndarray) -> np.ndarray:
        """Height of the sheet above the desk in mm at unit coordinates."""
        z = np.zeros(np.broadcast(u, v).shape)
        for amplitude, fx, fy, phase in self.waves.tolist():
            z += amplitude * np.sin(2 * np.pi * (fx * u + fy * v) + phase)
        return z

    def resized(self, factor: float) -> View:
        """The same view in a picture ``factor`` times as large."""
        a, b = ((s + 0.5) * factor - 0.5 for s in self.shift)
        return replace(self, zoom=self.zoom * factor, shift=(a, b), scale=self.scale * factor)

    def shading(
        self, rng: np.random.Generator, folds: tuple[tuple[bool, float, float], ...]
    ) -> np.ndarray:
        """Brightness by the sheet's slopes and folds over the whole sheet, (96, 72) float32."""
        rows, columns = 96, 72
        u, v = np.meshgrid(np.linspace(0, 1, columns), np.linspace(0, 1, rows))
        dv, du = np.gradient(self.height(u, v))
        angle, low = rng.uniform(0, 2 * np.pi), rng.uniform(0.2, 0.8)  # a lamp from the side
        slope = np.cos(angle) * du * columns / self.size[0]
        slope += np.sin(angle) * dv * rows / self.size[1]
        out = 1 + low * slope
        for across, position, step in folds:
            d = (v if across else u) - position
            out *= 1 + step * np.sign(d) * np.exp(-np.abs(d) * 6)
            out *= 1 - 0.06 * np.exp(-((d * 90) ** 2))
        return np.clip(out, 0.5, 1.3).astype(np.float32)


def phone_view(
    sheet: Sheet, rng: np.random.Generator, megapixels: float, severity: float
) -> tuple[View, tuple[int, int]]:
    """A hand-held phone above the sheet: the view and the picture's (height, width)."""
    sx, sy = rng.normal(0, 9 * severity, 2)
    turn = rng.normal(0, 3.5 * severity)
    count = int(rng.integers(2, 5))
    waves = np.stack(
        (rng.normal(0, 1.6 * severity, count) * sheet.size[0] / 210, rng.normal(0, 0.8, count),
         rng.normal(0, 0.8, count), rng.uniform(0, 2 * np.pi, count)), axis=1)  # fmt: skip
    diagonal = float(np.hypot(*sheet.size))
    view = View(
        sheet.size, waves, _rotation(np.clip(sx, -28, 28), np.clip(sy, -28, 28), turn),
        diagonal * rng.uniform(1.1, 2.2), float(rng.normal(0, 0.008 * severity)), 1.0, (0.0, 0.0)
    )  # fmt: skip
    if sheet.marks and rng.random() < 0.3:  # close to the writing
        room = 10.0
        points = np.concatenate([path for mark in sheet.marks for path in mark.paths])
        low, high = points.min(0) - room, points.max(0) + room
    else:
        low, high = np.zeros(2), np.array(sheet.size)
    margin = rng.uniform(0.0, 0.08) if rng.random() < 0.85 else rng.uniform(0.08, 0.18)
    return _framed(view, low, high, rng, megapixels, margin)


def flat_view(
    sheet: Sheet, rng: np.random.Generator, megapixels: float, severity: float
) -> tuple[View, tuple[int, int]]:
    """A scanner's view: flat, hardly turned."""
    turn = rng.normal(0, 0.7 * severity)
    view = View(sheet.size, np.zeros((0, 4)), _rotation(0, 0, turn), 1e9, 0.0, 1.0, (0.0, 0.0))
    margin = 0.0 if rng.random() < 0.7 else rng.uniform(0, 0.03)
    return _framed(view, np.zeros(2), np.array(sheet.size), rng, megapixels, margin, tight=True)


def _framed(
    view: View,
    low: np.ndarray,
    high: np.ndarray,
    rng: np.random.Generator,
    megapixels: float,
    margin: float,
    tight: bool = False,
) -> tuple[View, tuple[int, int]]:
    """Zoom and shift so that the mm box ``low``..``high`` fills the frame but for a margin."""
    t = np.linspace(0, 1, 9)
    ends = np.stack(np.meshgrid(t, t), -1).reshape(-1, 2)
    seen = view(low + ends * (high - low))
    corner, span = seen.min(0), np.ptp(seen, axis=0)
    if tight:
        shape = float(span[0] / span[1])
    else:
        shape = 3 / 4 if span[1] >= span[0] else 4 / 3
        if rng.random() < 0.2:
            shape = 9 / 16 if shape < 1 else 16 / 9
    width = round(np.sqrt(megapixels * 1e6 * shape))
    height = round(width / shape)
    frame = np.array((width, height))
    zoom = float((frame * (1 - 2 * margin) / span).min())
    slack = frame - zoom * span
    shift = slack * rng.uniform(0.2, 0.8, 2) - 0.5 - zoom * corner
    framed = replace(view, zoom=zoom, shift=(float(shift[0]), float(shift[1])))
    probe = framed((low + high) / 2 + np.array(((0, 0), (1, 0), (0, 1))))
    (a, b), (c, d) = probe[1] - probe[0], probe[2] - probe[0]
    return replace(framed, scale=float(np.sqrt(abs(a * d - b * c)))), (height, width)


def _rotation(tilt: float, pan: float, roll: float) -> np.ndarray:
    """Rotation about x, then y, then z; degrees."""
    out = np.eye(3)
    for axis, degrees in zip(np.eye(3), (tilt, pan, roll), strict=True):
        out = cv2.Rodrigues(axis * np.radians(degrees))[0] @ out
    return out
