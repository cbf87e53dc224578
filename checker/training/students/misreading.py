"""Pages as a reader would hand them on: exact, or n-best with a measured reader's own doubts.

``misreadings.json`` holds what the line reader made of photos of pages that invented students
wrote, each in one hand that it has not met, and ``misreadings_unseen.json`` the same in hands that
only measure (``python -m checker.training.confusions`` measures both anew).
A page is misread as one of those photos was: each line takes over the doubts of one of its lines
that is about as long, at the same or like characters the same confusions, in the same candidates,
with the same stated probabilities.  So clusters of errors, zeros that a hand writes like sixes,
texts that no candidate has, and errors with no doubt shown are as frequent as measured; only the
share of wrong characters may be set, by drawing photos about which the reader was less (or more)
sure more often, which leaves its probabilities as honest as they are.
"""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import accumulate, chain
from math import exp, log
from pathlib import Path
from statistics import mean

from checker import markup
from checker.reading.page import Candidate, Line, Token
from checker.training.students.record import StudentPage

MEASURED = Path(__file__).parent / "misreadings.json"
UNSEEN = Path(__file__).parent / "misreadings_unseen.json"
NEAR = 3  # lines of a photo that are nearest in length, of which one is drawn
CERTAIN = 0.9997  # what is stated of a character that is not in doubt (the mean of 3,395)
Confusions = dict[str, Counter[str]]
_NOWHERE = (0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Doubt:
    """A token that was read differently or with little certainty: what each candidate has for it
    (perhaps nothing, or more than one token), and the least stated of those in the best."""

    token: str
    readings: tuple[str, ...]
    probability: float

    @property
    def differs(self) -> bool:
        return any(reading != self.token for reading in self.readings)


@dataclass(frozen=True)
class Measured:
    """A line that was read: how many tokens it has, how many of them the best text has wrong, what
    is stated of its candidates, and its doubts, those about tokens in a row together."""

    length: int
    errors: int
    stated: tuple[float, ...]
    doubts: tuple[tuple[Doubt, ...], ...]


Photo = tuple[Measured, ...]  # its lines


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


def misread(
    page: StudentPage, seed: int, error_rate: float | None = None, source: Path = MEASURED
) -> tuple[Line, ...]:
    """The page as read with ``error_rate`` wrong characters in the best candidates; None: with as
    many as the ``source`` has."""
    rng = random.Random(f"misread {seed} {page.seed}")
    photo = rng.choices(measured(source), cum_weights=_weights(error_rate, source))[0]
    lines = []
    for number, line in enumerate(page.lines):
        if line.struck:
            lines.append(Line(0, (Candidate("<struck>", 0.97),), line=number, role="struck"))
        else:
            candidates = read_line(line.markup, rng, photo, source)
            lines.append(Line(0, tuple(candidates), line=number))
    return tuple(lines)


def read_line(text: str, rng: random.Random, photo: Photo, source: Path) -> list[Candidate]:
    """Candidates of one line, best first."""
    tokens = markup.tokens(markup.canonical(text))
    by_length = sorted(photo, key=lambda line: abs(log(line.length / len(tokens))))
    its = rng.choice(by_length[:NEAR])
    swaps = _confusions(source)
    return _as(its, tokens, rng, swaps, whole=True) or _as(its, tokens, rng, swaps, whole=False)


def _as(
    its: Measured, tokens: Sequence[str], rng: random.Random, swaps: Confusions, whole: bool
) -> list[Candidate]:
    """The line read with the doubts of a measured one, those about braces only if ``whole``;
    nothing where no markup comes of it."""
    read = [[token] * len(its.stated) for token in tokens]
    sure = [CERTAIN] * len(tokens)
    free = set(range(len(tokens)))
    for run in sorted(its.doubts, key=len, reverse=True):
        place = _place(run, tokens, free, rng) if whole else []
        if not place:
            run = tuple(_without_structure(d) for d in run if d.token not in markup.STRUCTURE)
            place = _place(run, tokens, free, rng, skip=True)
        for at, doubt in zip(place, run, strict=False):
            free -= {at - 1, at, at + 1}  # doubts stay as far apart as they were
            read[at] = _readings(doubt, tokens[at], rng, swaps)
            sure[at] = doubt.probability
    found: dict[str, Candidate] = {}
    for k, stated in enumerate(its.stated):
        pieces = [readings[k] for readings in read]
        text = "".join(pieces)
        if not _balanced(text):
            return []
        before = found[text].probability if text in found else 0.0
        found[text] = Candidate(text, before + stated, _tokens(pieces, sure))
    return sorted(found.values(), key=lambda candidate: -candidate.probability)


def _place(
    run: Sequence[Doubt], tokens: Sequence[str], free: set[int], rng: random.Random,
    skip: bool = False,
) -> list[int]:  # fmt: skip
    """Where doubts about tokens in a row fit best: at the same tokens, else at like ones; nothing
    where braces differ, unless these are to be skipped.  A short line takes some of a long row."""
    places = [at for at, token in enumerate(tokens) if not (skip and token in markup.STRUCTURE)]
    length = min(len(run), len(places)) if skip else len(run)
    best = 0
    starts: list[list[int]] = []
    for start in range(len(places) - length + 1):
        its = places[start : start + length]
        likeness = [_likeness(doubt, tokens[at]) for at, doubt in zip(its, run, strict=False)]
        if 0 in likeness or not free.issuperset(its):
            continue
        if sum(likeness) > best:
            best, starts = sum(likeness), []
        if sum(likeness) == best:
            starts.append(its)
    return rng.choice(starts) if starts else []


def _without_structure(doubt: Doubt) -> Doubt:
    readings = tuple(
        "".join(t for t in markup.tokens(reading) if t not in markup.STRUCTURE)
        for reading in doubt.readings
    )
    return Doubt(doubt.token, readings, doubt.probability)


def _likeness(doubt: Doubt, token: str) -> int:
    if doubt.token == token:
        return 9
    if doubt.differs and (doubt.token in markup.STRUCTURE or token in markup.STRUCTURE):
        return 0
    return 2 if _class(doubt.token) == _class(token) else 1


def _class(token: str) -> int:
    return 0 if token.isdigit() else 1 if token.isalpha() else 2 if token in ".," else 3


def _readings(doubt: Doubt, token: str, rng: random.Random, swaps: Confusions) -> list[str]:
    """What the candidates have for a token that stands where another was in doubt."""
    if doubt.token == token:
        return list(doubt.readings)
    new = {doubt.token: token}
    others = [(r, n) for r, n in swaps.get(token, {}).items() if r not in new.values()]
    for reading in doubt.readings:
        if reading not in new:
            drawn = rng.choices(*zip(*others, strict=True))[0] if others else reading
            others = [(r, n) for r, n in others if r != drawn]
            new[reading] = drawn
    return [new[reading] for reading in doubt.readings]


def _tokens(pieces: Sequence[str], sure: Sequence[float]) -> tuple[Token, ...]:
    tokens: list[Token] = []
    overlooked = 1.0  # that something was overlooked shows in what comes next
    for piece, p in zip(pieces, sure, strict=True):
        its = markup.tokens(piece)
        tokens += [Token(token, _NOWHERE, min(p, overlooked)) for token in its]
        overlooked = 1.0 if its else min(p, overlooked)
    return tuple(tokens)


def _balanced(text: str) -> bool:
    open_ = ""
    for token in markup.tokens(text):
        if token == "{" or token in ("_{", "^{"):
            open_ += "n" if token == "{" else "s"
        elif token == "}/{":
            if not open_.endswith("n"):
                return False
            open_ = open_[:-1] + "s"
        elif token == "}":
            if not open_.endswith("s"):
                return False
            open_ = open_[:-1]
    return not open_


@cache
def measured(source: Path) -> tuple[Photo, ...]:
    """The photos of the file."""
    return tuple(
        tuple(
            Measured(
                length, errors, tuple(stated),
                tuple(tuple(Doubt(token, tuple(readings), p) for token, readings, p in run)
                      for run in runs),
            )
            for length, errors, stated, runs in photo
        )
        for photo in json.loads(source.read_text(encoding="utf-8"))
    )  # fmt: skip


@cache
def _confusions(source: Path) -> Confusions:
    """What the candidates have for every token where they do not have that itself."""
    found: Confusions = {}
    for doubt in (d for photo in measured(source) for line in photo for d in chain(*line.doubts)):
        wrong = (r for r in doubt.readings if r != doubt.token)
        plain = (r for r in wrong if not set(markup.tokens(r)) & set(markup.STRUCTURE))
        found.setdefault(doubt.token, Counter()).update(plain)
    return found


@cache
def _weights(error_rate: float | None, source: Path) -> tuple[float, ...]:
    """How often each photo is drawn, summed up: all as often, or those in doubt so much more (or
    less) often that so many characters are wrong."""
    photos = measured(source)
    if error_rate is None:
        return tuple(accumulate([1.0] * len(photos)))
    doubts = [1 - mean(line.stated[0] for line in photo) for photo in photos]
    wrong = [sum(line.errors for line in photo) / sum(line.length for line in photo)
             for photo in photos]  # fmt: skip
    low, high = -60.0, 60.0
    for _ in range(40):
        middle = (low + high) / 2
        weights = [exp(middle * doubt) for doubt in doubts]
        rate = sum(w * share for w, share in zip(weights, wrong, strict=True)) / sum(weights)
        low, high = (middle, high) if rate < error_rate else (low, middle)
    return tuple(accumulate(exp(low * doubt) for doubt in doubts))
