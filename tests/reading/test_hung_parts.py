"""A denominator within a denominator belongs to its line; what stands below an answer does not."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from checker.reading.hung_parts import with_hung_parts
from checker.reading.shape import LineShape


def strip(left: float, top: float, right: float, bottom: float) -> LineShape:
    y, reach = (top + bottom) / 2, np.full(2, (bottom - top) / 2)
    return LineShape(np.array([[left, y], [right, y]]), reach, reach, 0.9)


def written(image: np.ndarray, text: str, x: int, y: int) -> None:
    cv2.putText(image, text, (x, y), cv2.FONT_HERSHEY_SIMPLEX, 1.0, 40, 2)


def bar(image: np.ndarray, x0: int, x1: int, y: int, rise: int = 0) -> None:
    cv2.line(image, (x0, y), (x1, y - rise), 40, 2)


def fraction(bars: int = 2, ruled: bool = False, rise: int = 0) -> np.ndarray:
    """V = 33/(48/28) over two text lines and a half, without its upper bars if ``bars`` is less."""
    image = np.full((260, 460), 255, np.uint8)
    written(image, "V=", 20, 82)
    written(image, "33", 130, 60)
    written(image, "48", 130, 104)
    written(image, "28", 130, 148)
    written(image, "=19V", 210, 82)
    if bars > 1:
        bar(image, 112, 186, 70, rise)
    if bars > 0:
        bar(image, *((0, 459) if ruled else (118, 180)), 114, rise)
    return image


LINE, PART = strip(20, 36, 300, 108), strip(128, 124, 170, 150)


@pytest.mark.parametrize("rise", [0, 3])
def test_what_hangs_on_a_second_bar_is_part_of_the_line(rise: int) -> None:
    (whole,) = with_hung_parts([PART, LINE], fraction(rise=rise))
    assert whole.centre[0, 0] == 20 and whole.centre[-1, 0] == 300
    assert whole.centre[0, 1] + whole.down.max() == pytest.approx(150)
    assert whole.centre[0, 1] - whole.up.max() == pytest.approx(36)


def test_ink_that_no_line_was_found_for_is_part_of_it_too() -> None:
    line, plain = strip(20, 36, 300, 116), strip(20, 190, 200, 220)
    (whole,) = (its for its in with_hung_parts([line, plain], fraction()) if its.height > 40)
    assert whole.centre[0, 1] + whole.down.max() >= 148


@pytest.mark.parametrize(
    "image",
    [
        fraction(bars=0),
        fraction(bars=1),  # an underlined answer with a short line below it
        fraction(ruled=True),  # a printed rule goes on to the sheet's edges
    ],
)
def test_without_two_bars_it_is_a_line_of_its_own(image: np.ndarray) -> None:
    found = with_hung_parts([LINE, PART], image)
    assert len(found) == 2 and {float(line.down.max()) for line in found} == {36.0, 13.0}


def test_a_longer_line_below_is_no_part() -> None:
    long = strip(20, 124, 440, 150)
    assert len(with_hung_parts([LINE, long], fraction())) == 2
    assert with_hung_parts([], fraction()) == []
