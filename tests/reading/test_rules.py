import cv2
import numpy as np
import pytest

from checker.reading.rules import remove_rules
from tests.reading.rendered import ruled, typed_page


def page_with_bars() -> tuple[np.ndarray, list[tuple[slice, slice]]]:
    """Typed work, a fraction bar, a minus and an equals sign drawn as bare strokes."""
    page = typed_page().image
    bars = []
    for x, y, length in ((300, 1100, 260), (700, 1150, 34), (820, 1204, 34), (820, 1216, 34)):
        cv2.line(page, (x, y), (x + length, y), 40, 5)
        bars.append((slice(y - 1, y + 2), slice(x + 3, x + length - 3)))
    return page, bars


@pytest.mark.parametrize("kind", ["blank", "ruled", "grid", "dotted"])
def test_rules_go_and_bars_stay(kind: str) -> None:
    page, bars = page_with_bars()
    printed = page if kind == "blank" else ruled(page, kind)
    cleaned, ruling = remove_rules(printed)
    assert ruling.kind == kind
    bare = cv2.erode((page == 255).astype(np.uint8), np.ones((9, 9), np.uint8)) > 0
    assert (cleaned[bare] < 185).mean() < 0.001
    for bar in bars:
        assert (cleaned[bar] < 120).mean() > 0.95
    ink = page < 80
    assert (cleaned[ink] < 150).mean() > 0.93


def test_slanting_grid_is_taken_off() -> None:
    page, bars = page_with_bars()
    grid = ruled(np.full((2400, 2400), 255, np.uint8), "grid")
    turn = cv2.getRotationMatrix2D((1200, 1200), 3.0, 1.0)
    turn[:, 2] -= (500, 200)
    # Only its upright rules slant here: the lines of a page are made level before.
    turn[1, :2] = (0, 1)
    paper = cv2.warpAffine(grid, turn, page.shape[::-1], borderValue=255)
    cleaned, _ = remove_rules(np.minimum(page, paper))
    bare = cv2.erode((page == 255).astype(np.uint8), np.ones((9, 9), np.uint8)) > 0
    assert (cleaned[bare] < 185).mean() < 0.01
    for bar in bars:
        assert (cleaned[bar] < 120).mean() > 0.95
