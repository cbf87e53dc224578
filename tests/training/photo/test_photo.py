"""Photographs and strips: what is drawn is where ``to_pixels`` says."""

import numpy as np
import pytest

from checker.training.marks import Mark, Sheet
from checker.training.paper import Ruling
from checker.training.photo import Shot, photograph, strip

DOTS = np.stack(np.meshgrid(np.linspace(30, 180, 4), np.linspace(40, 250, 5)), -1).reshape(-1, 2)
SHEET = Sheet((210.0, 297.0), tuple(Mark((dot[None],), False, 1.6, 1.0) for dot in DOTS))


def _offsets(shot: Shot, mm: np.ndarray, reach: float) -> np.ndarray:
    """Distance in px from where each dot should be to the centre of the darkness around it."""
    grey = shot.image if shot.image.ndim == 2 else shot.image.min(axis=2)
    out = []
    r = int(reach)
    for place in shot.to_pixels(mm):
        corner = np.maximum(np.rint(place).astype(int) - r, 0)
        part = grey[corner[1] : corner[1] + 2 * r + 1, corner[0] : corner[0] + 2 * r + 1]
        weight = np.maximum(np.median(part) - 25.0 - part, 0)
        assert weight.sum() > 0, "no dot to be seen"
        ys, xs = np.indices(part.shape)
        centre = np.array([(xs * weight).sum(), (ys * weight).sum()]) / weight.sum()
        out.append(np.hypot(*(centre + corner - place)))
    return np.array(out)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("mode", ["phone", "scan"])
def test_dots_on_a_photo_are_where_they_should_be(seed: int, mode: str) -> None:
    shot = photograph(SHEET, np.random.default_rng(seed), megapixels=2, mode=mode, severity=0.8)
    assert np.median(_offsets(shot, DOTS, 2.5 * shot.quality["px_per_mm"])) < 0.4


@pytest.mark.parametrize("seed", range(8))
def test_dots_on_a_strip_are_where_they_should_be(seed: int) -> None:
    dots = np.stack((np.linspace(12, 80, 9), np.full(9, 16.0) + np.arange(9) % 3), 1)
    marks = [Mark((dot[None],), False, 1.2, 1.0) for dot in dots]
    shot = strip(marks, (5, 10, 90, 22), np.random.default_rng(seed), px_per_mm=8.0, ruling="blank")
    assert shot.image.shape == (96, 680) and shot.image.dtype == np.uint8
    assert np.median(_offsets(shot, dots, 10)) < 0.4


def test_the_same_seed_makes_the_same_picture() -> None:
    first, again, other = (
        photograph(SHEET, np.random.default_rng(seed), megapixels=1.5) for seed in (7, 7, 8)
    )
    assert np.array_equal(first.image, again.image)
    assert first.image.shape != other.image.shape or not np.array_equal(first.image, other.image)
    window = (20.0, 30.0, 100.0, 42.0)
    a, b, c = (strip(SHEET, window, np.random.default_rng(s), px_per_mm=8) for s in (1, 1, 2))
    assert np.array_equal(a.image, b.image)
    assert not np.array_equal(a.image, c.image)


@pytest.mark.parametrize("megapixels", [1.5, 4.0])
def test_photos_have_the_size_asked_for(megapixels: float) -> None:
    for seed in range(3):
        shot = photograph(SHEET, np.random.default_rng(seed), megapixels=megapixels)
        height, width, channels = shot.image.shape
        assert height * width == pytest.approx(megapixels * 1e6, rel=0.01)
        assert channels == 3 and shot.image.dtype == np.uint8


def test_modes() -> None:
    looks = set()
    for seed in range(10):
        shot = photograph(SHEET, np.random.default_rng(seed), megapixels=1.5, mode="scan")
        looks.add(shot.quality["look"])
        corner = shot.to_pixels(np.array([[20.0, 20], [190, 20]]))
        assert abs(corner[1, 1] - corner[0, 1]) < 0.06 * (corner[1, 0] - corner[0, 0])
    assert len(looks) >= 3
    with pytest.raises(ValueError, match="mode"):
        photograph(SHEET, np.random.default_rng(0), mode="fax")


def test_paper_is_brighter_than_ink_in_every_photo() -> None:
    for seed in range(12):
        shot = photograph(SHEET, np.random.default_rng(seed), megapixels=1.5)
        grey = shot.image.mean(axis=2)
        at = np.rint(shot.to_pixels(DOTS)).astype(int)
        beside = np.rint(shot.to_pixels(DOTS + 6)).astype(int)
        assert (grey[at[:, 1], at[:, 0]] < grey[beside[:, 1], beside[:, 0]] - 15).mean() > 0.9


@pytest.mark.parametrize("kind", ["ruled", "grid", "dotted"])
def test_rulings_show_where_they_are_printed(kind: str) -> None:
    ruling = Ruling(kind, 5.0, (2.0, 3.0), 0.4, 0.9, (90, 90, 120))
    for seed in range(4):
        shot = strip(
            [], (0, 0, 80, 12), np.random.default_rng(seed), px_per_mm=8, severity=0.3,
            ruling=ruling, camera_px_per_mm=9,
        )  # fmt: skip
        on = np.array([(x, y) for x in np.arange(7.0, 75, 5) for y in (3.0, 8.0)])
        line, between = (np.rint(shot.to_pixels(p)).astype(int) for p in (on, on + 2.5))
        dark = shot.image[line[:, 1], line[:, 0]].astype(int)
        light = shot.image[between[:, 1], between[:, 0]].astype(int)
        assert np.mean(dark < light - 10) > 0.9


def test_strips_may_be_any_size_and_empty() -> None:
    rng = np.random.default_rng(0)
    for width, height, scale in ((3.0, 4.0, 5.0), (120.0, 9.0, 12.0), (40.0, 60.0, 4.0)):
        shot = strip([], (0, 0, width, height), rng, px_per_mm=scale)
        assert shot.image.shape == (round(height * scale), round(width * scale))
