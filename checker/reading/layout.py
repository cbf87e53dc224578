"""Lines and drawings of a page by classical image processing, whichever way it was held."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from checker.reading.drawings import find_drawings
from checker.reading.frame import Frame
from checker.reading.lines import find_lines
from checker.reading.pieces import find_pieces
from checker.reading.rules import remove_rules
from checker.reading.shape import LineShape, carried
from checker.reading.turn import is_sideways, slope


@dataclass(frozen=True)
class Layout:
    """Shapes from top to bottom in pixels of the photo, running in reading direction.

    ``turned``: the clockwise quarter turns the page had on the photo (0-3), as far as they show
    without reading.
    """

    shapes: list[LineShape]
    turned: int


def classical_layout(evened: np.ndarray, corners: np.ndarray) -> Layout:
    """From the evened grey photo and the corners (4, 2) of its sheet.

    Level lines may still be upside down: that shows only when they are read.
    """
    frame = Frame.of(corners)
    flat = frame.flatten(evened)
    if _lies_sideways(flat):
        frame = frame.turned(1)
        flat = frame.flatten(evened)
    fall = slope(flat)
    if fall:
        frame = frame.rotated(fall)
        flat = frame.flatten(evened)
    return Layout([carried(shape, frame.carry) for shape in find_lines(flat)], frame.quarters)


def _lies_sideways(flat: np.ndarray) -> bool:
    small = cv2.resize(flat, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    pieces = find_pieces(remove_rules(small)[0])
    if pieces is None:
        return False
    _, no_writing = find_drawings(pieces)
    return is_sideways(pieces.chosen(~no_writing))
