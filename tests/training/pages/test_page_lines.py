"""Training lines cut from whole photos: labels lie on their ink."""

import numpy as np
import pytest

from checker.reading.shape import ENDS
from checker.training.page_lines import cut, disturbed, inverse, true_shape
from checker.training.pages import make_page
from checker.training.photo import photograph
from tests.training.pages.test_compose import STYLE, Blocks


def test_boxes_of_a_cut_line_hold_ink() -> None:
    rng = np.random.default_rng(4)
    texts = [("C_{1}=4+5=9", "working"), ("Q=12×3", "working")]
    page = make_page(rng, Blocks(), texts, style=STYLE, ruling="blank", sketch=False)
    shot = photograph(page.sheet, rng, megapixels=2.0, severity=0.2)
    samples = cut(page, shot, rng)
    assert [sample.markup for sample in samples] == [text for text, _ in texts]
    for sample in samples:
        for left, top, right, bottom in sample.boxes[~np.isnan(sample.boxes[:, 0])]:
            part = sample.image[round(top) : round(bottom) + 1, round(left) : round(right) + 1]
            assert part.min() < 140


def test_the_way_back_is_the_inverse() -> None:
    bent = lambda p: np.stack([p[:, 0] * 2 + 0.01 * p[:, 1] ** 2, p[:, 1] * 3 + 20], 1)  # noqa: E731
    points = np.array([[10.0, 5.0], [300.0, 60.0], [420.0, 90.0]])
    assert inverse(bent, 450, 96)(bent(points)) == pytest.approx(points, abs=1.0)


def test_a_disturbed_line_still_covers_the_ink_at_its_ends() -> None:
    rng = np.random.default_rng(2)
    page = make_page(rng, Blocks(), [("C_{1}=4", "working")], style=STYLE, sketch=False)
    shot = photograph(page.sheet, rng, megapixels=1.5)
    shape = true_shape(page.lines[0], shot)
    chord = shape.centre[-1] - shape.centre[0]
    chord /= np.linalg.norm(chord)
    for _ in range(50):
        first, last = (disturbed(shape, rng).centre[[0, -1]] - shape.centre[[0, -1]]) @ chord
        assert max(first, -last) < ENDS * shape.height  # the strip reaches that far beyond its ends
