"""The trained line reader: its interface, and open handwriting it never saw."""

from pathlib import Path

import numpy as np
import pytest

from checker.benchmarks.digits import digit_rows, digits_right
from checker.errors import ReaderError
from checker.markup import tokens
from checker.reading.ink_reader import MODELS, MOST_TOKENS, InkReader, frame, merged
from checker.reading.page import Candidate


@pytest.fixture(scope="module")
def reader() -> InkReader:
    return InkReader()


def test_models_fit_the_package() -> None:
    # Small enough to ship inside the package.
    assert sum(path.stat().st_size for path in MODELS.glob("*.onnx")) <= 16_000_000


def test_a_missing_model_is_told_in_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(ReaderError, match="install"):
        InkReader(tmp_path)


def test_any_picture_gives_candidates(reader: InkReader) -> None:
    rng = np.random.default_rng(1)
    shapes = [(1, 1), (5, 400), (300, 8), (96, 1280), (40, 200)]
    found = reader.read([rng.integers(0, 255, shape).astype(np.uint8) for shape in shapes])
    assert len(found) == len(shapes)
    for candidates in found:
        assert candidates
        assert sum(candidate.probability for candidate in candidates) <= 1.0 + 1e-6
        assert all(0.0 <= candidate.probability <= 1.0 for candidate in candidates)
        first = candidates[0].probability
        assert all(candidate.probability <= first + 1e-9 for candidate in candidates)


def test_order_of_lines_is_kept_and_reading_repeats(reader: InkReader) -> None:
    digits = list(digit_rows(12))
    once = reader.read([image for image, _ in digits])
    again = reader.read([image for image, _ in digits])
    assert [c[0].text for c in once] == [c[0].text for c in again]
    one_by_one = [reader.read([image])[0][0].text for image, _ in digits]
    assert [c[0].text for c in once] == one_by_one


def test_reads_digits_of_real_people(reader: InkReader) -> None:
    """UCI optical digits as scikit-learn bundles them: another source than any training data."""
    right, total = digits_right(reader, list(digit_rows(40)))
    assert right / total > 0.85


def test_frame_keeps_the_shape_of_a_line() -> None:
    image = np.full((50, 300), 255, np.uint8)
    framed, scale, top = frame(image)
    assert framed.shape[0] == 96 and framed.shape[1] % 16 == 0
    assert scale == pytest.approx(96 / 50) and top == 0
    framed, scale, top = frame(np.full((20, 1600), 255, np.uint8))
    assert framed.shape == (96, 1280)
    assert top == pytest.approx((96 - 16) // 2)


def test_texts_alike_to_the_eye_count_together() -> None:
    found = merged([Candidate("C=4", 0.4), Candidate("C=9", 0.45), Candidate("C=4", 0.1)])
    assert [(c.text, c.probability) for c in found] == [
        ("C=4", pytest.approx(0.5)),
        ("C=9", pytest.approx(0.45)),
    ]


def test_every_token_of_a_text_has_its_box(reader: InkReader) -> None:
    for candidates in reader.read([image for image, _ in digit_rows(6)]):
        for candidate in candidates:
            assert tokens(candidate.text) == [token.text for token in candidate.tokens]


def test_structure_is_always_closed(reader: InkReader) -> None:
    rng = np.random.default_rng(4)
    blots = [255 - 200 * (rng.random((60, 400)) < 0.05).astype(np.uint8) for _ in range(6)]
    for candidates in reader.read(blots):
        for candidate in candidates:
            depth = 0
            for token in tokens(candidate.text):
                depth += (token in ("{", "_{", "^{")) - (token == "}")
                assert depth >= 0
            assert depth == 0 or len(candidate.tokens) == MOST_TOKENS
