"""Pen hands, on an invented archive; with the real one when it lies beside the checkout."""

import os
from pathlib import Path

import numpy as np
import pytest

from checker.markup import CHARACTERS
from checker.training.hand_pen import ARCHIVE, load_archive, load_pen_hands
from checker.training.hands import load_hands
from tests.training.hands import archive

WRITERS = {
    "upright a": ("train", 0.0),
    "upright b": ("train", 0.02),
    "leaning a": ("train", 0.6),
    "leaning b": ("train", 0.63),
    "other": ("validation", 0.3),
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    path = tmp_path_factory.mktemp("pens")
    skip = {("leaning a", "V"), *((("upright b", d)) for d in "0123456")}
    archive.write(path / ARCHIVE, WRITERS, skip)
    return path


def test_every_hand_writes_every_character(folder):
    rng = np.random.default_rng(0)
    for split in ("train", "validation"):
        for hand in load_hands("pen", split, folder, folder):
            for character in CHARACTERS:
                glyph = hand.glyph(character, rng)
                points = np.concatenate(glyph.paths)
                assert hand.has(character) and not glyph.filled
                assert np.isfinite(points).all() and points[:, 0].min() == pytest.approx(
                    0, abs=1e-4
                )
                assert glyph.advance == pytest.approx(points[:, 0].max(), abs=1e-4)
                assert points[:, 1].min() > -1.8 and points[:, 1].max() < 0.9


def test_a_writer_without_most_digits_founds_no_hand(folder):
    assert len(load_pen_hands(folder / ARCHIVE, "train")) == 3
    assert len(load_pen_hands(folder / ARCHIVE, "validation")) == 1


def test_no_glyph_crosses_from_one_split_to_the_other(folder):
    store = load_archive(folder / ARCHIVE)
    for split in ("train", "validation"):
        for hand in load_pen_hands(folder / ARCHIVE, split):
            used = np.concatenate(list(hand.pools.values()))
            assert set(store.splits[used].tolist()) == {split}


def test_a_missing_letter_comes_first_from_the_writer_who_slants_alike(folder):
    store = load_archive(folder / ARCHIVE)
    for hand in load_pen_hands(folder / ARCHIVE, "train"):
        if store.writers[hand.pools["C"][0]] == "leaning a":
            assert store.writers[hand.pools["V"][0]] == "leaning b"
            break
    else:
        pytest.fail("the leaning writer founded no hand")


def test_letters_have_the_sizes_of_writing(folder):
    """Small letters under capitals, descenders under the line, marks where they belong."""
    rng = np.random.default_rng(1)

    def extent(hand, character):
        samples = [np.concatenate(hand.glyph(character, rng).paths)[:, 1] for _ in range(12)]
        return np.mean([s.min() for s in samples]), np.mean([s.max() for s in samples])

    for hand in load_pen_hands(folder / ARCHIVE, "train"):
        assert extent(hand, "7")[0] == pytest.approx(-1, abs=0.08)
        assert -0.8 < extent(hand, "c")[0] < -0.5 and extent(hand, "C")[0] < -0.9
        assert extent(hand, "p")[1] > 0.2 and extent(hand, "µ")[1] > 0.2
        assert extent(hand, ".")[0] > -0.2 and abs(extent(hand, ".")[1]) < 0.05
        assert -0.7 < np.mean(extent(hand, "·")) < -0.25
        assert -0.7 < np.mean(extent(hand, "=")) < -0.25
        assert extent(hand, ",")[1] > 0.1 and extent(hand, "'")[1] < -0.6


def test_a_class_nobody_wrote_is_named(tmp_path):
    skip = {(writer, "Q") for writer in WRITERS}
    archive.write(tmp_path / ARCHIVE, WRITERS, skip)
    with pytest.raises(ValueError, match="Q"):
        load_pen_hands(tmp_path / ARCHIVE, "train")


REAL = Path(os.environ.get("CHECKER_HANDWRITING", "../shared/handwriting"))


@pytest.mark.skipif(
    not (REAL / ARCHIVE).exists(),
    reason="the pen-stroke data (see checker/training/hand_pen.py) is not beside the checkout",
)
def test_the_real_archive_gives_the_writers_its_readme_counts():
    """Its README counts 255 train and 43 validation writers; most of them wrote the digits."""
    store = load_archive(REAL / ARCHIVE)
    with np.load(REAL / ARCHIVE) as z:
        usable = np.isin(z["labels"], list(set(store.labels.tolist())))
        kept = np.isin(store.writers, np.unique(z["writers"])).sum()
    assert 0.93 < kept / usable.sum() < 1  # a few per cent are mislabelled
    train, held = (load_pen_hands(REAL / ARCHIVE, split) for split in ("train", "validation"))
    assert len(train) > 150 and 20 < len(held) <= 43
    names = {hand.name for hand in train} & {hand.name for hand in held}
    assert not names
