"""What a line may say besides what the reader lists.  Figures are this project's assumptions."""

from __future__ import annotations

import pytest

from checker.matching.alternatives import alternatives, look_alikes, swaps
from checker.reading.page import Candidate, Line, Token


def line(*candidates: tuple[str, float]) -> Line:
    return Line(0, tuple(Candidate(*candidate) for candidate in candidates))


def texts(of: Line) -> set[str]:
    return {reading.text for reading in alternatives(of).readings}


def test_a_certain_line_says_one_thing() -> None:
    found = alternatives(line(("C=3µF", 1.0)))
    assert [reading.text for reading in found.readings] == ["C=3µF"]
    assert found.rest == 0


def test_a_token_in_doubt_has_look_alikes() -> None:
    box = (0.0, 0.0, 0.0, 0.0)
    tokens = tuple(Token(t, box, 0.6 if t == "7" else 0.999) for t in "C=7µF")
    found = alternatives(Line(0, (Candidate("C=7µF", 0.6, tokens),)))
    assert {"C=1µF", "C=2µF"} <= {reading.text for reading in found.readings}


def test_probabilities_sum_to_at_most_one() -> None:
    found = alternatives(line(("C=3µF", 0.5), ("C=8µF", 0.3), ("C=3nF", 0.2)))
    assert sum(r.probability for r in found.readings) + found.rest <= 1 + 1e-9
    assert found.rest > 0


@pytest.mark.parametrize("sign", ["=", "→"])
def test_only_a_minus_stands_in_an_exponent(sign: str) -> None:
    assert texts(line((f"C=3×10^{{{sign}6}}F", 0.9))) >= {"C=3×10^{-6}F"}


@pytest.mark.parametrize(
    ("read", "meant"),
    [
        ("C=1.87×20^{-12}", "C=1.87×10^{-12}"),
        ("W=7.2·70^{5}", "W=7.2·10^{5}"),
        ("U={2}/{2}QV", "U={1}/{2}QV"),
        ("Q=16.7×36^{-6}×4.5", "Q=16.7×10^{-6}×4.5"),
        ("U=0.5×2×20^{2}", "U=0.5×2×20^{2}"),
        ("C=2×36^{-1}", "C=2×36^{-1}"),
        ("V={2}/{2}×3", "V={2}/{2}×3"),
    ],
)
def test_what_nobody_writes_was_misread(read: str, meant: str) -> None:
    """Powers in this field are those of ten and squares (common practice, no source)."""
    assert alternatives(line((read, 0.9))).readings[0].text == meant


@pytest.mark.parametrize(
    ("read", "may_be"),
    [
        ("V2=V-U1", "V2=V-V1"),
        ("C=3pF", "C=3µF"),
        ("Q=3µC", "Q=3pC"),
        ("V=3C0V", "V=300V"),
        # A hand whose zeros look like sixes writes them so everywhere.
        ("U=0.5×0.936×6.78=6.365", "U=0.5×0.936×0.78=0.365"),
    ],
)
def test_letters_digits_and_small_prefixes_look_alike(read: str, may_be: str) -> None:
    assert may_be in {reading.text for reading in look_alikes(Candidate(read, 0.9))}


def test_no_whole_number_begins_with_a_zero() -> None:
    found = {reading.text for reading in look_alikes(Candidate("Q=660", 0.9))}
    assert "Q=600" in found
    assert not any(text.startswith("Q=0") for text in found)


def test_look_alikes_leave_labels_alone() -> None:
    found = {reading.text for reading in look_alikes(Candidate("C_{1}=12", 0.9))}
    assert "C_{1}=1.2" in found
    assert all(text.startswith("C_{1}=") for text in found)


def test_a_line_on_which_nothing_is_the_likeliest_reading() -> None:
    """A mark that may be nothing or a letter: no likeliest token to alter."""
    found = alternatives(Line(0, (Candidate("", 0.5), Candidate("C", 0.3), Candidate("4", 0.1))))
    assert [one.text for one in found.readings] == ["", "C", "4"]


def test_what_is_listed_far_behind_is_kept_for_when_the_others_are_wrong() -> None:
    found = alternatives(line(("C=3µF", 0.99), ("C=8µF", 0.009), ("C=5µF", 0.0005)))
    assert [reading.text for reading in found.readings] == ["C=3µF", "C=8µF"]
    assert [reading.text for reading in found.faint] == ["C=5µF"]


def test_what_was_misread_before_in_a_hand_is_likelier_than_other_look_alikes() -> None:
    read, meant = Candidate("C=28µF", 0.9), Candidate("C=23µF", 0.05)
    seen = swaps(read, meant)
    assert seen == {("8", "3")}
    assert swaps(read, Candidate("C=2.8µF", 0.05)) == set()
    plain = {reading.text: reading.probability for reading in look_alikes(read)}
    again = {reading.text: reading.probability for reading in look_alikes(read, seen)}
    changed = {text for text in plain if again[text] > plain[text]}
    assert changed == {"C=23µF"}
