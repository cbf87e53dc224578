"""How a line that was read is noted down for misreading others."""

from __future__ import annotations

from checker.reading.page import Candidate, Token
from checker.training.confusions import row


def candidate(text: str, probability: float, *tokens: tuple[str, float]) -> Candidate:
    return Candidate(
        text, probability, tuple(Token(one, (0.0, 0.0, 0.0, 0.0), p) for one, p in tokens)
    )


def test_doubts_are_noted_at_the_tokens_of_the_truth() -> None:
    """A digit in doubt, a point overlooked, a stroke slipped in, and nothing about the rest."""
    best = [("C", 1.0), ("=", 1.0), ("7", 0.6), (".", 0.9), ("5", 1.0), ("µ", 1.0), ("F", 0.99)]
    read = [candidate("C=7.5µF1", 0.5, *best, ("1", 0.5)), candidate("C=15µF", 0.3)]
    line, among = row("C=1.5µF", read)
    length, errors, stated, runs = line
    assert (length, errors, stated, among) == (7, 2, [0.5, 0.3], False)
    assert runs == [
        [("1", ["7", "1"], 0.6), (".", [".", ""], 0.9)],
        [("F", ["F1", "F"], 0.5)],
    ]


def test_a_line_read_well_is_noted_without_doubts() -> None:
    line, among = row("Q=CV", [candidate("Q=CV", 0.99, *((c, 0.999) for c in "Q=CV"))])
    assert line == (4, 0, [0.99], []) and among
