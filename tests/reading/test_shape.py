import cv2
import numpy as np
import pytest

from checker.reading.shape import LineShape, extract, polygon


def curled() -> LineShape:
    """A line 900 px long that rises and falls by 60 px."""
    x = np.linspace(100, 1000, 19)
    centre = np.stack([x, 400 + 60 * np.sin((x - 100) / 900 * np.pi)], axis=1)
    return LineShape(centre, np.full(19, 30.0), np.full(19, 40.0), 1.0)


def on_line(shape: LineShape, share: float, offset: float) -> np.ndarray:
    """The point a share of the way along a line, ``offset`` px below its centre."""
    step = np.linalg.norm(np.diff(shape.centre, axis=0), axis=1)
    at = np.concatenate([[0], np.cumsum(step)])
    ends = [np.interp(share * at[-1] + d, at, shape.centre[:, k]) for d in (-2, 2) for k in (0, 1)]
    along = np.array(ends[2:]) - ends[:2]
    along /= np.linalg.norm(along)
    return (np.array(ends[:2]) + ends[2:]) / 2 + offset * np.array([-along[1], along[0]])


@pytest.mark.parametrize("height", [32, 96, 160])
@pytest.mark.parametrize(("share", "offset"), [(0.1, -20), (0.5, 0), (0.8, 30)])
def test_marks_come_out_straight_and_map_back(height: int, share: float, offset: float) -> None:
    shape = curled()
    mark = on_line(shape, share, offset)
    photo = np.full((700, 1100), 255, np.uint8)
    cv2.circle(photo, tuple(int(v) for v in mark.round()), 5, 0, -1)
    image, to_photo = extract(photo, shape, height, margin=0.08)
    assert image.shape[0] == height
    ink = 255.0 - image
    y, x = np.mgrid[: image.shape[0], : image.shape[1]]
    found = np.array([(x * ink).sum(), (y * ink).sum()]) / ink.sum()
    assert np.linalg.norm(to_photo(found[None])[0] - mark) < 2.0
    scale = height / (70 * 1.16)
    assert abs((found[1] + 0.5) / scale - (30 + 70 * 0.08 + offset)) < 2.5


def test_decimal_point_survives_a_large_photo() -> None:
    """A point of 12 px on a line 400 px tall is still dark at 64 px, wherever it falls."""
    shape = LineShape(
        np.array([[200.0, 600], [3000, 640]]), np.full(2, 200.0), np.full(2, 200.0), 1.0
    )
    for x in range(1000, 1014):
        photo = np.full((1200, 3200), 255, np.uint8)
        cv2.rectangle(photo, (x, 700), (x + 11, 711), 0, -1)
        image, _ = extract(photo, shape, 64, margin=0.08)
        assert image.min() < 120


def test_outside_of_the_photo_is_white() -> None:
    photo = np.zeros((100, 400), np.uint8)
    shape = LineShape(np.array([[300.0, 50], [700, 50]]), np.full(2, 20.0), np.full(2, 20.0), 1.0)
    image, _ = extract(photo, shape, 40)
    assert (image[:, :60] == 0).mean() > 0.9
    assert (image[:, -60:] == 255).all()


def test_polygon_holds_the_whole_curled_line() -> None:
    shape = curled()
    corners = np.array(polygon(shape), np.float32)
    for share in np.linspace(0.02, 0.98, 9):
        for offset in (-29, 39):
            point = tuple(map(float, on_line(shape, share, offset)))
            assert cv2.pointPolygonTest(corners, point, False) >= 0
    top_left, top_right, bottom_right, bottom_left = corners
    assert top_left[0] < top_right[0] and top_left[1] < bottom_left[1]
    assert bottom_left[0] < bottom_right[0]


def test_upside_down_turns_the_picture_by_half() -> None:
    photo = np.random.default_rng(2).integers(0, 255, (700, 1100)).astype(np.uint8)
    photo = cv2.GaussianBlur(photo, (0, 0), 3)
    image, _ = extract(photo, curled(), 84)
    line = curled()
    other = LineShape(line.centre[::-1], line.down[::-1], line.up[::-1], line.probability)
    turned, _ = extract(photo, other, 84)
    inner = np.s_[4:-4, 4:-4]
    difference = cv2.rotate(turned, cv2.ROTATE_180).astype(int)[inner] - image[inner]
    assert np.abs(difference).mean() < 3
