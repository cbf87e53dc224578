"""Compares what was read on a page with what was written there, and counts."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

import cv2
import numpy as np

from checker.markup import canonical, tokens
from checker.reading.page import Line
from checker.reading.shape import polygon
from checker.training.page_lines import true_shape
from checker.training.pages import Page, PageLine
from checker.training.photo import Shot

NUMBER = re.compile(r"\d+(?:[.,]\d+)?(?:[×·]10\^\{-?\d+\})?(?:[µunpmk]?[FCVJΩAHW])?")


@dataclass
class Tally:
    """Counts over pages; adds up over processes."""

    count: Counter[str] = field(default_factory=Counter)
    stated: list[tuple[float, bool]] = field(default_factory=list)  # confidence, right
    seconds: list[float] = field(default_factory=list)
    examples: list[tuple[str, str, float]] = field(default_factory=list)
    hands: set[str] = field(default_factory=set)

    def add(self, other: Tally) -> None:
        self.count += other.count
        self.stated += other.stated
        self.seconds += other.seconds
        self.examples += other.examples
        self.hands |= other.hands


def align(truth: Sequence[str], read: Sequence[str]) -> list[tuple[int | None, int | None]]:
    """Pairs of positions of a shortest edit path; None where one side has nothing."""
    n, m = len(truth), len(read)
    cost = np.zeros((n + 1, m + 1), int)
    cost[:, 0], cost[0] = np.arange(n + 1), np.arange(m + 1)
    for i in range(1, n + 1):
        for j in range(1, m + 1):
            change = cost[i - 1, j - 1] + (truth[i - 1] != read[j - 1])
            cost[i, j] = min(change, cost[i - 1, j] + 1, cost[i, j - 1] + 1)
    pairs: list[tuple[int | None, int | None]] = []
    i, j = n, m
    while i or j:
        if i and j and cost[i, j] == cost[i - 1, j - 1] + (truth[i - 1] != read[j - 1]):
            i, j = i - 1, j - 1
            pairs.append((i, j))
        elif i and cost[i, j] == cost[i - 1, j] + 1:
            i -= 1
            pairs.append((i, None))
        else:
            j -= 1
            pairs.append((None, j))
    return pairs[::-1]


def compare(tally: Tally, truth: str, candidates: Sequence[tuple[str, float]]) -> None:
    """Count one working line; spaces that nobody sees are no difference."""
    truth = canonical(truth)
    candidates = [(canonical(text), confidence) for text, confidence in candidates]
    text, confidence = candidates[0]
    a, b = tokens(truth), tokens(text)
    pairs = align(a, b)
    count = tally.count
    right = text == truth
    count["lines"] += 1
    count["exact"] += right
    count["among candidates"] += any(other == truth for other, _ in candidates)
    count["characters"] += len(a)
    count["errors"] += sum(i is None or j is None or a[i] != b[j] for i, j in pairs)
    for i, j in pairs:
        was = i is not None and a[i] == "."
        now = j is not None and b[j] == "."
        count["points"] += was
        count["points read"] += now
        count["points right"] += was and now
    count_numbers(count, truth, a, b, pairs)
    tally.stated.append((confidence, right))
    if not right:
        tally.examples.append((truth, text, confidence))


def count_numbers(
    count: Counter[str],
    truth: str,
    a: Sequence[str],
    b: Sequence[str],
    pairs: Sequence[tuple[int | None, int | None]],
) -> None:
    """Numbers with their units: right when every token of one is, and nothing was slipped in."""
    ends = np.cumsum([len(token) for token in a])
    where = {int(end - len(token)): k for k, (token, end) in enumerate(zip(a, ends, strict=True))}
    stops = {int(end): k for k, end in enumerate(ends)}
    for match in NUMBER.finditer(truth):
        if match.start() not in where or match.end() not in stops:
            continue
        first, last = where[match.start()], stops[match.end()]
        inside = [k for k, (i, _) in enumerate(pairs) if i is not None and first <= i <= last]
        span = pairs[inside[0] : inside[-1] + 1]
        good = all(i is not None and j is not None and a[i] == b[j] for i, j in span)
        for beside in (inside[0] - 1, inside[-1] + 1):  # a digit or point too many at either end
            if 0 <= beside < len(pairs):
                i, j = pairs[beside]
                good = good and not (i is None and j is not None and b[j] in "0123456789.,")
        count["numbers"] += 1
        count["numbers right"] += good


def overlap(one: np.ndarray, two: np.ndarray) -> float:
    """Intersection over union of two convex polygons (n, 2)."""
    shared, _ = cv2.intersectConvexConvex(one.astype(np.float32), two.astype(np.float32))
    area = cv2.contourArea(one.astype(np.float32)) + cv2.contourArea(two.astype(np.float32))
    return float(shared / max(area - shared, 1e-6))


def true_polygon(line: PageLine, shot: Shot) -> np.ndarray:
    """The line's strip on the photo, made as the reading makes its own."""
    return np.array(polygon(true_shape(line, shot)))


def matched(page: Page, shot: Shot, lines: Sequence[Line]) -> list[tuple[PageLine, Line | None]]:
    """The lines written, each with the one read there, best overlap first."""
    truth = [true_polygon(line, shot) for line in page.lines]
    found = [line for line in lines if line.polygon is not None and line.candidates[0].tokens]
    shapes = [np.array(line.polygon) for line in found]
    table = np.array([[overlap(a, b) for b in shapes] for a in truth])
    table = table.reshape(len(truth), len(shapes))
    partner: dict[int, Line] = {}
    while table.size and table.max() >= 0.5:
        at, over = map(int, np.unravel_index(int(table.argmax()), table.shape))
        partner[at] = found[over]
        table[at], table[:, over] = -1, -1
    return [(line, partner.get(at)) for at, line in enumerate(page.lines)]


def score(tally: Tally, page: Page, shot: Shot, lines: Sequence[Line]) -> None:
    """Match the lines read with those written and count."""
    count = tally.count
    pairs = matched(page, shot, lines)
    count["lines written"] += len(pairs)
    count["lines found"] += sum(
        line.polygon is not None and bool(line.candidates[0].tokens) for line in lines
    )
    count["lines matched"] += sum(read is not None for _, read in pairs)
    for line, read in pairs:
        if line.role == "working":
            texts = [(c.text, c.probability) for c in read.candidates] if read else [("", 0.0)]
            compare(tally, line.markup, texts)
        else:
            count[line.role] += 1
            count[f"{line.role} right"] += read is not None and read.role == line.role
