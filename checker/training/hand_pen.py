"""Hands from recorded pen strokes: one writer each, gaps filled from writers who write alike.

The archive of isolated glyphs has neither size nor position on the line, so each class gets them
here (``_layout``), a little different for every hand.  Everything is kept in a few flat arrays
made once (``load_archive``), which forked workers share.
"""

from __future__ import annotations

import itertools
import zlib
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import cv2
import numpy as np

from checker.markup import CHARACTERS
from checker.training import hand_drawn, hand_ink
from checker.training.hand_drawn import AXIS, Paths
from checker.training.marks import Glyph

ARCHIVE = "unipen_glyphs.npz"
CLASSES = "".join(c for c in CHARACTERS if c not in hand_drawn.SYMBOLS) + "~>"
INK_SYMBOLS = "×÷µ"  # some hands write these as photographed ink has them
BY_WIDTH = "-=~÷"  # sized by width; '.' by its longer side
MOST_POINTS = 24  # per stroke
TOLERANCE = 0.006  # of the glyph's height, when a stroke is thinned
LEAST_GAP = 0.19  # between the lines of an equals sign, in em: more than the thickest pen
ENOUGH = 5  # samples of one class a hand draws from
DOUBTFUL_RANK = 20  # a glyph whose own class ranks lower than this among all classes is dropped


@dataclass(frozen=True)
class Archive:
    """Thinned strokes of every kept glyph, scaled so that its size is 1 (see ``_unit``).

    points float32 (n, 2); strokes of glyph g: ``ends[first[g]:first[g + 1] + 1]`` are the
    boundaries; ``features`` float32 (glyphs, dims): what it looks like, for finding similar ones.
    """

    points: np.ndarray
    ends: np.ndarray
    first: np.ndarray
    labels: np.ndarray
    writers: np.ndarray
    splits: np.ndarray
    features: np.ndarray
    low: np.ndarray  # bool (glyphs): an i or j without its dot

    def strokes(self, glyph: int) -> tuple[np.ndarray, list[int]]:
        """All points of a glyph, and where its strokes are cut (relative, first 0)."""
        cut = self.ends[self.first[glyph] : self.first[glyph + 1] + 1]
        return self.points[cut[0] : cut[-1]], (cut - cut[0]).tolist()


# --- the archive ---------------------------------------------------------------------------------


def _features(points: np.ndarray, strokes: np.ndarray, glyphs: np.ndarray) -> np.ndarray:
    """Where on an 8 x 8 grid ink runs in which of four directions, blurred; last: aspect ratio."""
    start = strokes[glyphs[:-1]]
    low, high = np.minimum.reduceat(points, start), np.maximum.reduceat(points, start)
    size = np.maximum(high - low, 1)
    owner = np.repeat(np.arange(len(start)), np.diff(strokes[glyphs]))
    middle, longest = (low + high) / 2, size.max(1)
    step = np.diff(points, axis=0)
    inside = np.ones(len(step), bool)
    inside[strokes[1:-1] - 1] = False
    owner, at, step = owner[:-1][inside], ((points[1:] + points[:-1]) / 2)[inside], step[inside]
    cell = ((at - middle[owner]) / longest[owner, None] * 7.98 + 4).astype(int).clip(0, 7)
    turn = (np.round(np.arctan2(step[:, 1], step[:, 0]) / (np.pi / 4)).astype(int)) % 4
    place = ((owner * 4 + turn) * 8 + cell[:, 1]) * 8 + cell[:, 0]
    length = np.hypot(step[:, 0], step[:, 1])
    grid = np.bincount(place, length, len(start) * 256).reshape(-1, 8, 8).astype(np.float32)
    padded = np.pad(grid, ((0, 0), (1, 1), (1, 1)))
    rows = padded[:, :-2] + 2 * padded[:, 1:-1] + padded[:, 2:]
    blurred = rows[:, :, :-2] + 2 * rows[:, :, 1:-1] + rows[:, :, 2:]
    vectors = np.sqrt(blurred).reshape(len(start), 256)
    vectors /= np.linalg.norm(vectors, axis=1, keepdims=True) + 1e-6
    aspect = np.log(size[:, 0] / size[:, 1]).astype(np.float32)
    return np.concatenate([vectors, 0.3 * aspect[:, None].clip(-2, 2)], 1)


