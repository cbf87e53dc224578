"""Ink drawn on paper: widths, places, shapes."""

import numpy as np
import pytest

from checker.training.draw import Layer, draw, grain, texture
from checker.training.marks import Mark


def _drawn(mark: Mark, scale: float, rng: np.random.Generator | None = None) -> np.ndarray:
    """Coverage of a 20 mm square, pixel edges at whole multiples of 1 / scale mm."""
    side = round(20 * scale)
    (layer,) = draw([mark], lambda mm: mm * scale - 0.5, (side, side), scale, rng)
    return layer.coverage


@pytest.mark.parametrize("scale", [4.0, 6.5, 9.0, 13.0])
@pytest.mark.parametrize("width", [0.2, 0.35, 0.5, 0.8, 1.0])
def test_a_line_covers_its_width(scale: float, width: float) -> None:
    line = np.array([[3.0, 4.0], [15.0, 13.0]])  # 15 mm long
    area = _drawn(Mark((line,), False, width), scale).sum() / scale**2
    capsule = 15 * width + np.pi * width**2 / 4
    assert area == pytest.approx(capsule, rel=0.08, abs=0.15)


@pytest.mark.parametrize("scale", [4.0, 6.5, 9.0, 13.0])
def test_a_dot_is_round_and_in_its_place(scale: float) -> None:
    coverage = _drawn(Mark((np.array([[7.3, 11.8]]),), False, 0.8), scale)
    ys, xs = np.indices(coverage.shape)
    total = coverage.sum()
    centre = np.array([(xs * coverage).sum(), (ys * coverage).sum()]) / total
    assert centre == pytest.approx(np.array([7.3, 11.8]) * scale - 0.5, abs=0.3)
    assert 2 * np.sqrt(total / np.pi) / scale == pytest.approx(0.8, abs=0.06)


def test_outlines_are_filled_even_odd() -> None:
    square = np.array([[4.0, 4], [16, 4], [16, 16], [4, 16]])
    hole = square * 0.5 + 5
    coverage = _drawn(Mark((square, hole), True, 0.0), 5.0)
    assert coverage[50, 50] == 0
    assert coverage[50, 25] == pytest.approx(1)
    assert coverage.sum() / 25 == pytest.approx(144 - 36, rel=0.03)


def test_faint_strokes_do_not_wash_out_dark_ones() -> None:
    across = Mark((np.array([[2.0, 10], [18, 10]]),), False, 1.0, 1.0)
    down = Mark((np.array([[10.0, 2], [10, 18]]),), False, 1.0, 0.4)
    (layer,) = draw([across, down], lambda mm: mm * 6 - 0.5, (120, 120), 6.0, None)
    assert layer.coverage[59, 59] == pytest.approx(1)
    assert layer.coverage[30, 59] == pytest.approx(0.4, abs=0.05)


def test_every_colour_is_a_layer_and_far_ink_none() -> None:
    blue = Mark((np.array([[2.0, 2], [5, 5]]),), False, 0.5, 1.0, (20, 40, 160))
    black = Mark((np.array([[2.0, 8], [5, 9]]),), False, 0.5, 1.0, (20, 20, 20))
    away = Mark((np.array([[900.0, 2], [950, 5]]),), False, 0.5, 1.0, (200, 20, 20))
    layers = draw([blue, black, away], lambda mm: mm * 6 - 0.5, (60, 60), 6.0, None)
    assert {layer.colour for layer in layers} == {blue.colour, black.colour}


def test_pressure_varies_along_a_stroke() -> None:
    path = np.stack((np.linspace(2, 18, 120), np.full(120, 10.0)), 1)
    coverage = _drawn(Mark((path,), False, 0.6), 8.0, np.random.default_rng(4))
    widths = coverage[:, 24:136].sum(0) / 8
    assert widths.std() > 0.01
    assert widths.mean() == pytest.approx(0.6, abs=0.12)


@pytest.mark.parametrize("kind", ["ball", "gel", "pencil", "felt"])
def test_textures_stay_coverage(kind: str) -> None:
    rng = np.random.default_rng(0)
    layer = Layer(_drawn(Mark((np.array([[2.0, 2], [18, 17]]),), False, 0.7), 8.0), (40, 40, 40))
    for _ in range(8):
        inked = texture(layer, kind, 8.0, rng)
        assert inked.dtype == np.float32
        assert inked.min() >= 0 and inked.max() <= 1
        assert inked.sum() > 0.5 * layer.coverage.sum()


def test_grain_is_normal() -> None:
    noise = grain(np.random.default_rng(1), (400, 500))
    assert noise.mean() == pytest.approx(0, abs=0.01)
    assert noise.std() == pytest.approx(1, abs=0.01)
    # Share of a normal distribution beyond one and two deviations: 31.7 % and 4.6 %.
    assert np.mean(np.abs(noise) > 1) == pytest.approx(0.317, abs=0.01)
    assert np.mean(np.abs(noise) > 2) == pytest.approx(0.046, abs=0.01)
