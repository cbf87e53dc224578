"""Setting markup in a hand: boxes hold their ink, structure lies where it should."""

import numpy as np
import pytest

from checker.training.compose import Setter, Style, Written
from checker.training.marks import Glyph

STYLE = Style(height=4.0, slant=0.0, spacing=0.15, wave=0.0, climb=0.0, jitter=0.0, script=0.6,
              drop=0.3, fraction_size=0.8, pen=0.4, colour=(0, 0, 0), darkness=1.0, stretch=1.0,
              x_for_times=False)  # fmt: skip


class Blocks:
    """A hand whose every character is a box as tall as a digit."""

    name, kind = "blocks", "pen"

    def has(self, character: str) -> bool:
        return True

    def glyph(self, character: str, rng: np.random.Generator) -> Glyph:
        outline = np.array([[0, 0], [0.6, 0], [0.6, -1], [0, -1], [0, 0]], np.float32)
        return Glyph((outline,), False, 0.6)


def written(markup: str) -> Written:
    return Setter(Blocks(), STYLE, np.random.default_rng(1)).set_line(markup, 20.0, 50.0)


def test_every_symbol_has_a_box_that_holds_ink() -> None:
    line = written("C_{12}={4×12}/{4+12}")
    for token, box in zip(line.tokens, line.boxes, strict=True):
        if token in ("_{", "}", "}/{"):
            assert np.isnan(box).all()
        else:
            assert box[2] > box[0] and box[3] >= box[1]
    left, _, _, bottom = line.box
    assert np.nanmin(line.boxes[:, 0]) == pytest.approx(left, abs=0.01)
    assert np.nanmax(line.boxes[:, 3]) == pytest.approx(bottom, abs=0.01)


def test_numerator_bar_denominator_stand_above_one_another() -> None:
    line = written("{4}/{12}")
    bar, top, below = line.boxes[0], line.boxes[1], line.boxes[3]
    assert top[3] < bar[1] and bar[3] < below[1]
    assert bar[0] <= top[0] and top[2] <= bar[2]


def test_indices_are_small_and_low_and_powers_high() -> None:
    line = written("C_{1}")
    assert line.boxes[2][3] > line.boxes[0][3]
    assert line.boxes[2][3] - line.boxes[2][1] < line.boxes[0][3] - line.boxes[0][1]
    line = written("C^{2}")
    assert line.boxes[2][1] < line.boxes[0][1]


def test_the_middle_line_runs_through_the_ink() -> None:
    line = written("Q=72µC")
    left, top, right, bottom = line.box
    assert (line.centre[:, 1] > top).all() and (line.centre[:, 1] < bottom).all()
    assert line.centre[0, 0] == pytest.approx(left, abs=0.2)
    assert line.centre[-1, 0] == pytest.approx(right, abs=0.2)
    assert line.centre[0, 1] - line.up[0] == pytest.approx(top, abs=0.3)
