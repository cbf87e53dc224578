"""Which way up a page lies: the way in which its writing can be read.

The picture alone does not show whether a page is upside down (6 and 9, 1 and 1), and joined or
sparse writing can look sideways.  So the reader tries the longest lines; of what is read the right
way up nearly every token is likely.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from checker.reading.calibration import calibrated
from checker.reading.layout import Finder, Layout
from checker.reading.page import Candidate, LineReader
from checker.reading.second_look import look_again
from checker.reading.shape import LineShape, ToPhoto, extract, writing
from checker.reading.whole_page import by_page

LINE_HEIGHT = 96  # pixels of a line image given to the reader
_VOTERS = 6  # the longest lines
# Median of their tokens' mean probability: simulated upright pages of training hands at least 0.91,
# the same pages turned at most 0.80.
_READS = 0.87
_SURE = 0.97  # from which no further way is tried
_FAIR, _BETTER = 0.7, 0.1  # from which another way up is preferred, and by how much it must lead


@dataclass(frozen=True)
class Read:
    """A layout with the images of its lines of writing, their ways back to the photo and texts."""

    layout: Layout
    images: list[np.ndarray]
    to_photo: list[ToPhoto]
    texts: list[tuple[Candidate, ...]]


def read_right_way_up(
    finder: Finder,
    reader: LineReader,
    colour: np.ndarray,
    evened: np.ndarray,
    corners: np.ndarray,
    upright: bool = False,
) -> Read:
    """The page as it reads best (arguments as in ``Finder``).

    Other ways than the finder's own guess are only tried when that reads badly, and never when
    the page is known to be ``upright``.
    """
    first = _read(finder.find(colour, evened, corners), evened, reader)
    trust = _trust(writing(first.layout.shapes), first.texts)
    least, best = max(trust + _BETTER, _FAIR), None
    for quarters in () if upright else (2, 1, 3):
        if trust > (_SURE if best else _READS):
            break
        turned = (first.layout.turned + quarters) % 4
        layout = finder.find(colour, evened, np.roll(corners, -turned, axis=0), as_given=True)
        layout = replace(layout, turned=turned)
        some = _longest(writing(layout.shapes))
        if not some:
            continue
        texts = reader.read([extract(evened, shape, LINE_HEIGHT)[0] for shape in some])
        if (other := _trust(some, texts)) > least:
            trust, least, best = other, other, layout
    read = _read(best, evened, reader) if best else first
    texts = by_page(look_again(read.images, read.texts, reader))
    return replace(read, texts=[calibrated(found, reader.calibration) for found in texts])


def _read(layout: Layout, evened: np.ndarray, reader: LineReader) -> Read:
    cut = [extract(evened, shape, LINE_HEIGHT) for shape in writing(layout.shapes)]
    images = [image for image, _ in cut]
    texts = reader.read(images) if images else []
    return Read(layout, images, [to_photo for _, to_photo in cut], texts)


def _longest(shapes: Sequence[LineShape]) -> list[LineShape]:
    return sorted(shapes, key=lambda shape: -shape.length / shape.height)[:_VOTERS]


def _trust(lines: Sequence[LineShape], texts: Sequence[tuple[Candidate, ...]]) -> float:
    """How surely the longest of some lines are read, 0 to 1; what is no working has no vote."""
    read = {id(line): text[0] for line, text in zip(lines, texts, strict=True)}
    best = [read[id(line)] for line in _longest(lines)]
    sure = [_sureness(one) for one in best if not one.text.startswith("<")]
    return float(np.median(sure)) if sure else 0.0


def _sureness(best: Candidate) -> float:
    """Geometric mean of the probabilities of the tokens that are ink."""
    if not best.tokens:
        return best.probability if best.text else 0.0
    ink = [max(token.probability, 1e-6) for token in best.tokens if token.text.strip()]
    return float(np.exp(np.mean(np.log(ink)))) if ink else 0.0
