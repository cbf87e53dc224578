"""Lines that are read with doubt are read again, seen otherwise: smaller, narrower, wider, leaning.

That moves every pixel; what is really there survives it, a guess seldom does.  The readings count
together: the mean of their probabilities.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

import cv2
import numpy as np

from checker.reading.page import Candidate, LineReader


@dataclass(frozen=True)
class View:
    """How a picture of a line is changed: made ``wide`` times as wide, with its top moved right by
    ``lean`` and a ``margin`` all round, both in heights of the picture."""

    wide: float = 1.0
    lean: float = 0.0
    margin: float = 0.0

    def matrix(self, height: int) -> np.ndarray:
        """From a picture of that height to the changed one, (2, 3)."""
        x = self._side(height) + max(self.lean, 0.0) * height
        return np.array([[self.wide, -self.lean, x], [0.0, 1.0, self._above(height)]])

    def of(self, image: np.ndarray) -> np.ndarray:
        height, width = image.shape
        size = (
            round(width * self.wide) + 2 * self._side(height) + ceil(abs(self.lean) * height),
            height + 2 * self._above(height),
        )
        return cv2.warpAffine(
            image, self.matrix(height), size, flags=cv2.INTER_CUBIC,
            borderMode=cv2.BORDER_CONSTANT, borderValue=float(np.percentile(image, 80)),
        )  # fmt: skip

    def back(self, candidate: Candidate, height: int) -> Candidate:
        """With boxes in pixels of the picture that was changed."""
        back = cv2.invertAffineTransform(self.matrix(height))
        return replace(
            candidate,
            tokens=tuple(replace(t, box=_moved(t.box, back)) for t in candidate.tokens),
        )

    def _above(self, height: int) -> int:
        return round(self.margin * height)

    _side = _above


_DOUBT = 0.9  # stated probability below which a line is looked at again
_FIRST = View(margin=0.06)
_FURTHER = (View(wide=0.9), View(wide=1.12), View(lean=0.1), View(lean=-0.1))
_LEAST = 1e-3  # what is less likely than this is no alternative


def look_again(
    images: Sequence[np.ndarray], texts: Sequence[tuple[Candidate, ...]], reader: LineReader
) -> list[tuple[Candidate, ...]]:
    """The texts read from pictures of lines, the doubtful ones read again: a little smaller, and
    where that reads otherwise in all further ways.

    Boxes are in pixels of ``images``.
    """
    readings = {k: [found] for k, found in enumerate(texts)}
    again = [k for k, found in enumerate(texts) if found[0].probability < _DOUBT]
    for views in (_FIRST,), _FURTHER:
        seen = [(k, view) for k in again for view in views]
        read = reader.read([view.of(images[k]) for k, view in seen]) if seen else ()
        for (k, view), found in zip(seen, read, strict=True):
            readings[k].append(tuple(view.back(one, len(images[k])) for one in found))
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


def _moved(box: Sequence[float], matrix: np.ndarray) -> tuple[float, float, float, float]:
    """A box under an affine change: its middle moved, as wide and as high as it then is."""
    x0, y0, x1, y1 = box
    x, y = matrix[:, :2] @ ((x0 + x1) / 2, (y0 + y1) / 2) + matrix[:, 2]
    wide, high = (x1 - x0) * matrix[0, 0] / 2, (y1 - y0) * matrix[1, 1] / 2
    return float(x - wide), float(y - high), float(x + wide), float(y + high)
