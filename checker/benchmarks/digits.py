"""Digits written by real people, outside the project."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import cv2
import numpy as np

from checker.reading.page import LineReader


def digit_rows(count: int) -> Iterator[tuple[np.ndarray, str]]:
    """Rows of five of the UCI optical digits that scikit-learn bundles: 8x8 pixels, enlarged."""
    from sklearn.datasets import load_digits

    data = load_digits()
    rng = np.random.default_rng(5)
    for _ in range(count):
        picked = rng.integers(0, len(data.images), 5)
        parts = []
        for k in picked:
            ink = data.images[k].astype(np.float32) * 16
            big = np.clip(cv2.resize(ink, (44, 56), interpolation=cv2.INTER_CUBIC), 0, 255)
            parts.append(np.pad(big, ((12, 12), (3, 3))))
        image = 255 - np.concatenate(parts, 1).astype(np.uint8)
        yield cv2.GaussianBlur(image, (0, 0), 1.2), "".join(map(str, data.target[picked]))


def digits_right(reader: LineReader, rows: Sequence[tuple[np.ndarray, str]]) -> tuple[int, int]:
    """Digits read right (rows of another length count as wrong), and digits."""
    found = reader.read([image for image, _ in rows])
    right = sum(
        sum(a == b for a, b in zip(candidates[0].text, truth, strict=True))
        for candidates, (_, truth) in zip(found, rows, strict=True)
        if len(candidates[0].text) == len(truth)
    )
    return right, 5 * len(rows)
