import cv2
import numpy as np
import pytest

from checker.reading.pieces import find_pieces
from checker.reading.turn import is_sideways, slope
from tests.reading.rendered import ruled, typed_page


@pytest.mark.parametrize("degrees", [-9.0, -2.5, 0.0, 1.5, 6.0])
@pytest.mark.parametrize("kind", ["blank", "ruled"])
def test_slope_of_the_lines(degrees: float, kind: str) -> None:
    page = typed_page().image
    page = ruled(page, kind) if kind != "blank" else page
    turn = cv2.getRotationMatrix2D((700, 990), -degrees, 1.0)
    found = slope(cv2.warpAffine(page, turn, page.shape[::-1], borderValue=255))
    assert found == pytest.approx(degrees, abs=0.5)


def test_sideways_is_seen() -> None:
    page = typed_page().image
    for image, expected in ((page, False), (np.ascontiguousarray(np.rot90(page)), True)):
        pieces = find_pieces(image)
        assert pieces is not None
        assert is_sideways(pieces) is expected
