"""The vector page: marks of a pen in millimetres, before any camera.

Coordinates are millimetres on the sheet, x to the right, y down.  Keeping ink as vectors until the
camera draws it keeps every edge crisp at any resolution and every box exact under any warp.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Glyph:
    """One written symbol in em units: baseline at y = 0, y down, digits' height = 1 (top y = -1).

    ``paths``: float32 arrays (n, 2).  ``filled``: paths are closed outlines filled by the even-odd
    rule (fonts); otherwise they are pen centre lines in writing order.  x starts near 0;
    ``advance`` is the width up to where the next glyph may start (without letter spacing).
    """

    paths: tuple[np.ndarray, ...]
    filled: bool
    advance: float


@dataclass(frozen=True)
class Mark:
    """Ink on the sheet: paths in mm; pen width in mm (0 for filled outlines); darkness 0..1."""

    paths: tuple[np.ndarray, ...]
    filled: bool
    width: float
    darkness: float = 1.0
    colour: tuple[int, int, int] = (40, 35, 30)  # RGB of the ink itself


@dataclass(frozen=True)
class Sheet:
    """A sheet with everything on it, before the camera.  ``ruling`` is drawn by the camera."""

    size: tuple[float, float]  # width, height in mm
    marks: tuple[Mark, ...]
    ruling: str = "blank"  # blank | ruled | grid | dotted
