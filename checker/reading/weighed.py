"""The candidates of a line weighed anew by what else is known of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from checker.reading.page import Candidate


def weighed(
    found: tuple[Candidate, ...], odds: np.ndarray, kept: float = 0.0
) -> tuple[Candidate, ...]:
    """Candidates, best first, by log-odds (n,) beside their own probabilities, of which a share of
    ``kept`` stays; none gets surer than the best one was, and what is not among them keeps its
    share."""
    own = np.array([one.probability for one in found])
    weights = own * np.exp(odds)
    whole = weights / (weights.sum() + max(1.0 - own.sum(), 0.0))
    mean = kept * own + (1.0 - kept) * whole
    mean *= min(own.max() / mean.max(), 1.0)
    anew = [replace(one, probability=float(p)) for one, p in zip(found, mean, strict=True)]
    return tuple(sorted(anew, key=lambda one: -one.probability))
