"""Signs that could be one thing or another are told by how the same hand writes both.

A hand's 1 may look like anybody's 7, but not like its own.  The signs in which the texts of a
line differ are compared with the surely read signs of the page's other lines, by shape alone:
what the working means has no say, so that no slip is repaired.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher

import numpy as np

from checker.reading.page import Candidate, Token

_SURE = 0.8  # probability from which a sign shows how the hand writes it
_NEAREST = 5  # signs of a kind that another is compared with
_WEIGHT = 7.0  # log-odds for shapes alike (1) against unlike (0)
_UNKNOWN = 0.1  # likeness to a sign that stands nowhere else on the page
_NO_SIGNS = frozenset(("", " ", "{", "}/{", "}", "_{", "^{"))


def shape_odds(texts: Sequence[tuple[Candidate, ...]]) -> list[list[float]]:
    """For every line of a page the log-odds of each candidate against the first, by the shapes of
    the signs in which they differ; 0 where tokens have no ``shape``."""
    signs = _Signs.of(texts)
    if signs is None:
        return [[0.0] * len(found) for found in texts]
    return [
        [_WEIGHT * signs.favour(line, found[0].tokens, one.tokens) for one in found]
        for line, found in enumerate(texts)
    ]


@dataclass(frozen=True)
class _Signs:
    """The surely read signs of a page: the line each is in, its text and its shape (n, d)."""

    line: np.ndarray
    text: np.ndarray
    shape: np.ndarray
    middle: np.ndarray  # (d,) the mean shape, which tells nothing

    @staticmethod
    def of(texts: Sequence[tuple[Candidate, ...]]) -> _Signs | None:
        sure = [
            (line, token.text, token.shape)
            for line, found in enumerate(texts)
            for token in found[0].tokens
            if token.shape is not None and token.probability > _SURE and token.text not in _NO_SIGNS
        ]
        if not sure:
            return None
        lines, names, shapes = zip(*sure, strict=True)
        stacked = np.stack(shapes).astype(np.float32)
        middle = stacked.mean(axis=0)
        return _Signs(np.array(lines), np.array(names), _unit(stacked - middle), middle)

    def favour(self, line: int, was: Sequence[Token], now: Sequence[Token]) -> float:
        """How much more alike the signs are that differ, where one stands for one."""
        return sum(
            self._likeness(b, line) - self._likeness(a, line)
            for a, b in _replaced(was, now)
            if a.text not in _NO_SIGNS and b.text not in _NO_SIGNS
        )

    def _likeness(self, token: Token, line: int) -> float:
        """How alike a token of a line is to the signs of its text in other lines, up to 1."""
        same = (self.text == token.text) & (self.line != line)
        if token.shape is None or not same.any():
            return _UNKNOWN
        alike = self.shape[same] @ _unit(token.shape.astype(np.float32) - self.middle)
        return float(np.sort(alike)[-_NEAREST:].mean())


def _unit(vectors: np.ndarray) -> np.ndarray:
    length = np.linalg.norm(vectors, axis=-1, keepdims=True)
    return np.asarray(vectors / np.maximum(length, 1e-6))


def _replaced(was: Sequence[Token], now: Sequence[Token]) -> Iterator[tuple[Token, Token]]:
    one, two = [token.text for token in was], [token.text for token in now]
    for what, i0, i1, j0, j1 in SequenceMatcher(None, one, two, autojunk=False).get_opcodes():
        if what == "replace" and i1 - i0 == j1 - j0:
            yield from zip(was[i0:i1], now[j0:j1], strict=True)