def _doubtful(features: np.ndarray, labels: np.ndarray) -> np.ndarray:
    """True where a linear discriminant puts the glyph's own class below DOUBTFUL_RANK, or its
    aspect ratio is far outside its class: mislabelled or cut-off glyphs."""
    names, index = np.unique(labels, return_inverse=True)
    total = np.bincount(index)
    means = np.stack([features[index == i].mean(0) for i in range(len(names))])
    residual = features - means[index]
    spread = residual.T @ residual / len(features)
    spread += np.eye(len(spread)) * (0.05 * np.trace(spread) / len(spread) + 1e-9)
    weights = np.linalg.solve(spread, means.T).astype(np.float32)
    score = features @ weights - 0.5 * (means.T * weights).sum(0)
    rank = (score > score[np.arange(len(score)), index][:, None]).sum(1)
    doubtful = (rank > DOUBTFUL_RANK) & (labels != ".")
    for i in range(len(names)):
        if total[i] >= 30 and names[i] != ".":
            aspect = features[index == i, -1]
            low, high = np.quantile(aspect, [0.002, 0.998])
            doubtful[index == i] |= (aspect < low) | (aspect > high)
    return doubtful


def _unit(label: str, points: np.ndarray) -> np.ndarray:
    """Scale a glyph to size 1 at x >= 0: by height, standing on y = 0 (most), by width, centred on
    y = 0 (``BY_WIDTH``), or by its longer side, standing on y = 0 (the full stop)."""
    low, high = points.min(0), points.max(0)
    size = np.maximum(high - low, 1e-3)
    if label in BY_WIDTH:
        return ((points - [low[0], (low[1] + high[1]) / 2]) / size[0]).astype(np.float32)
    scale = size.max() if label == "." else size[1]
    return ((points - [low[0], high[1]]) / max(scale, 1.0)).astype(np.float32)


def _thin(stroke: np.ndarray) -> np.ndarray:
    """Leave out points the eye does not miss, until at most MOST_POINTS remain."""
    tolerance = TOLERANCE
    while True:
        thin = cv2.approxPolyDP(stroke[:, None], tolerance, False)[:, 0]
        if len(thin) <= MOST_POINTS:
            return thin
        tolerance *= 1.6


@lru_cache(maxsize=2)
def load_archive(path: Path) -> Archive:
    """Read the glyph archive (see its README for the arrays), with the ink beside it if it is
    there, and keep what is needed.  Every tenth writer of the training split is kept out of it, in
    a split of their own, to find out how sure the reader may be in a hand it has never met."""
    with np.load(path) as z:
        points, strokes, glyphs = z["points"], z["stroke_starts"], z["glyph_starts"]
        labels, writers, splits = z["labels"], z["writers"], z["split"]
    ink = path.with_name(hand_ink.ARCHIVE)
    if ink.exists():
        more = hand_ink.load_ink(ink)
        points = np.concatenate([points, more[0]])
        strokes = np.concatenate([strokes[:-1], more[1] + strokes[-1]])
        glyphs = np.concatenate([glyphs[:-1], more[2] + glyphs[-1]])
        labels = np.concatenate([labels, more[3]])
        writers = np.concatenate([writers, more[4]])
        splits = np.concatenate([splits, more[5]])
    kept = [zlib.crc32(f"kept {writer}".encode()) % 10 == 0 for writer in writers.tolist()]
    splits = np.where((splits == "train") & kept, "calibration", splits)
    features = _features(points.astype(np.float32), strokes, glyphs)
    broken = (labels == "|") & (np.diff(glyphs) > 1)  # a bar in two pieces looks like a colon
    usable = np.isin(labels, list(CLASSES + INK_SYMBOLS)) & ~broken & ~_doubtful(features, labels)
    keep = np.flatnonzero(usable)
    thinned: list[np.ndarray] = []
    ends, first, low = [0], [0], []
    for g in keep.tolist():
        begin, end = glyphs[g], glyphs[g + 1]
        origin = strokes[begin]
        unit = _unit(labels[g], points[origin : strokes[end]].astype(float))
        parts = [
            _thin(unit[strokes[s] - origin : strokes[s + 1] - origin]) for s in range(begin, end)
        ]
        thinned += parts
        ends += (ends[-1] + np.cumsum([len(part) for part in parts])).tolist()
        first.append(len(ends) - 1)
        low.append(labels[g] in "ij" and not _dotted(parts))
    return Archive(
        points=np.concatenate(thinned),
        ends=np.array(ends),
        first=np.array(first),
        labels=labels[keep],
        writers=writers[keep],
        splits=splits[keep],
        features=features[keep],
        low=np.array(low),
    )


def _dotted(parts: list[np.ndarray]) -> bool:
    """Whether one stroke lies wholly above another (the dot of an i)."""
    return any(a[:, 1].max() < b[:, 1].min() + 0.02 for a in parts for b in parts if a is not b)


