"""The lines of a page weighed together: by how the hand writes, what labels it uses, whether it
has ≈ at all."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from checker.reading.page import Candidate
from checker.reading.rare_signs import without_rare_signs
from checker.reading.same_hand import shape_odds
from checker.reading.same_labels import label_odds
from checker.reading.weighed import weighed


def by_page(texts: Sequence[tuple[Candidate, ...]]) -> list[tuple[Candidate, ...]]:
    """The candidates of the lines of one page, best first, as their own line and the rest of the
    page let them expect: the mean of both, but no line surer than it was.

    A page that is misread throughout agrees with itself; that must not be taken for certainty.
    """
    texts = without_rare_signs(texts)
    odds = zip(texts, shape_odds(texts), label_odds(texts), strict=True)
    return [weighed(found, np.add(shapes, labels), 0.5) for found, shapes, labels in odds]
