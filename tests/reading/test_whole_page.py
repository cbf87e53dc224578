"""Doubtful lines told by how the same hand writes, and labels, the rest of the page."""

from __future__ import annotations

import numpy as np
import pytest

from checker.reading.page import Candidate, Token
from checker.reading.whole_page import by_page

ONE, SEVEN, OTHER = np.eye(3, dtype=np.float32)
BOX = (0.0, 0.0, 1.0, 1.0)


def line(*readings: tuple[str, float], shapes: tuple[np.ndarray, ...]) -> tuple[Candidate, ...]:
    """Readings of as many signs as there are shapes."""

    def tokens(text: str, chance: float) -> tuple[Token, ...]:
        return tuple(Token(s, BOX, chance, shape) for s, shape in zip(text, shapes, strict=True))

    return tuple(Candidate(text, chance, tokens(text, chance)) for text, chance in readings)


def known() -> list[tuple[Candidate, ...]]:
    """Lines that show how the hand writes 1 and 7."""
    return [
        line(("17", 0.95), shapes=(ONE, SEVEN)),
        line(("71x", 0.95), shapes=(SEVEN, ONE, OTHER)),
    ]


def test_a_doubtful_sign_is_what_the_hand_writes_so_elsewhere() -> None:
    doubtful = line(("7", 0.55), ("1", 0.45), shapes=(ONE,))
    *_, found = by_page([*known(), doubtful])
    assert [one.text for one in found] == ["1", "7"]
    assert found[0].probability == pytest.approx(0.55)  # no surer than the line itself
    assert found[1].probability < 0.25


def test_agreement_with_the_page_makes_no_line_surer() -> None:
    doubtful = line(("7", 0.4), ("1", 0.2), shapes=(SEVEN,))
    *_, found = by_page([*known(), doubtful])
    assert found[0].text == "7"
    assert found[0].probability == pytest.approx(0.4)
    assert found[1].probability < 0.2


def test_a_sure_reading_is_not_turned_by_a_likeness() -> None:
    sure = line(("7", 0.999999), ("1", 0.000001), shapes=(ONE,))
    assert by_page([*known(), sure])[-1][0].text == "7"


def test_a_line_is_never_compared_with_itself() -> None:
    alone = line(("77", 0.9), ("71", 0.1), shapes=(SEVEN, ONE))
    assert by_page([alone]) == [alone]


def test_lines_without_shapes_stay_as_they_are() -> None:
    texts = [(Candidate("1", 0.6, (Token("1", BOX, 0.6),)), Candidate("7", 0.4))]
    assert by_page(texts) == texts


def typed(*texts: str, sure: float = 0.9) -> list[tuple[Candidate, ...]]:
    return [(Candidate(text, sure),) for text in texts]


def test_a_label_of_other_lines_is_likelier_than_a_new_one() -> None:
    doubtful = (Candidate("U_{2}=3V", 0.5), Candidate("V_{2}=3V", 0.45))
    *_, found = by_page([*typed("V_{1}=4V", "V_{2}=Q/C_{2}", "Q=4"), doubtful])
    assert found[0].text == "V_{2}=3V"
    assert found[0].probability == pytest.approx(0.5)
    assert found[1].probability < 0.35


def test_numbers_and_units_of_other_lines_have_no_say() -> None:
    doubtful = (Candidate("Q=16nC", 0.5), Candidate("Q=18µC", 0.45))
    *_, found = by_page([*typed("Q=18µC", "V=18V"), doubtful])
    assert found == doubtful
