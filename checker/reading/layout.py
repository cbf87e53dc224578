"""Lines and drawings of a page by classical image processing, whichever way it was held."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from checker.reading.drawings import find_drawings
from checker.reading.frame import Frame
from checker.reading.lines import find_lines
from checker.reading.pieces import find_pieces
from checker.reading.rules import remove_rules
from checker.reading.shape import LineShape, carried
from checker.reading.smaller import smaller
from checker.reading.turn import is_sideways, slope


@dataclass(frozen=True)
class Layout:
    """Shapes from top to bottom in pixels of the photo, running in reading direction.

    ``turned``: the clockwise quarter turns the page had on the photo (0-3), as far as they show
    without reading.
    """

    shapes: list[LineShape]
    turned: int


class Finder(Protocol):
    """Finds the lines and drawings of a page, however it was held.

    ``colour`` is the RGB photo (height, width, 3), ``evened`` the same in grey with its light
    evened, ``corners`` (4, 2) outline its sheet.  ``as_given``: the page lies the way its corners
    say and is not turned.
    """

    def find(
        self,
        colour: np.ndarray,
        evened: np.ndarray,
        corners: np.ndarray,
        as_given: bool = False,
    ) -> Layout: ...

    def writing_beyond(self, colour: np.ndarray, corners: np.ndarray) -> bool:
        """Whether there is writing beside a sheet, so that its edge must be that of a shadow."""
        ...


class ClassicalFinder:
    """A Finder without a trained model; whether a page is upside down does not show to it."""

    def find(
        self,
        colour: np.ndarray,
        evened: np.ndarray,
        corners: np.ndarray,
        as_given: bool = False,
    ) -> Layout:
        frame = level(evened, Frame.of(corners), sideways=False if as_given else None)
        shapes = find_lines(frame.flatten(evened))
        return Layout([carried(shape, frame.carry) for shape in shapes], frame.quarters)

    def writing_beyond(self, colour: np.ndarray, corners: np.ndarray) -> bool:
        return False  # it takes a desk for writing too readily


def level(evened: np.ndarray, frame: Frame, sideways: bool | None = None) -> Frame:
    """The frame turned so that lines of writing run level, the right way up or upside down.

    ``sideways``: whether the page lies on its side, where that is known.
    """
    flat = frame.flatten(evened)
    if _lies_sideways(flat) if sideways is None else sideways:
        frame = frame.turned(1)
        flat = frame.flatten(evened)
    fall = slope(flat)
    return frame.rotated(fall) if fall else frame


def _lies_sideways(flat: np.ndarray) -> bool:
    small = smaller(flat, 0.5)
    pieces = find_pieces(remove_rules(small)[0])
    if pieces is None:
        return False
    _, no_writing = find_drawings(pieces)
    return is_sideways(pieces.chosen(~no_writing))
