"""Lines that are read with doubt are read again, made narrower and then wider.

That moves every pixel; what is really there survives it, a guess seldom does.  The readings count
together: the mean of their probabilities.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np

from checker.reading.page import Candidate, LineReader

_DOUBT = 0.9  # by the reader itself, below which a line is looked at again
_WIDTHS = (0.9, 1.12)  # times the usual
_LEAST = 1e-3  # what is less likely than this is no alternative


def look_again(
    images: Sequence[np.ndarray], texts: Sequence[tuple[Candidate, ...]], reader: LineReader
) -> list[tuple[Candidate, ...]]:
    """The texts read from pictures of lines, the doubtful ones read from further widths as well:
    from the first of ``_WIDTHS``, and from the second where that reads otherwise.

    Boxes are in pixels of ``images``.
    """
    readings = {k: [found] for k, found in enumerate(texts)}
    again = [k for k, found in enumerate(texts) if found[0].probability < _DOUBT]
    for times in _WIDTHS:
        wide = [_widened(images[k], times) for k in again]
        for k, found in zip(again, reader.read(wide) if wide else (), strict=True):
            readings[k].append(tuple(_moved(one, times) for one in found))
        again = [k for k in again if readings[k][0][0].text != readings[k][-1][0].text]
    return [together(found) if len(found) > 1 else found[0] for found in readings.values()]


def together(readings: Sequence[Sequence[Candidate]]) -> tuple[Candidate, ...]:
    """One list of candidates from several, likeliest first; tokens are the first reading's."""
    chances: dict[str, float] = {}
    first: dict[str, Candidate] = {}
    for found in readings:
        for one in found:
            chances[one.text] = chances.get(one.text, 0.0) + one.probability / len(readings)
            first.setdefault(one.text, one)
    merged = [replace(first[text], probability=chance) for text, chance in chances.items()]
    merged.sort(key=lambda one: -one.probability)
    return tuple(one for at, one in enumerate(merged) if at == 0 or one.probability > _LEAST)


def _widened(image: np.ndarray, times: float) -> np.ndarray:
    size = (max(round(image.shape[1] * times), 1), image.shape[0])
    how = cv2.INTER_AREA if times < 1 else cv2.INTER_CUBIC
    return cv2.resize(image, size, interpolation=how)


def _moved(candidate: Candidate, times: float) -> Candidate:
    """Boxes in pixels of the usual picture."""
    return replace(
        candidate,
        tokens=tuple(
            replace(token, box=(x0 / times, y0, x1 / times, y1))
            for token in candidate.tokens
            for x0, y0, x1, y1 in (token.box,)
        ),
    )
