"""From a reader's own probabilities to those stated."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from checker.reading.calibration import AS_IT_IS, Calibration, calibrated, load_calibration
from checker.reading.ink_reader import MODELS
from checker.reading.page import Candidate
from checker.training.calibrate import fit


def test_order_is_kept_and_room_left_for_other_texts() -> None:
    found = [Candidate("a", 0.7), Candidate("b", 0.2), Candidate("c", 0.05)]
    out = calibrated(found, Calibration(0.5, -1.0))
    assert [c.text for c in out] == ["a", "b", "c"]
    assert sum(c.probability for c in out) <= 1.0
    assert out[0].probability < 0.7
    assert out[1].probability == pytest.approx(4 * out[2].probability)


def test_no_calibration_changes_nothing(tmp_path: Path) -> None:
    assert load_calibration(tmp_path / "calibration.json") == AS_IT_IS
    for own in (0.02, 0.5, 0.9, 0.999):
        assert AS_IT_IS.stated(own) == pytest.approx(own)


def test_the_shipped_one_is_monotone_and_no_surer_than_the_reader() -> None:
    shipped = load_calibration(MODELS / "calibration.json")
    own = np.linspace(0.5, 0.9999, 500)
    stated = np.array([shipped.stated(one) for one in own])
    assert (np.diff(stated) > 0).all()
    assert (stated[own > 0.9] < own[own > 0.9]).all()


def test_a_fit_finds_how_often_a_reader_is_right() -> None:
    # A reader that claims twice the log-odds it has: the logistic map is known exactly.
    rng = np.random.default_rng(5)
    odds = rng.uniform(-2, 3.5, 20_000)
    own, true = 1 / (1 + np.exp(-2 * odds)), 1 / (1 + np.exp(-odds))
    found = fit(own, (rng.random(len(odds)) < true).astype(float))
    for claimed, real in ((0.9, 0.75), (0.5, 0.5), (0.98, 0.875)):
        assert found.stated(claimed) == pytest.approx(real, abs=0.03)
