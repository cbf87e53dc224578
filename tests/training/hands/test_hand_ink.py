"""Thinning and tracing of small ink images."""

import cv2
import numpy as np
import pytest
from scipy import ndimage

from checker.training.hand_ink import ARCHIVE, load_ink, skeletons, trace

EIGHT = np.ones((3, 3))


def drawn(strokes, width):
    image = np.zeros((60, 60), np.uint8)
    for stroke in strokes:
        cv2.polylines(image, [np.array(stroke, np.int32)], False, 1, width)
    return image > 0


@pytest.mark.parametrize("width", [3, 5, 7])
def test_thinning_keeps_pieces_and_holes(width):
    """Topology after Zhang and Suen's algorithm, counted by scipy's labelling."""
    ring = cv2.ellipse(np.zeros((60, 60), np.uint8), (30, 30), (18, 20), 0, 0, 360, 1, width) > 0
    bars = drawn([[(10, 12), (50, 12)], [(12, 45), (48, 40)]], width)
    cross = drawn([[(10, 10), (50, 50)], [(50, 10), (10, 50)]], width)
    ink = np.stack([ring, bars, cross])
    for before, after in zip(ink, skeletons(ink), strict=True):
        assert ndimage.label(before, EIGHT)[1] == ndimage.label(after, EIGHT)[1]
        assert ndimage.label(~before)[1] == ndimage.label(~after)[1]
        assert not (after & ~before).any()
        assert after.sum() < 0.6 * before.sum()


def test_a_cross_is_traced_as_two_straight_strokes():
    (thin,) = skeletons(drawn([[(10, 10), (50, 50)], [(50, 10), (10, 50)]], 3)[None])
    long = [s for s in trace(thin) if np.hypot(*(s[-1] - s[0])) > 45]
    assert len(long) == 2
    for stroke in long:
        way = np.hypot(*np.diff(stroke, axis=0).T).sum()
        assert way < 1.15 * np.hypot(*(stroke[-1] - stroke[0]))


def test_traced_strokes_cover_the_line():
    ink = drawn([[(10, 10), (50, 10), (20, 50)]], 5)
    (thin,) = skeletons(ink[None])
    again = drawn([np.round(s).astype(int) for s in trace(thin)], 5)
    assert (again & ink).sum() / (again | ink).sum() > 0.85


def test_writers_stay_in_one_split_and_nameless_ink_only_trains(tmp_path):
    rng = np.random.default_rng(0)
    plain = [drawn([rng.integers(8, 40, (4, 2))], 3)[:48, :48] for _ in range(40)]
    np.savez(
        tmp_path / ARCHIVE,
        images=np.stack(plain).astype(np.uint8) * 255,
        labels=np.array(["7"] * 20 + ["\\mu"] * 20),
        source=np.array(["bhmsds"] * 20 + ["omniglot_Greek"] * 20),
        writer=np.array([""] * 20 + [f"person {i}" for i in range(20)]),
    )
    points, strokes, glyphs, labels, writers, splits = load_ink(tmp_path / ARCHIVE)
    assert len(labels) == len(glyphs) - 1 == 40 and strokes[-1] == len(points)
    assert set(splits[labels == "7"].tolist()) == {"train"}
    assert all(w.startswith("ink ") for w in writers[labels == "7"])
    assert set(splits[labels == "µ"].tolist()) == {"train", "validation"}
