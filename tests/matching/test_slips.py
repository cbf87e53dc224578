"""Kinds of slip on one circuit, C1 = 4.7 in series with C2 = 2.2 beside C3 = 6.8 µF, 12.0 V.

The wrong values are those that the wrong rules give, re-computed in the project's reference facts
(section C.2); which of two equal explanations is named first is common practice, no source.
"""

from __future__ import annotations

import pytest

from checker.matching.slips import SLIPS
from tests.matching.pages import judged, reference, slip_line

CIRCUIT = reference(
    "12.0 V", "series(C1, parallel(C2, C3))", {"C1": "4.7 µF", "C2": "2.2 µF", "C3": "6.8 µF"}
)
RIGHT = ("C23 = 2.2 + 6.8 = 9.0 µF", "C = 3.088 µF", "Q = Q1 = 37.05 µC")

CASES = [
    ("series-combined-as-parallel", 1, ("C23 = 9.0 µF", "C = 4.7 + 9.0 = 13.7 µF")),
    ("series-combined-as-parallel", 1, ("C23 = 9.0 µF", "C = C1 + C23 = 13.7 µF")),
    ("parallel-combined-as-series", 0, ("C23 = 2.2×6.8/(2.2+6.8) = 1.662 µF", "C = 1.228 µF")),
    ("reciprocal-not-inverted", 1, ("C23 = 9.0 µF", "C = 1/4.7 + 1/9.0 = 0.3239 µF")),
    ("reciprocal-not-inverted", 2, ("C23 = 9 µF", "1/C = 1/4.7 + 1/9 = 137/423", "C = 0.324 µF")),
    ("sum-over-product", 1, ("C23 = 9.0 µF", "C = (4.7 + 9.0)/(4.7 × 9.0) = 0.3239 µF")),
    ("reciprocals-added-wrongly", 1, ("C23 = 9.0 µF", "1/C = 1/4.7 + 1/9.0 = 1/13.7")),
    ("element-left-out", 0, ("C = 4.7×2.2/(4.7+2.2) = 1.499 µF", "Q = 17.98 µC")),
    ("charge-split-in-series", 3, (*RIGHT[:2], "Q = 37.05 µC", "Q1 = 37.05 × 4.7/13.7 = 12.71 µC")),
    ("charge-carried-into-parallel", 3, (*RIGHT, "Q2 = Q = 37.05 µC", "V2 = 16.84 V")),
    ("supply-voltage-on-every-element", 2, (*RIGHT[:2], "Q1 = 4.7 × 12.0 = 56.4 µC")),
    ("voltage-divided-the-wrong-way", 2, (*RIGHT[:2], "V1 = 12.0 × 4.7/13.7 = 4.117 V")),
    ("charge-divided-the-wrong-way", 3, (*RIGHT, "Q2 = 37.05 × 6.8/9.0 = 27.99 µC")),
    ("law-inverted", 2, (*RIGHT[:2], "Q = 3.088/12.0 = 0.2573 µC")),
    ("law-inverted", 2, (*RIGHT[:2], "Q = C/V")),
    ("energy-half-missing", 3, (*RIGHT, "U = 3.088 × 12.0^2 = 444.7 µJ")),
    ("energy-not-squared", 3, (*RIGHT, "U = 0.5 × 3.088 × 12.0 = 18.53 µJ")),
    ("prefix", 2, (*RIGHT[:2], "Q = 3.088 × 12.0 = 37.05 nC")),
    ("decimal-point", 2, (*RIGHT[:2], "Q = 3.088 × 12.0 = 370.5 µC")),
    ("unit-kind", 2, (*RIGHT[:2], "Q = 3.088 × 12.0 = 37.05 µF")),
    ("digits-swapped", 1, ("C23 = 9.0 µF", "C = 7.4×9.0/(7.4+9.0) = 4.061 µF")),
    ("given-miscopied", 0, ("C1 = 4.9 µF", "C = 4.9×9.0/(4.9+9.0) = 3.173 µF")),
    ("arithmetic", 1, ("C23 = 9.0 µF", "C = 4.7×9.0/(4.7+9.0) = 3.288 µF")),
    ("label-swapped", 3, (*RIGHT, "Q2 = 27.99 µC", "Q3 = 9.057 µC")),
]


@pytest.mark.parametrize(("kind", "line", "lines"), CASES)
def test_the_slip_is_located_and_named(kind: str, line: int, lines: tuple[str, ...]) -> None:
    judgement = judged(CIRCUIT, *lines)
    assert judgement.first_slip is not None
    assert slip_line(judgement) == line
    assert kind in (judgement.first_slip.kind, *judgement.first_slip.also[:1])


def test_product_over_sum_of_three_and_mixed_prefixes() -> None:
    three = reference(None, "series(C1, C2, C3)", {"C1": "4 µF", "C2": "6 µF", "C3": "12 µF"})
    slip = judged(three, "C = (4 × 6 × 12)/(4 + 6 + 12) = 13.09 µF").first_slip
    assert slip is not None and slip.kind == "product-over-sum-misused"
    mixed = reference(None, "parallel(C1, C2)", {"C1": "4 µF", "C2": "500 nF"})
    slip = judged(mixed, "C = 4 µF + 500 nF = 504 µF").first_slip
    assert slip is not None and slip.kind == "prefixes-mixed"
    assert judged(mixed, "C = 4 + 0.5 = 4.5").outcome == "all follows"
    # What is no value of the page with its own prefix has a wrong one.
    slip = judged(mixed, "C = 4 pF + 0.5 µF = 4.5 µF").first_slip
    assert slip is not None and slip.kind == "prefix"


def test_neither_in_series_nor_in_parallel() -> None:
    slip = judged(CIRCUIT, "C12 = 4.7 + 2.2 = 6.9 µF").first_slip
    assert slip is not None and slip.kind == "wrong-elements"


def test_the_written_operands_separate_what_the_number_cannot() -> None:
    # 4.117 V is both the divider upside down and the value of the other element.
    by_operands = judged(CIRCUIT, *RIGHT[:2], "V1 = 12.0 × 4.7/13.7 = 4.117 V").first_slip
    bare = judged(CIRCUIT, *RIGHT[:2], "V1 = 4.117 V").first_slip
    assert by_operands is not None and by_operands.kind == "voltage-divided-the-wrong-way"
    assert bare is not None
    assert "voltage-divided-the-wrong-way" in (bare.kind, *bare.also)
    assert len((bare.kind, *bare.also)) > 1


@pytest.mark.parametrize(("kind", "line", "lines"), CASES)
def test_hints_do_not_give_the_value_away(kind: str, line: int, lines: tuple[str, ...]) -> None:
    slip = judged(CIRCUIT, *lines).first_slip
    assert slip is not None
    assert not any(character.isdigit() for character in slip.hint)
    assert slip.expected is None or slip.expected not in slip.explanation


def test_every_kind_has_a_title_a_hint_and_an_explanation() -> None:
    for name, kind in SLIPS.items():
        assert kind.name == name
        assert (kind.title and kind.hint.endswith("?")) or kind.hint.endswith(".")
        assert kind.explanation.endswith(".")
