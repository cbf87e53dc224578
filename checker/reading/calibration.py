"""From what a reader makes of its texts to probabilities that hold in hands it never met.

A reader believes itself too much, the more so where it is nearly certain.  The map is logistic in
the log-odds of the best text (Platt scaling) with one bend, for of the very surest lines next to
none are wrong.  ``python -m checker.training.calibrate`` fits it.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from checker.reading.page import Candidate

BEND = 4.0  # log-odds: probability 0.982
_LEAST, _MOST = 1e-9, 1 - 1e-6


@dataclass(frozen=True)
class Calibration:
    """Log-odds stated: ``offset`` + ``slope`` times the reader's own, and ``steeper`` times what
    these are beyond ``BEND``."""

    slope: float = 1.0
    offset: float = 0.0
    steeper: float = 0.0

    def stated(self, own: float) -> float:
        """The probability to state for a text of which the reader says ``own``."""
        weights = np.array([self.slope, self.offset, self.steeper])
        return float(1 / (1 + np.exp(-terms(np.array([own])) @ weights))[0])


AS_IT_IS = Calibration()


def terms(own: np.ndarray) -> np.ndarray:
    """What the three weights of a calibration multiply, (n, 3), for probabilities (n,)."""
    own = np.clip(own, _LEAST, _MOST)
    odds = np.log(own) - np.log1p(-own)
    return np.stack([odds, np.ones(len(odds)), np.maximum(odds - BEND, 0)], axis=1)


def load_calibration(path: Path) -> Calibration:
    """The calibration in a file; none where there is no file."""
    if not path.exists():
        return AS_IT_IS
    found = json.loads(path.read_text(encoding="ascii"))
    return Calibration(*(float(found[name]) for name in ("slope", "offset", "steeper")))


def calibrated(found: Sequence[Candidate], calibration: Calibration) -> tuple[Candidate, ...]:
    """The candidates of a line with the best one's probability as it is to be stated, and the
    others scaled to fit below."""
    best, *others = found
    first = calibration.stated(best.probability)
    rest = sum(one.probability for one in others)
    room = min((1 - first) / rest, first / others[0].probability) if rest > 0 else 0.0
    return (
        replace(best, probability=first),
        *(replace(one, probability=one.probability * room) for one in others),
    )
