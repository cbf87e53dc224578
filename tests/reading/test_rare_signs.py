"""≈ or an equals sign of two waves, by whether the page surely has any ≈ (common practice, no
source)."""

from __future__ import annotations

import pytest

from checker.reading.page import Candidate, Token
from checker.reading.rare_signs import without_rare_signs

BOX = (0.0, 0.0, 1.0, 1.0)


def one(text: str, chance: float) -> Candidate:
    return Candidate(text, chance, tuple(Token(sign, BOX, chance) for sign in text))


SURE_EQUALS = [(one("C=4=5", 0.99),) for _ in range(6)]
DOUBTFUL = (one("Q≈3", 0.7), one("Q=3", 0.25))


def test_waves_are_an_equals_sign_where_the_page_has_no_other() -> None:
    *_, found = without_rare_signs([*SURE_EQUALS, DOUBTFUL])
    assert [candidate.text for candidate in found] == ["Q=3", "Q≈3"]
    assert found[0].probability <= 0.7  # no surer than the line was


def test_a_hand_that_surely_writes_it_elsewhere_may_here_as_well() -> None:
    certain = (one("V≈7", 0.99),)
    *_, found = without_rare_signs([*SURE_EQUALS, certain, certain, DOUBTFUL])
    assert [candidate.text for candidate in found] == ["Q≈3", "Q=3"]
    assert found[0].probability == pytest.approx(0.7)


def test_waves_before_symbols_are_an_equals_sign_and_so_are_those_before_numbers() -> None:
    sure = (one("V≈7", 0.96), one("V=7", 0.03))
    before_symbols = [(one(f"Q≈{letter}", 0.9), one(f"Q={letter}", 0.1)) for letter in "CVq"]
    found = without_rare_signs([*SURE_EQUALS, sure, *before_symbols])
    assert [line[0].text for line in found[6:]] == ["V=7", "Q=C", "Q=V", "Q=q"]


def test_lines_without_the_sign_stay_as_they_are() -> None:
    lines = [*SURE_EQUALS, (one("1", 0.6), one("7", 0.4))]
    assert without_rare_signs(lines) == lines
    assert without_rare_signs([]) == []
