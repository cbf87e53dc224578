"""Tells a picture of typed text made by a computer from a photo or a scan of paper."""

from __future__ import annotations

from collections import Counter

import cv2
import numpy as np

_FLAT = 0.6  # share of pixels exactly like their neighbours; noisy photos: below 0.5
_AGAIN = 0.4  # share of characters that occur again pixel by pixel; pens never do that
_LEAST, _MOST = 7, 200  # pixels, height of a character
_ENOUGH = 30  # characters


def is_screenshot(colour: np.ndarray) -> bool:
    """Whether an RGB picture (height, width, 3) has a screen's even ground and repeated characters.

    Even ground alone would not do: scanners and strong compression make it too.
    """
    rows = np.linspace(0, colour.shape[0] - 2, 64).astype(int)
    here, below = colour[rows], colour[rows + 1]
    same = (here[:, 1:] == here[:, :-1]).all(axis=2) & (here == below).all(axis=2)[:, 1:]
    if float(same.mean()) < _FLAT:
        return False
    grey = cv2.cvtColor(colour, cv2.COLOR_RGB2GRAY)
    ground = int(np.bincount(grey.ravel(), minlength=256).argmax())
    ink = (cv2.absdiff(grey, np.full_like(grey, ground)) > 80).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(ink)
    seen: Counter[tuple[int, bytes]] = Counter()
    for k in range(1, count):
        left, top, width, height, _ = stats[k]
        if _LEAST <= height <= _MOST and 2 <= width <= _MOST:
            part = labels[top : top + height, left : left + width] == k
            seen[int(width), np.packbits(part).tobytes()] += 1
    again = sum(times for times in seen.values() if times > 1)
    return sum(seen.values()) >= _ENOUGH and again > _AGAIN * sum(seen.values())
