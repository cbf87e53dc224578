import cv2
import numpy as np
import pytest

from checker.reading.frame import Frame
from tests.reading.rendered import CORNERS, SIZE


def spot(photo_point: tuple[float, float]) -> np.ndarray:
    photo = np.full(SIZE[::-1], 255, np.uint8)
    cv2.circle(photo, tuple(round(v) for v in photo_point), 12, 0, -1)
    return photo


@pytest.mark.parametrize("quarters", range(4))
@pytest.mark.parametrize("degrees", [0.0, 5.0, -3.0])
def test_flat_pixels_map_back_to_the_photo(quarters: int, degrees: float) -> None:
    point = (700.0, 900.0)
    frame = Frame.of(CORNERS).turned(quarters).rotated(degrees)
    flat = frame.flatten(spot(point))
    y, x = np.nonzero(flat < 128)
    back = frame.carry(np.array([[x.mean(), y.mean()]]))[0]
    assert np.abs(back - point).max() < 2.5
    assert frame.quarters == quarters


def test_quarter_turn_goes_the_right_way() -> None:
    """A sheet photographed a quarter turn clockwise has its top on the right of the photo."""
    frame = Frame.of(np.array([[0, 0], [400, 0], [400, 300], [0, 300]], float)).turned(1)
    assert (frame.width, frame.height) == (300, 400)
    top_left, top_right = frame.carry(np.array([[0, 0], [300, 0]]))
    assert np.abs(top_left - (400, 0)).max() < 1e-6
    assert np.abs(top_right - (400, 300)).max() < 1e-6


def test_falling_lines_become_level() -> None:
    frame = Frame.of(np.array([[0, 0], [1000, 0], [1000, 800], [0, 800]], float)).rotated(4.0)
    left, right = frame.carry(np.array([[100, 400], [900, 400]], float))
    fall = np.degrees(np.arctan2(right[1] - left[1], right[0] - left[0]))
    assert fall == pytest.approx(4.0, abs=0.01)