# --- size and place on the line ------------------------------------------------------------------

_DESCENDERS = "gpqy"
_ASCENDERS = "bdfhkl"
_SMALL = "acemnorsuvwxz"


@dataclass(frozen=True)
class Habits:
    """One writer's proportions, em units."""

    small: float  # height of an x
    capital: float
    ascender: float
    descender: float
    sign: float  # width of + - =
    axis: float  # y of their middle
    dot: float
    bracket: float  # height
    style: float  # 0..1, for drawn symbols

    @staticmethod
    def of(name: str) -> Habits:
        """Drawn from the name, so that a hand is the same in every process."""
        rng = np.random.default_rng(zlib.crc32(name.encode()))
        return Habits(
            small=rng.uniform(0.58, 0.74),
            capital=rng.uniform(0.97, 1.1),
            ascender=rng.uniform(1.0, 1.2),
            descender=rng.uniform(0.28, 0.45),
            sign=rng.uniform(0.42, 0.68),
            axis=AXIS + rng.normal(0, 0.04),
            dot=rng.uniform(0.03, 0.11),
            bracket=rng.uniform(1.15, 1.45),
            style=rng.random(),
        )


def _layout(label: str, habits: Habits) -> tuple[float, float]:
    """Size (of what ``_unit`` made 1) and the y of its foot, or of its middle for BY_WIDTH."""
    h = habits
    fixed = {
        ".": (h.dot, 0.0),
        ",": (0.28, 0.2),
        "'": (0.3, -0.78),
        ":": (0.5, -0.05),
        ";": (0.66, 0.2),
        "*": (0.42, h.axis + 0.05),
        "%": (1.0, 0.0),
        "!": (1.05, 0.0),
        "?": (1.05, 0.0),
        "-": (h.sign, h.axis),
        "=": (h.sign * 1.05, h.axis),
        "~": (h.sign * 1.05, h.axis),
        "+": (h.sign * 1.05, h.axis + h.sign * 0.525),
        "×": (0.36 + 0.22 * h.style, h.axis + 0.18 + 0.11 * h.style),
        "÷": (h.sign, h.axis),
        "µ": (h.small + h.descender, h.descender),
        ">": (0.5, h.axis + 0.25),
        "J": (h.capital, 0.0),
        "Q": (h.capital + 0.1, 0.1),
        "t": (0.5 * (h.small + h.ascender), 0.0),
        "i": (h.small + 0.27, 0.0),
        "j": (h.small + 0.27 + h.descender, h.descender),
    }
    if label in fixed:
        return fixed[label]
    if label in "()[]|/":
        return h.bracket, h.axis + h.bracket / 2
    if label in _SMALL:
        return h.small, 0.0
    if label in _DESCENDERS:
        return h.small + h.descender, h.descender
    if label in _ASCENDERS:
        return h.ascender, 0.0
    return (1.0 if label.isdigit() else h.capital), 0.0


# --- hands ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class PenHand:
    """One writer: a pool of glyph numbers for every class, and habits of size."""

    name: str
    archive: Archive
    pools: dict[str, np.ndarray]
    habits: Habits
    composed: frozenset[str]  # symbols put together from own strokes; the others are drawn
    kind: str = "pen"

    def has(self, character: str) -> bool:
        """Whether ``glyph`` can give the character."""
        return character in self.pools or character in hand_drawn.SYMBOLS

    def own(self, character: str) -> bool:
        """Whether the strokes are recorded ones (else composed or drawn)."""
        return character in self.pools

    def glyph(self, character: str, rng: np.random.Generator) -> Glyph:
        """A random sample of the character, its size and height on the line jittered."""
        if character in self.pools:
            paths = self._recorded(character, rng)
        elif character in self.composed:
            paths = _COMPOSED[character](self, rng)
        else:
            paths = hand_drawn.symbol(character, rng, self.habits.style)
        return _upright(paths)

    def _recorded(self, label: str, rng: np.random.Generator) -> Paths:
        pool = self.pools[label]
        number = int(pool[int(rng.random() * len(pool))])
        size, foot = _layout(label, self.habits)
        if self.archive.low[number]:  # an i or j that lost its dot
            size -= 0.27
        jitter = rng.normal(0, 1, 2)
        size *= 1 + (0.25 if label == "." else 0.045) * max(-2.0, min(2.0, jitter[0]))
        points, cut = self.archive.strokes(number)
        placed = points * np.float32(size)
        if label == "=":  # nobody lets the two lines of an equals sign run into one
            placed[:, 1] *= max(1.0, LEAST_GAP / max(float(np.ptp(placed[:, 1])), 1e-3))
        placed[:, 1] += np.float32(foot + 0.02 * jitter[1])
        return tuple(placed[a:b] for a, b in itertools.pairwise(cut))


