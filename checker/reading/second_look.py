"""Lines that are read with doubt are cut out once more, a little looser, and read again.

A strip cut a little otherwise moves every pixel; what is really there survives that, a guess seldom
does.  The readings count together: the mean of their probabilities.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from checker.reading.page import Candidate, LineReader
from checker.reading.shape import ENDS, MARGIN, LineShape, extract

_DOUBT = 0.9  # stated probability below which a line is looked at again
_CUTS = ((0.30, 0.5), (0.22, 0.6))  # margin and ends of the further cuts, see ``extract``
_LEAST = 1e-3  # what is less likely than this is no alternative


def look_again(
    evened: np.ndarray,
    shapes: Sequence[LineShape],
    texts: Sequence[tuple[Candidate, ...]],
    reader: LineReader,
    height: int,
) -> list[tuple[Candidate, ...]]:
    """The texts of lines of writing, the doubtful ones read from further cuts as well: from the
    first of ``_CUTS``, and from the second where that reads otherwise.

    ``texts`` were read from strips ``height`` pixels tall cut as ``extract`` does unasked; the
    boxes of what is returned are in pixels of those strips.
    """
    readings = {k: [found] for k, found in enumerate(texts)}
    again = [k for k, found in enumerate(texts) if found[0].probability < _DOUBT]
    for margin, ends in _CUTS:
        images = [extract(evened, shapes[k], height, margin, ends)[0] for k in again]
        for k, found in zip(again, reader.read(images) if images else (), strict=True):
            readings[k].append(tuple(_moved(one, height, margin, ends) for one in found))
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


def _moved(candidate: Candidate, height: int, margin: float, ends: float) -> Candidate:
    """Boxes from a looser strip in the pixels of the usual one."""
    larger = (1 + 2 * margin) / (1 + 2 * MARGIN)
    line = height / (1 + 2 * MARGIN)  # the line's own height in pixels of the usual strip
    left, top = (ends - ENDS) * line, (margin - MARGIN) * line
    return replace(
        candidate,
        tokens=tuple(
            replace(
                token,
                box=(x0 * larger - left, y0 * larger - top, x1 * larger - left, y1 * larger - top),
            )
            for token in candidate.tokens
            for x0, y0, x1, y1 in (token.box,)
        ),
    )
