"""Which way up a page lies, told by what can be read."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from checker.reading.calibration import AS_IT_IS
from checker.reading.layout import Layout
from checker.reading.page import Candidate, Token
from checker.reading.shape import LineShape
from checker.reading.way_up import read_right_way_up

CORNERS = np.array([[0.0, 0.0], [500.0, 0.0], [500.0, 400.0], [0.0, 400.0]])


class StubbornFinder:
    """One line through the middle of the sheet; takes every page to be upside down."""

    def find(
        self, colour: np.ndarray, evened: np.ndarray, corners: np.ndarray, as_given: bool = False
    ) -> Layout:
        if not as_given:
            corners = np.roll(corners, -2, axis=0)
        first, last = corners[[0, 3]].mean(axis=0), corners[[1, 2]].mean(axis=0)
        centre = np.linspace(0.9 * first + 0.1 * last, 0.1 * first + 0.9 * last, 5)
        shape = LineShape(centre, np.full(5, 20.0), np.full(5, 20.0), 1.0)
        return Layout([shape], 0 if as_given else 2)


class LeftReader:
    """Reads surely what has its ink on the left."""

    name = "left"
    calibration = AS_IT_IS

    def read(self, lines: Sequence[np.ndarray]) -> list[tuple[Candidate, ...]]:
        found = []
        for line in lines:
            half = line.shape[1] // 2
            sure = 0.99 if line[:, :half].mean() < line[:, half:].mean() - 5 else 0.4
            token = Token("1", (0.0, 0.0, 9.0, 9.0), sure)
            found.append((Candidate("1", sure, (token,)),))
        return found


def turned(blot: tuple[slice, slice]) -> int:
    evened = np.full((400, 500), 255, np.uint8)
    evened[blot] = 0
    colour = np.repeat(evened[..., None], 3, axis=2)
    return read_right_way_up(StubbornFinder(), LeftReader(), colour, evened, CORNERS).layout.turned


def test_a_finder_that_is_wrong_about_up_and_down_is_overruled() -> None:
    assert turned((slice(185, 215), slice(80, 200))) == 0


def test_a_finder_that_is_right_is_kept() -> None:
    assert turned((slice(185, 215), slice(300, 420))) == 2


def test_a_page_on_its_side_is_found_by_reading_it() -> None:
    assert turned((slice(250, 340), slice(235, 265))) % 2 == 1