def _upright(paths: Paths) -> Glyph:
    left = min(float(path[:, 0].min()) for path in paths)
    right = max(float(path[:, 0].max()) for path in paths)
    if left:
        paths = tuple(path - np.array([left, 0], np.float32) for path in paths)
    return Glyph(paths, False, right - left)


def _moved(paths: Paths, x: float, y: float) -> Paths:
    return tuple(path + np.array([x, y], np.float32) for path in paths)


def _right(paths: Paths) -> float:
    return max(float(path[:, 0].max()) for path in paths)


def _raised_dot(hand: PenHand, rng: np.random.Generator) -> Paths:
    return _moved(hand._recorded(".", rng), 0, hand.habits.axis + rng.normal(0, 0.03))


def _small_cross(hand: PenHand, rng: np.random.Generator) -> Paths:
    scale = (0.36 + 0.22 * hand.habits.style) / hand.habits.small
    paths = tuple(path * np.float32(scale) for path in hand._recorded("x", rng))
    return _moved(paths, 0, hand.habits.axis + scale * hand.habits.small / 2)


def _dots_round_bar(hand: PenHand, rng: np.random.Generator) -> Paths:
    bar = hand._recorded("-", rng)
    gap = 0.2 + rng.normal(0, 0.02) + 0.4 * max(float(np.ptp(path[:, 1])) for path in bar)
    middle = _right(bar) / 2
    above = _moved(hand._recorded(".", rng), middle, hand.habits.axis - gap + 0.04)
    return bar + above + _moved(hand._recorded(".", rng), middle, hand.habits.axis + gap + 0.04)


def _two_waves(hand: PenHand, rng: np.random.Generator) -> Paths:
    upper, lower = (hand._recorded("~", rng) for _ in "ab")
    tall = max(float(np.ptp(path[:, 1])) for path in upper + lower)
    gap = max(0.1, 0.4 * tall + 0.05) + abs(rng.normal(0, 0.015))
    return _moved(upper, 0, -gap) + _moved(lower, rng.normal(0, 0.03), gap)


def _plus_over_bar(hand: PenHand, rng: np.random.Generator) -> Paths:
    plus = _moved(hand._recorded("+", rng), 0, -0.1)
    drop = hand.habits.sign / 2 + rng.uniform(0.0, 0.1)
    return plus + _moved(hand._recorded("-", rng), rng.normal(0, 0.03), drop)


def _two_uprights(hand: PenHand, rng: np.random.Generator) -> Paths:
    scale = np.float32(0.65 + 0.3 * hand.habits.style)
    first, second = (tuple(path * scale for path in hand._recorded("|", rng)) for _ in "ab")
    lift = hand.habits.axis * (1 - float(scale))
    gap = 0.14 + 0.12 * hand.habits.style + rng.normal(0, 0.01)
    return _moved(first, 0, lift) + _moved(second, _right(first) + gap, lift)


def _bar_and_head(bar: str, size: float) -> Callable[[PenHand, np.random.Generator], Paths]:
    def compose(hand: PenHand, rng: np.random.Generator) -> Paths:
        stretch = 1.2 + hand.habits.style
        shaft = tuple(
            path * np.array([stretch, 1], np.float32) for path in hand._recorded(bar, rng)
        )
        head = tuple(path * np.float32(size) for path in hand._recorded(">", rng))
        lift = hand.habits.axis * (1 - size)
        return shaft + _moved(head, _right(shaft) - _right(head) * 0.9, lift)

    return compose


def _three_dots(hand: PenHand, rng: np.random.Generator) -> Paths:
    size = 0.4 + rng.normal(0, 0.03)
    places = [(size / 2, -size), (0.0, -0.06), (size, -0.06)]
    return tuple(path for x, y in places for path in _moved(hand._recorded(".", rng), x, y))


def _stemmed_u(hand: PenHand, rng: np.random.Generator) -> Paths:
    """The writer's u with a stem drawn down from its left shoulder."""
    u = hand._recorded("u", rng)
    start = u[0][0] if u[0][0, 0] < _right(u) / 2 else u[0][int(np.argmin(u[0][:, 0]))]
    deep = hand.habits.descender * (1 + rng.normal(0, 0.1))
    foot = (float(start[0]) - 0.1 * hand.habits.style + rng.normal(0, 0.02), deep)
    stem = np.linspace((float(start[0]), float(start[1])), foot, 8)
    return (*u, hand_drawn.wobble(stem, rng, 0.01))


