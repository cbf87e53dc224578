"""Pictures made small, each pixel the mean of those it stands for."""

from __future__ import annotations

import cv2
import numpy as np


def smaller(image: np.ndarray, factor: float) -> np.ndarray:
    """``image`` (grey or RGB, uint8) with both sides ``factor`` (at most 1) times as long."""
    height, width = image.shape[:2]
    size = max(round(width * factor), 1), max(round(height * factor), 1)
    # Halving is many times as quick as any other scale.
    while image.shape[0] >= 2 * size[1] and image.shape[1] >= 2 * size[0]:
        image = cv2.resize(image, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    return cv2.resize(image, size, interpolation=cv2.INTER_AREA)
