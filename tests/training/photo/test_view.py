"""Where the camera stands."""

import cv2
import numpy as np
import pytest

from checker.training.marks import Mark, Sheet
from checker.training.view import View, _rotation, flat_view, phone_view

SHEET = Sheet((210.0, 297.0), (Mark((np.array([[40.0, 60], [150, 220]]),), False, 0.5),))


def test_a_flat_sheet_agrees_with_opencv() -> None:
    rotation = _rotation(14, -9, 5)
    zoom, distance = 6.0, 500.0
    view = View(SHEET.size, np.zeros((0, 4)), rotation, distance, 0.0, zoom, (700.0, 900.0))
    mm = np.random.default_rng(0).uniform((0, 0), SHEET.size, (50, 2))
    solid = np.column_stack((mm - np.array(SHEET.size) / 2, np.zeros(50)))
    matrix = np.array([[zoom * distance, 0, 700], [0, zoom * distance, 900], [0, 0, 1.0]])
    turn, _ = cv2.Rodrigues(rotation)
    expected, _ = cv2.projectPoints(solid, turn, np.array([0, 0, distance]), matrix, None)
    assert view(mm) == pytest.approx(expected[:, 0], abs=1e-6)


@pytest.mark.parametrize("seed", range(12))
def test_the_writing_is_in_the_picture(seed: int) -> None:
    rng = np.random.default_rng(seed)
    for make in (phone_view, flat_view):
        view, (height, width) = make(SHEET, rng, 3.0, 1.0)
        assert height * width == pytest.approx(3e6, rel=0.01)
        seen = view(SHEET.marks[0].paths[0])
        assert (seen > 0).all() and (seen < (width, height)).all()
        step = view(np.array([[95.0, 140], [96, 140], [95, 141]]))
        a, b = step[1] - step[0], step[2] - step[0]
        assert np.sqrt(a[0] * b[1] - a[1] * b[0]) == pytest.approx(view.scale, rel=0.25)


def test_resizing_a_view_resizes_its_pixels() -> None:
    view, _ = phone_view(SHEET, np.random.default_rng(3), 3.0, 1.0)
    mm = np.array([[10.0, 20], [200, 280]])
    assert view.resized(0.5)(mm) == pytest.approx((view(mm) + 0.5) * 0.5 - 0.5)


def test_without_severity_the_sheet_is_straight() -> None:
    view, _ = phone_view(SHEET, np.random.default_rng(5), 3.0, 0.0)
    corners = view(np.array([[0.0, 0], [210, 0], [0, 297]]))
    assert corners[0, 1] == pytest.approx(corners[1, 1], abs=1e-6)
    assert corners[0, 0] == pytest.approx(corners[2, 0], abs=1e-6)


def test_folds_are_seen_as_a_step() -> None:
    view, _ = flat_view(SHEET, np.random.default_rng(0), 3.0, 0.0)
    shade = view.shading(np.random.default_rng(0), ((True, 0.5, 0.04),))
    assert shade[60].mean() - shade[36].mean() > 0.005
    assert shade[47].mean() < shade[40].mean()
