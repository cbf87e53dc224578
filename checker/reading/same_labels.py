"""A label that stands in other lines of the page is likelier than one that stands nowhere else.

So hands are read that write V, U and v alike, or 9 and s.  Numbers and units have no say here:
what a number should be is for the working to show.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

import numpy as np

from checker.markup import canonical
from checker.reading.page import Candidate

# A letter that follows a digit is a unit or a factor.
_LABEL = re.compile(r"(?<![0-9A-Za-zµ])[A-Za-z]+\d*'*(?:_\{[^{}]*\})?")
_WEIGHT = 0.7
_NEW = 0.2  # how often a label counts that stands nowhere else
_OFTEN = 3.0  # lines from which it makes no difference how many have a label


def label_odds(texts: Sequence[tuple[Candidate, ...]]) -> list[list[float]]:
    """For every line of a page the log-odds of each candidate against the first, by the labels in
    which they differ; 0 where one has more labels than the other."""
    labels = [[Counter(_LABEL.findall(canonical(one.text))) for one in found] for found in texts]
    everywhere: Counter[str] = Counter()
    for found, its in zip(texts, labels, strict=True):
        for label in its[0]:
            everywhere[label] += found[0].probability  # type: ignore[assignment]
    odds = []
    for found, its in zip(texts, labels, strict=True):
        here = dict.fromkeys(its[0], found[0].probability)
        known = {}
        for label in set().union(*its):
            elsewhere = min(everywhere[label] - here.get(label, 0.0), _OFTEN)
            known[label] = np.log((elsewhere + _NEW) / _NEW)
        odds.append([_WEIGHT * _gain(its[0], one, known) for one in its])
    return odds


def _gain(was: Counter[str], now: Counter[str], known: dict[str, float]) -> float:
    gone, come = was - now, now - was
    if gone.total() != come.total():
        return 0.0
    return float(
        sum(n * known[label] for label, n in come.items())
        - sum(n * known[label] for label, n in gone.items())
    )
