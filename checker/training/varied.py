"""New ways of writing made from those there are, to train on.

A few hundred writers and typefaces are soon known by heart.  For every page a hand is changed as
a whole: some characters are borrowed from other hands, and each character gets its own leaning,
width and bend, which stay for the page; single glyphs then differ a little more.  Measuring never
uses this.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Literal

import numpy as np

from checker.training.hands import Hand, load_hands
from checker.training.marks import Glyph

Rng = np.random.Generator

PLAIN = 0.12  # share of pages in a hand as it is
MIXED = 0.5  # share of pages that borrow characters from other hands
UPRIGHT = frozenset(".,:;'-~+±·×÷∴≈")  # small or level signs: a strong bend makes others of them
WAVY = 1.7  # many hands write an equals sign as two waves
_SPREAD = np.array([0.05, 0.1, 0.13, 0.06])
TELLING = frozenset("49()/|[]1l7CUVuv0OQ6aq5S")  # changed less: a bend makes another of them


@dataclass(frozen=True)
class Bend:
    """An affine change and a smooth wave of the plane, in em."""

    matrix: np.ndarray  # (2, 2)
    waves: np.ndarray  # (2, 2) directions, radians per em
    phase: np.ndarray  # (2,)
    reach: np.ndarray  # (2, 2) em

    def __call__(self, points: np.ndarray) -> np.ndarray:
        moved = points @ self.matrix
        moved += np.sin(points @ self.waves + self.phase) @ self.reach
        return moved.astype(np.float32)


def draw_matrix(rng: Rng, strength: float) -> np.ndarray:
    """Turned, leaning, wider or taller: (2, 2), for points as rows."""
    turn, lean, wide, tall = (rng.normal(0, strength, 4) * _SPREAD).tolist()
    return np.array([[1 + wide, turn], [lean - turn, 1 + tall]], np.float32)


def draw_bend(rng: Rng, strength: float) -> Bend:
    """``strength`` 1: leanings of about 7 degrees, widths by a sixth, bends of 0.04 em."""
    return Bend(
        draw_matrix(rng, strength),
        rng.normal(0, 3.2, (2, 2)).astype(np.float32),
        rng.uniform(0, 2 * np.pi, 2).astype(np.float32),
        (rng.normal(0, 0.026 * strength, (2, 2))).astype(np.float32),
    )


@dataclass
class VariedHand:
    """A hand for one page, made from ``base`` and the ``others`` of its kind."""

    base: Hand
    others: Sequence[Hand]
    rng: Rng
    strength: float
    borrowed: float  # share of characters taken from others
    chosen: dict[str, tuple[Hand, Bend]] = field(default_factory=dict)

    @property
    def name(self) -> str:
        return self.base.name

    @property
    def kind(self) -> str:
        return self.base.kind

    def has(self, character: str) -> bool:
        return self.base.has(character)

    def glyph(self, character: str, rng: Rng) -> Glyph:
        """A glyph of the hand this page has for the character, bent its way and a little more."""
        if character not in self.chosen:
            self.chosen[character] = self._choose(character)
        hand, bend = self.chosen[character]
        glyph = hand.glyph(character, rng)
        lengths = np.cumsum([len(path) for path in glyph.paths])[:-1]
        points = bend(np.concatenate(glyph.paths)) @ draw_matrix(rng, 0.4 * self._much(character))
        paths = np.split(points, lengths)
        if not glyph.filled and len(paths) > 1:  # strokes meet less exactly, or overlap
            loose = 0.022 * self._much(character)
            paths = [p + rng.normal(0, loose, 2).astype(np.float32) for p in paths]
            points = np.concatenate(paths)
        left = np.array([points[:, 0].min(), 0], np.float32)
        moved = tuple(path - left for path in paths)
        return Glyph(moved, glyph.filled, float(points[:, 0].max() - left[0]))

    def _choose(self, character: str) -> tuple[Hand, Bend]:
        hand = self.base
        if self.rng.random() < self.borrowed:
            other = self.others[int(self.rng.integers(len(self.others)))]
            hand = other if other.has(character) else hand
        return hand, draw_bend(self.rng, self._much(character))

    def _much(self, character: str) -> float:
        if character in UPRIGHT:
            return 0.4 * self.strength
        if character == "=":
            return WAVY * self.strength
        return (0.7 if character in TELLING else 1.0) * self.strength


def unmet(rng: Rng, kind: Literal["pen", "font"], data: Path, fonts: Path) -> Hand:
    """A hand that a reader trained without ``--everyone`` has never met: of a writer kept for
    calibration as it is, or a typeface changed for a page as much as ever while training."""
    if kind == "pen":
        return _one_of(rng, _all_hands("pen", "calibration", data, fonts))
    typefaces = _all_hands("font", "train", data, fonts)
    base = _one_of(rng, typefaces)
    return VariedHand(base, typefaces, rng, 1.2, float(rng.choice([0.0, 0.5, 1.0])))


_all_hands = cache(load_hands)


def varied(rng: Rng, hands: Sequence[Hand]) -> Hand:
    """One of the hands, changed for a page."""
    base = _one_of(rng, hands)
    if rng.random() < PLAIN:
        return base
    borrowed = float(rng.uniform(0.1, 1.0)) if rng.random() < MIXED else 0.0
    return VariedHand(base, _kin(base, hands), rng, float(rng.uniform(0.3, 1.3)), borrowed)


def _one_of(rng: Rng, hands: Sequence[Hand]) -> Hand:
    return hands[int(rng.integers(len(hands)))]


def _kin(base: Hand, hands: Sequence[Hand]) -> list[Hand]:
    """Those to borrow characters from: pens from pens, typefaces from typefaces."""
    return [hand for hand in hands if (hand.kind == "font") == (base.kind == "font")]
