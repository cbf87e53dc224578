"""Other forms of signs drawn onto a hand's strokes: common practice, no source."""

from __future__ import annotations

import numpy as np
import pytest

from checker.training.allographs import form_of
from checker.training.marks import Glyph

STROKE = np.array([[0.1, -1.0], [0.05, 0.0]], np.float32)
SEVEN = np.array([[0.0, -1.0], [0.5, -1.0], [0.2, 0.0]], np.float32)


def plain(*paths: np.ndarray) -> Glyph:
    points = np.concatenate(paths)
    return Glyph(paths, False, float(np.ptp(points[:, 0])))


def drawn(character: str, glyph: Glyph, times: int = 300) -> list[Glyph]:
    """The glyph in every form that so many pages find for it."""
    rng = np.random.default_rng(7)
    forms = (form_of(character, rng) for _ in range(times))
    return [form(glyph, rng) for form in forms if form is not None]


@pytest.mark.parametrize(("character", "glyph"), [("1", plain(STROKE)), ("7", plain(SEVEN))])
def test_a_page_in_three_or_four_has_another_form(character: str, glyph: Glyph) -> None:
    found = drawn(character, glyph)
    assert 40 < len(found) < 150
    for one in found:
        points = np.concatenate(one.paths)
        assert points[:, 0].min() == pytest.approx(0, abs=1e-5)
        assert one.advance == pytest.approx(np.ptp(points[:, 0]))
        assert points[:, 1].min() > -1.3 and points[:, 1].max() < 0.3


def test_a_one_gets_a_flag_or_a_foot_and_a_seven_one_bar() -> None:
    assert {len(one.paths) for one in drawn("1", plain(STROKE))} <= {1, 2, 3}
    assert sum(len(one.paths) > 1 for one in drawn("1", plain(STROKE))) > 60
    for seven in drawn("7", plain(SEVEN)):
        bar = seven.paths[-1]
        assert len(seven.paths) == 2 and -0.7 < bar[:, 1].mean() < -0.3


def test_what_has_the_form_already_stays() -> None:
    flagged = plain(STROKE, np.array([[-0.35, -0.8], [0.1, -1.0]], np.float32))
    assert all(one is flagged for one in drawn("1", flagged))
    barred = plain(SEVEN, np.array([[0.1, -0.5], [0.5, -0.5]], np.float32))
    assert all(one is barred for one in drawn("7", barred))


def test_a_hook_lengthens_the_first_or_the_last_stroke() -> None:
    found = drawn("2", plain(SEVEN))
    assert found
    assert all(len(one.paths) == 1 and len(one.paths[0]) == len(SEVEN) + 1 for one in found)
