import cv2
import numpy as np

from checker.reading.light import edge_width, even
from tests.reading.rendered import typed_page

WHOLE = np.array([[0, 0], [1400, 0], [1400, 1980], [0, 1980]], float)


def shadowed(page: np.ndarray) -> np.ndarray:
    """A lamp from the left and the hard shadow of a phone across the writing."""
    light = np.linspace(0.9, 0.55, page.shape[1])[None, :].repeat(page.shape[0], 0)
    cv2.fillConvexPoly(light, np.array([[300, 100], [1100, 300], [900, 900], [150, 700]]), 0.4)
    return (page * cv2.GaussianBlur(light, (0, 0), 9)).astype(np.uint8)


def test_paper_is_white_and_ink_dark_everywhere() -> None:
    page = typed_page().image
    evened, light = even(shadowed(page), WHOLE)
    bare = cv2.erode((page == 255).astype(np.uint8), np.ones((15, 15), np.uint8)) > 0
    ink = cv2.erode((page == 40).astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    assert np.percentile(evened[bare], 1) > 240
    assert np.percentile(evened[ink], 95) < 110
    assert not light.too_dark


def test_a_bright_sheet_on_a_black_desk_is_not_too_dark() -> None:
    photo = np.full((1980, 1400), 6, np.uint8)
    photo[500:1300, 400:1000] = 210
    sheet = np.array([[400, 500], [1000, 500], [1000, 1300], [400, 1300]], float)
    _, light = even(photo, sheet)
    assert not light.too_dark
    assert 190 < light.paper < 230


def test_black_photo_is_too_dark() -> None:
    assert even(np.zeros((600, 800), np.uint8), WHOLE / 2)[1].too_dark


def test_blank_paper_stays_white() -> None:
    noise = np.random.default_rng(3).normal(180, 4, (900, 700))
    evened, _ = even(np.clip(noise, 0, 255).astype(np.uint8), WHOLE / 2.2)
    assert np.percentile(evened, 1) > 215


def test_punched_holes_do_not_fade_the_ink() -> None:
    page = typed_page(["V2 = 6 V"]).image
    page[page == 40] = 150
    for y in range(100, 1900, 90):
        cv2.circle(page, (60, y), 26, 0, -1)
    evened, _ = even(page, WHOLE)
    writing = evened[150:260, 140:500]
    assert np.percentile(writing[writing < 200], 20) < 90


def test_edges_widen_with_blur() -> None:
    page = typed_page().image
    blurred = [cv2.GaussianBlur(page, (0, 0), sigma) for sigma in (0.5, 2, 4, 5)]
    widths = [edge_width(even(photo, WHOLE)[0]) for photo in blurred]
    assert widths == sorted(widths) and widths[-1] > 1.5 * widths[0]
    assert edge_width(np.full((100, 100), 255, np.uint8)) == 0
