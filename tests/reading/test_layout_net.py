import cv2
import numpy as np
import pytest

from checker.reading.layout_net import CORE, DOWN, DRAWING, SPAN, STRIDE, UP, decode
from checker.reading.shape import polygon
from tests.reading.rendered import overlap


def maps(lines: list[tuple[list[tuple[float, float]], float, float]]) -> np.ndarray:
    """What a perfect network would give for lines (centre, up, down) in pixels of its input."""
    out = np.zeros((5, 320, 240), np.float32)
    for centre, up, down in lines:
        band = np.zeros(out.shape[1:], np.uint8)
        points = np.array(centre) / STRIDE
        thick = max(1, round(0.3 * (up + down) / STRIDE))
        cv2.polylines(band, [points.round().astype(np.int32)], False, 1, thick)
        out[CORE][band > 0] = 0.95
        out[UP][band > 0] = up / SPAN
        out[DOWN][band > 0] = down / SPAN
    return out


def strip(centre: list[tuple[float, float]], up: float, down: float) -> np.ndarray:
    (x0, y0), (x1, y1) = centre[0], centre[-1]
    return np.array([[x0, y0 - up], [x1, y1 - up], [x1, y1 + down], [x0, y1 + down]])


def test_crowded_lines_come_out_apart_and_in_order() -> None:
    lines = [([(100, 200 + 32 * k), (700, 190 + 32 * k)], 14.0, 15.0) for k in range(8)]
    found = decode(maps(lines))
    assert len(found) == 8
    for shape, line in zip(found, lines, strict=True):
        assert overlap(np.array(polygon(shape)), strip(*line)) > 0.75
        assert shape.role == "working" and shape.probability == pytest.approx(0.95)


def test_curl_is_followed() -> None:
    x = np.linspace(80, 880, 30)
    y = 600 + 40 * np.sin((x - 80) / 800 * np.pi)
    (shape,) = decode(maps([(list(zip(x, y, strict=True)), 20.0, 24.0)]))
    assert np.abs(np.interp(x[2:-2], *shape.centre.T) - y[2:-2]).max() < 4
    assert shape.up[0] == pytest.approx(20) and shape.down[0] == pytest.approx(24)


def test_broken_band_is_one_line_but_columns_stay_two() -> None:
    broken = maps([([(100, 300), (300, 302)], 20, 20), ([(330, 302), (500, 304)], 20, 20)])
    assert len(decode(broken)) == 1
    columns = maps([([(100, 300), (300, 302)], 20, 20), ([(480, 302), (700, 304)], 20, 20)])
    assert len(decode(columns)) == 2


def test_drawing_is_aside() -> None:
    found = maps([([(100, 900), (600, 900)], 20, 20)])
    found[DRAWING, 40:100, 50:150] = 0.9
    shapes = decode(found)
    assert [shape.role for shape in shapes] == ["aside", "working"]
    truth = np.array([[200, 160], [600, 160], [600, 400], [200, 400]])
    assert overlap(np.array(polygon(shapes[0])), truth) > 0.95


def test_empty_maps() -> None:
    assert decode(np.zeros((5, 64, 64), np.float32)) == []


def test_numerator_found_apart_is_part_of_its_line() -> None:
    whole = ([(100, 400), (700, 400)], 60.0, 60.0)
    numerator = ([(300, 368), (460, 368)], 14.0, 14.0)
    shapes = decode(np.maximum(maps([whole]), maps([numerator])))
    assert len(shapes) == 1
    assert overlap(np.array(polygon(shapes[0])), strip(*whole)) > 0.75
