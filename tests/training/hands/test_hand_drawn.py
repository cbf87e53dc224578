"""Drawn marks stay where their description says.  Expectations are the module's own contract and
the shapes' plain geometry (no published source)."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checker.training import hand_drawn


def extent(paths):
    points = np.concatenate(paths)
    return points.min(0), points.max(0)


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(sorted(hand_drawn.SYMBOLS)), st.integers(0, 2**32 - 1), st.floats(0, 1))
def test_symbols_sit_on_the_line(character, number, style):
    paths = hand_drawn.symbol(character, np.random.default_rng(number), style)
    low, high = extent(paths)
    assert all(path.dtype == np.float32 and path.ndim == 2 for path in paths)
    assert low[1] > -1.7 and high[1] < 0.8
    assert high[0] - low[0] < 2.2


@pytest.mark.parametrize("style", [0.0, 0.5, 0.9])
def test_micro_descends_and_delta_and_ohm_stand_on_the_baseline(style):
    rng = np.random.default_rng(5)
    assert extent(hand_drawn.symbol("µ", rng, style))[1][1] > 0.2
    for character in "ΔΩ":
        low, high = extent(hand_drawn.symbol(character, rng, style))
        assert abs(high[1]) < 0.15 and -1.4 < low[1] < -0.75


def test_symbols_have_the_strokes_they_are_made_of():
    rng = np.random.default_rng(6)
    for character, strokes in {"∥": 2, "≈": 2, "÷": 3, "∴": 3, "×": 2, "±": 3, "⇒": 3}.items():
        assert len(hand_drawn.symbol(character, rng, 0.5)) == strokes


def test_parallel_strokes_do_not_cross():
    for number in range(50):
        left, right = hand_drawn.symbol("∥", np.random.default_rng(number), number / 50)
        order = np.argsort(right[:, 1])
        across = np.interp(left[:, 1], right[order, 1], right[order, 0])
        assert (across > left[:, 0]).all()


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(2, 60), st.floats(2, 9))
def test_a_strike_out_covers_its_box_and_not_the_neighbours(number, width, height):
    low, high = extent(hand_drawn.scribble(np.random.default_rng(number), width, height))
    assert low[0] < 0.25 * width + 0.5 * height and high[0] > 0.75 * width - 0.5 * height
    assert low[1] > -0.7 * height and high[1] < 1.7 * height


def test_frames_surround_what_they_mark():
    for number in range(30):
        rng = np.random.default_rng(number)
        for frame in (hand_drawn.box(rng, 20, 6), hand_drawn.ellipse(rng, 20, 6)):
            low, high = extent(frame)
            assert np.allclose(low, 0, atol=2.5) and np.allclose(high, [20, 6], atol=2.5)


def test_an_arrow_ends_in_its_head():
    shaft, *head = hand_drawn.arrow(np.random.default_rng(1), (0, 0), (10, 0))
    assert np.hypot(*(shaft[-1] - [10, 0])) < 1
    assert all((np.hypot(*(barb - shaft[-1]).T) < 1e-4).any() for barb in head)


def test_line_keeps_its_length():
    lengths = [np.ptp(hand_drawn.line(np.random.default_rng(i), 30)[:, 0]) for i in range(40)]
    assert min(lengths) > 29 and max(lengths) < 31
