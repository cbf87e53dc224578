import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from checker.reading.lines import find_lines
from checker.reading.shape import LineShape, polygon
from tests.reading.rendered import FONT, WORK, overlap, ruled, typed_page


def working(shapes: list[LineShape]) -> list[np.ndarray]:
    return [np.array(polygon(shape)) for shape in shapes if shape.role == "working"]


def corners(box: tuple[int, int, int, int]) -> np.ndarray:
    left, top, right, bottom = box
    return np.array([[left, top], [right, top], [right, bottom], [left, bottom]])


@pytest.mark.parametrize("kind", ["blank", "ruled", "grid", "dotted"])
def test_every_line_once_and_nothing_else(kind: str) -> None:
    page = typed_page()
    found = working(find_lines(page.image if kind == "blank" else ruled(page.image, kind)))
    assert len(found) == len(WORK)
    for polygon_found, box in zip(found, page.boxes, strict=True):
        assert overlap(polygon_found, corners(box)) > 0.7


def text(image: np.ndarray, place: tuple[int, int], what: str, size: int = 44) -> None:
    """Typed text written into an image; ``place`` is the middle of its left edge."""
    drawn = Image.fromarray(image)
    font = ImageFont.truetype(FONT, size)
    ImageDraw.Draw(drawn).text(place, what, font=font, fill=40, anchor="lm")
    image[:] = np.array(drawn)


def test_stacked_fractions_belong_to_their_line() -> None:
    page = np.full((1600, 1200), 255, np.uint8)
    text(page, (150, 300), "C12 =")
    cv2.line(page, (300, 300), (520, 300), 40, 4)
    text(page, (340, 265), "4 × 12")
    text(page, (340, 338), "4 + 12")
    text(page, (540, 300), "= 3 µF")
    text(page, (150, 470), "Q12 = 3 · 24 = 72 µC")
    text(page, (150, 560), "V1 =")
    cv2.line(page, (262, 560), (320, 560), 40, 4)
    text(page, (265, 525), "72")
    text(page, (278, 598), "4")
    text(page, (340, 560), "= 18 V")
    found = working(find_lines(page))
    assert len(found) == 3
    for polygon_found, box in zip(
        found, [(150, 240, 680, 362), (150, 446, 620, 496), (150, 500, 480, 620)], strict=True
    ):
        assert overlap(polygon_found, corners(box)) > 0.7


def test_wide_gap_is_one_line_but_columns_are_two() -> None:
    page = np.full((1600, 1200), 255, np.uint8)
    text(page, (100, 200), "V1 = 18 V")
    text(page, (480, 200), "V2 = 6 V")
    assert len(working(find_lines(page))) == 1
    page[:] = 255
    for k in range(1, 7):
        text(page, (100, 200 + 110 * k), f"Q{k} = {k}3 µC")
        text(page, (560, 200 + 110 * k), f"V{k} = {k * 2},5 V")
    found = working(find_lines(page))
    assert len(found) == 12


def test_frame_round_a_result_is_no_drawing() -> None:
    page = typed_page()
    left, top, right, bottom = page.boxes[2]
    framed = page.image.copy()
    cv2.rectangle(framed, (left - 20, top - 18), (right + 20, bottom + 18), 40, 4)
    shapes = find_lines(framed)
    assert all(shape.role == "working" for shape in shapes)
    assert overlap(working(shapes)[2], corners(page.boxes[2])) > 0.6


def test_circuit_sketch_is_set_aside() -> None:
    page = typed_page(WORK[:3], top=900)
    sketch = page.image.copy()
    for points in (
        [(300, 500), (300, 300), (480, 300)],
        [(510, 300), (800, 300), (800, 420)],
        [(800, 450), (800, 700), (300, 700), (300, 530)],
    ):
        cv2.polylines(sketch, [np.array(points)], False, 40, 4)
    for start, end in (((480, 260), (480, 340)), ((510, 260), (510, 340))):
        cv2.line(sketch, start, end, 40, 4)
    for y in (420, 450, 500, 530):
        x = 800 if y < 480 else 300
        cv2.line(sketch, (x - 40, y), (x + 40, y), 40, 4)
    text(sketch, (470, 220), "4 µF", 36)
    text(sketch, (860, 435), "12 µF", 36)
    shapes = find_lines(sketch)
    assert [shape.role for shape in shapes] == ["aside", "working", "working", "working"]


def test_uphill_lines_stay_apart() -> None:
    page = typed_page(step=80)
    shear = np.array([[1, 0, 0], [-0.06, 1, 60]], float)
    uphill = cv2.warpAffine(page.image, shear, page.image.shape[::-1], borderValue=255)
    found = working(find_lines(uphill))
    assert len(found) == len(WORK)
    for polygon_found, box in zip(found, page.boxes, strict=True):
        moved = corners(box) @ shear[:, :2].T + shear[:, 2]
        assert overlap(polygon_found, moved) > 0.6


@pytest.mark.parametrize("value", [255, 128, 0])
def test_empty_page_has_no_lines(value: int) -> None:
    assert find_lines(np.full((1600, 1200), value, np.uint8)) == []


def test_noise_is_survived() -> None:
    noise = np.random.default_rng(5).integers(0, 255, (800, 600)).astype(np.uint8)
    assert isinstance(find_lines(noise), list)
