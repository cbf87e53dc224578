"""Doubtful lines read again at other widths."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from checker.reading.calibration import AS_IT_IS
from checker.reading.page import Candidate, Token
from checker.reading.second_look import look_again, together
from checker.reading.shape import LineShape, extract

SHAPE = LineShape(
    np.array([[60.0, 100.0], [240.0, 100.0], [440.0, 100.0]]),
    np.full(3, 20.0),
    np.full(3, 16.0),
    1.0,
)
MARK = (300, 95, 312, 110)  # left, top, right, bottom of a blot on the page


class BlotReader:
    """Reads every strip as one token and puts its box round the ink; unsure of it."""

    name = "blot"
    calibration = AS_IT_IS

    def __init__(self, texts: Sequence[str], sure: float) -> None:
        self.texts, self.sure, self.calls = list(texts), sure, 0

    def read(self, lines: Sequence[np.ndarray]) -> list[tuple[Candidate, ...]]:
        text = self.texts[self.calls]
        self.calls += 1
        found = []
        for line in lines:
            y, x = np.nonzero(line < 128)
            box = (float(x.min()), float(y.min()), float(x.max()), float(y.max()))
            found.append((Candidate(text, self.sure, (Token(text, box, self.sure),)),))
        return found


def page() -> np.ndarray:
    image = np.full((200, 500), 255, np.uint8)
    left, top, right, bottom = MARK
    image[top:bottom, left:right] = 0
    return image


def look(reader: BlotReader) -> tuple[Candidate, ...]:
    strip, _ = extract(page(), SHAPE, 96)
    return look_again([strip], reader.read([strip]), reader)[0]


def test_what_other_widths_agree_on_wins() -> None:
    found = look(BlotReader(["4", "9", "9"], 0.6))
    assert [one.text for one in found] == ["9", "4"]
    assert found[0].probability == pytest.approx(0.4)


def test_boxes_of_other_widths_lie_where_the_ink_is() -> None:
    _, to_photo = extract(page(), SHAPE, 96)
    found = look(BlotReader(["4", "9", "9"], 0.6))
    box = np.array(found[0].tokens[0].box).reshape(2, 2)
    assert to_photo(box) == pytest.approx(np.array(MARK, float).reshape(2, 2), abs=1.5)


def test_two_readings_that_agree_need_no_third() -> None:
    reader = BlotReader(["4", "4"], 0.6)
    assert [one.text for one in look(reader)] == ["4"]
    assert reader.calls == 2


def test_a_sure_reading_is_left_alone() -> None:
    reader = BlotReader(["4"], 0.97)
    assert look(reader)[0].text == "4"
    assert reader.calls == 1


def test_probabilities_add_up_to_those_given() -> None:
    one, two = Candidate("1", 0.5), Candidate("7", 0.4)
    assert sum(c.probability for c in together([[one, two], [two]])) == pytest.approx(0.65)
