"""What the readers hand on: lines of text with boxes, probabilities and alternatives."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, Protocol

import numpy as np

if TYPE_CHECKING:
    from checker.reading.calibration import Calibration

Point = tuple[float, float]
Polygon = tuple[Point, Point, Point, Point]
Role = Literal["working", "struck", "aside"]


@dataclass(frozen=True)
class Token:
    """One token of the markup and where it stands.

    ``box`` is (left, top, right, bottom): in pixels of the line image as a ``LineReader`` gives
    it, in pixels of the photo once ``read_page`` has carried it back.  ``shape`` is how it
    looks to the reader, a vector close to those of signs written alike; it is no part of a reading.
    """

    text: str
    box: tuple[float, float, float, float]
    probability: float
    shape: np.ndarray | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True)
class Candidate:
    """One possible text of a line, as markup (see ``checker.markup``)."""

    text: str
    probability: float
    tokens: tuple[Token, ...] = ()


@dataclass(frozen=True)
class Line:
    """One line of a page, best candidate first; probabilities sum to at most 1.

    A photographed line has a polygon (clockwise from top left, pixels of the photo after EXIF
    orientation); a typed one has its 0-based number in the file instead.
    """

    page: int
    candidates: tuple[Candidate, ...]
    polygon: Polygon | None = None
    line: int | None = None
    role: Role = "working"


@dataclass(frozen=True)
class PageReading:
    """One page: its lines in reading order and one-sentence remarks for the person.

    ``doubts`` are remarks that forbid a verdict (too blurred, two sheets ...); ``turned`` is the
    clockwise quarter turns that were undone (0-3) before reading.
    """

    page: int
    source: str
    size: tuple[int, int]
    lines: tuple[Line, ...]
    remarks: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    turned: int = 0


class LineReader(Protocol):
    """Reads line images: grey uint8 arrays (height, width), dark ink on light paper, light evened.

    Returns for each image its candidates, best first, never an empty tuple (an unreadable line
    gives one candidate with an empty text and its probability).  ``calibration``: how sure a line
    of a page may be stated to be, from how sure the reader is.
    """

    name: str

    @property
    def calibration(self) -> Calibration: ...

    def read(self, lines: Sequence[np.ndarray]) -> list[tuple[Candidate, ...]]: ...