_COMPOSED: dict[str, Callable[[PenHand, np.random.Generator], Paths]] = {
    "·": _raised_dot,
    "×": _small_cross,
    "÷": _dots_round_bar,
    "≈": _two_waves,
    "±": _plus_over_bar,
    "∥": _two_uprights,
    "→": _bar_and_head("-", 0.45),
    "⇒": _bar_and_head("=", 0.9),
    "∴": _three_dots,
    "µ": _stemmed_u,
}


def load_pen_hands(path: Path, split: str) -> list[PenHand]:
    """Every writer of the split with at least six of the ten digits, missing classes filled in.

    Raises ValueError when the split has no sample at all of some class.
    """
    archive = load_archive(path)
    wanted = ("train", "calibration") if split == "everyone" else (split,)
    chosen = np.flatnonzero(np.isin(archive.splits, wanted))
    labels, writers = archive.labels[chosen], archive.writers[chosen]
    absent = sorted(set(CLASSES) - set(labels.tolist()))
    if absent:
        raise ValueError(f"{path.name} has no {split} glyphs of {' '.join(absent)}")
    names = np.unique(writers)
    owner = np.searchsorted(names, writers)
    number_of_digits = Counter(
        writer
        for writer, label in set(zip(owner.tolist(), labels.tolist(), strict=True))
        if label.isdigit()
    )
    founders = [i for i in range(len(names)) if number_of_digits[i] >= 6]
    per_class = [np.flatnonzero(labels == label) for label in CLASSES]
    unlike = _unlikeness(archive.features[chosen], owner, per_class, len(names))
    pools: list[dict[str, np.ndarray]] = [{} for _ in founders]
    for label, members in zip(CLASSES, per_class, strict=True):
        shapes, by = archive.features[chosen[members]], owner[members]
        donors = np.unique(by)
        for pool, writer in zip(pools, founders, strict=True):
            donor = writer if writer in donors else donors[int(np.argmin(unlike[writer, donors]))]
            own = np.flatnonzero(by == donor)
            if len(own) < ENOUGH:  # top up with the glyphs that look most like these
                distance = ((shapes - shapes[own].mean(0)) ** 2).sum(1)
                distance[own] = np.inf
                own = np.concatenate([own, np.argsort(distance)[: ENOUGH - len(own)]])
            pool[label] = chosen[members[own]]
    for pool, writer in zip(pools, founders, strict=True):
        rng = np.random.default_rng(zlib.crc32(str(names[writer]).encode()) + 2)
        for label in INK_SYMBOLS:
            members = chosen[labels == label]
            if len(members) and rng.random() < 0.4:
                shapes = archive.features[members]
                distance = ((shapes - shapes[rng.integers(len(members))]) ** 2).sum(1)
                pool[label] = members[np.argsort(distance)[:ENOUGH]]
    return [
        _hand(str(names[writer]), archive, pool)
        for pool, writer in zip(pools, founders, strict=True)
    ]


def _hand(writer: str, archive: Archive, pools: dict[str, np.ndarray]) -> PenHand:
    name = f"pen {zlib.crc32(writer.encode()):08x}"  # some writer ids resemble people's names
    rng = np.random.default_rng(zlib.crc32(name.encode()) + 1)
    composed = {symbol for symbol in _COMPOSED if rng.random() < 0.6}
    crossed = [g for g in pools["x"] if archive.first[g + 1] - archive.first[g] == 2]
    if not crossed:  # an x of two bows is no multiplication sign
        composed.discard("×")
    return PenHand(name, archive, pools, Habits.of(name), frozenset(composed))


def _unlikeness(
    features: np.ndarray, owner: np.ndarray, per_class: list[np.ndarray], count: int
) -> np.ndarray:
    """(writers, writers): mean squared feature distance over the classes both have; else large."""
    total = np.zeros((count, count))
    shared = np.zeros((count, count))
    for members in per_class:
        number = np.bincount(owner[members], minlength=count)
        belongs = (owner[members] == np.arange(count)[:, None]).astype(np.float32)
        means = belongs @ features[members] / np.maximum(number, 1)[:, None]
        norm = (means**2).sum(1)
        distance = norm[:, None] + norm[None] - 2 * means @ means.T
        both = np.outer(number > 0, number > 0)
        total += np.where(both, distance, 0)
        shared += both
    return np.where(shared >= 5, total / np.maximum(shared, 1), 10.0)
