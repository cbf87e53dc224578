"""Pages as a reader would hand them on: exact, or n-best with confusions and honest probabilities.

Until a trained reader's own confusions are measured, the table below stands in for them.  Which
characters look alike is common knowledge; how often they are confused is an assumption.
"""

from __future__ import annotations

import heapq
import random
from collections.abc import Iterator
from math import prod

from checker import markup
from checker.reading.page import Candidate, Line
from checker.training.students.record import StudentPage

CONFUSIONS: dict[str, tuple[str, ...]] = {
    "0": ("6", "O", "8"), "1": ("7", "l", "|"), "2": ("Z", "7"), "3": ("8", "5"),
    "4": ("9", "7"), "5": ("S", "3", "6"), "6": ("0", "b", "8"), "7": ("1", "2"),
    "8": ("3", "0", "6"), "9": ("4", "g", "7"), ".": ("", ",", "·"), ",": (".", "", "1"),
    "C": ("(", "G"), "Q": ("0", "O"), "V": ("v", "U"), "U": ("V", "u"), "q": ("9", "g"),
    "µ": ("u", "m"), "n": ("m", "u"), "p": ("P",), "F": ("f", "E"), "J": ("j", "T"),
    "+": ("t", "4"), "-": ("", "="), "=": ("-", "≈"), "×": ("x", "+"), "·": (".", "", "-"),
    "(": ("C", "1"), ")": ("1",), "'": ("1", ""), "Δ": ("A",), "l": ("1",), "s": ("5",),
    "T": ("J", "7"), "∥": ("11", "H"), "e": ("c",), "→": ("-",), "∴": ("..",),
}  # fmt: skip
OUTRIGHT = 0.0004  # per character: misread with no doubt shown, the truth not among the candidates
MOST = 8  # candidates of a line
# Errors come in clusters, on lines written badly: share of lines, error rate relative to the mean.
# An assumption, as is the shape of the doubts below; a measured reader replaces both.
DIFFICULTY = ((0.60, 0.25), (0.30, 1.5), (0.10, 4.2))


def exact(page: StudentPage, typed: bool = False) -> tuple[Line, ...]:
    """The page read without fault, as markup or as typed text; ``line`` numbers the lines."""
    return tuple(
        Line(
            0,
            (Candidate(line.text if typed else line.markup, 1.0),),
            line=number,
            role="struck" if line.struck else "working",
        )
        for number, line in enumerate(page.lines)
    )


def misread(page: StudentPage, seed: int, error_rate: float = 0.02) -> tuple[Line, ...]:
    """The page as read with ``error_rate`` wrong characters in the best candidates."""
    rng = random.Random(f"misread {seed} {page.seed}")
    lines = []
    for number, line in enumerate(page.lines):
        if line.struck:
            lines.append(Line(0, (Candidate("<struck>", 0.97),), line=number, role="struck"))
        else:
            harder = rng.choices(*zip(*((d, s) for s, d in DIFFICULTY), strict=True))[0]
            candidates = tuple(read_line(line.markup, rng, error_rate * harder))
            lines.append(Line(0, candidates, line=number))
    return tuple(lines)


def read_line(text: str, rng: random.Random, error_rate: float) -> list[Candidate]:
    """Candidates of one line, best first.

    Some characters are in doubt between two readings; the better of them is right as often as its
    probability says, so a candidate of probability p is the truth with frequency p.
    """
    tokens = markup.tokens(text)
    doubtful = [k for k, token in enumerate(tokens) if token in CONFUSIONS]
    share = len(tokens) / max(1, len(doubtful))
    # The better reading of a doubt is wrong in 0.5/1.6 of the cases (see p below).
    doubt = min(0.9, max(0.0, error_rate - OUTRIGHT) * share * 1.6 / 0.5)
    choices: dict[int, tuple[tuple[str, float], tuple[str, float]]] = {}
    sure = 1.0
    for k in doubtful:
        other = rng.choice(CONFUSIONS[tokens[k]])
        if rng.random() < OUTRIGHT * share:
            tokens[k] = other
        elif rng.random() < doubt:
            p = 1 - 0.5 * rng.random() ** 0.6
            best, second = (tokens[k], other) if rng.random() < p else (other, tokens[k])
            choices[k] = (best, p), (second, 1 - p)
        sure *= 1 - OUTRIGHT * share
    found: dict[str, float] = {}  # two losses may give one text
    for probability, picks in _best(list(choices.values())):
        read = list(tokens)
        for k, pick in zip(choices, picks, strict=True):
            read[k] = choices[k][pick][0]
        whole = "".join(read)
        found[whole] = found.get(whole, 0.0) + sure * probability
    return [Candidate(t, p) for t, p in sorted(found.items(), key=lambda item: -item[1])]


def _best(
    choices: list[tuple[tuple[str, float], tuple[str, float]]],
) -> Iterator[tuple[float, tuple[int, ...]]]:
    """The most probable combinations of independent two-way choices, best first."""
    # Turning a choice to its second reading costs a fixed factor; cheapest sets of turns first.
    order = sorted(range(len(choices)), key=lambda k: choices[k][1][1] / choices[k][0][1])[::-1]
    factors = [choices[k][1][1] / choices[k][0][1] for k in order]
    top = prod(c[0][1] for c in choices)
    heap: list[tuple[float, tuple[int, ...]]] = [(-top, ())]
    for _ in range(MOST):
        if not heap:
            return
        probability, turned = heapq.heappop(heap)
        if -probability < 0.002 and turned:
            return
        picks = [0] * len(choices)
        for place in turned:
            picks[order[place]] = 1
        yield -probability, tuple(picks)
        last = turned[-1] if turned else -1
        if last + 1 < len(factors):
            heapq.heappush(heap, (probability * factors[last + 1], (*turned, last + 1)))
            if turned:
                swapped = probability / factors[last] * factors[last + 1]
                heapq.heappush(heap, (swapped, (*turned[:-1], last + 1)))
