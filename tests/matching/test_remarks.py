"""Remarks are no slips.  The circuit is this project's own."""

from __future__ import annotations

import pytest

from checker.matching import judge
from checker.reading.page import Line
from tests.matching.pages import judged, reference, typed

GIVEN = ("24 V", "series(C1, C2)", {"C1": "4 µF", "C2": "8 µF"})
CIRCUIT = reference(*GIVEN)
FIGURES = reference(*GIVEN, significant_figures=3)


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (("C = 2.67 µF", "Q1 = 64 µC", "V1 = 16.0 V"), ""),  # 64 is exact
        (("C = 2.7 µF", "Q1 = 64.0 µC"), "fewer than the 3"),
        (("C = 2.6667 µF", "Q1 = 64.0 µC"), "more than the 3"),
    ],
)
def test_figures_asked_for(lines: tuple[str, ...], said: str) -> None:
    judgement = judged(FIGURES, *lines)
    assert judgement.outcome == "all follows"
    found = " ".join(r for r in judgement.remarks if "figures" in r)
    assert (said in found) if said else not found
    assert not any("figures" in r for r in judged(CIRCUIT, *lines).remarks)


def test_a_missing_unit_is_said_once_the_page_gives_units() -> None:
    judgement = judged(CIRCUIT, "C = 2.67 µF", "Q = 64 µC", "V1 = 16", "V2 = 8 V")
    assert judgement.outcome == "all follows"
    assert [s.remark for s in judgement.statements].count("The unit is missing.") == 1
    assert "Some results have no unit." in judgement.remarks
    without = judged(CIRCUIT, "C = 2.67", "Q = 64", "V1 = 16", "V2 = 8")
    assert without.remarks == () and not any(s.remark for s in without.statements)


def test_rounding_too_early_is_a_remark() -> None:
    judgement = judged(CIRCUIT, "C = 2.7 µF", "Q = 2.7 × 24 = 64.8 µC", "V1 = 64.8/4 = 16.2 V")
    assert judgement.outcome == "all follows"
    assert "rounding" in (judgement.statements[-1].remark or "")
    exact = judged(CIRCUIT, "C = 2.7 µF", "Q = 64 µC", "V1 = 16 V")
    assert not any(s.remark for s in exact.statements)


def test_what_is_crossed_out_or_put_right_is_said_so() -> None:
    lines = typed("C = 12 µF", "C = 2.67 µF")
    lines[0] = Line(0, lines[0].candidates, line=0, role="struck")
    struck = judge(CIRCUIT, lines)
    assert struck.outcome == "all follows"
    assert any("crossed out" in remark for remark in struck.remarks)
    restated = judged(CIRCUIT, "C = 12 µF", "C = 2.67 µF", "Q = 64 µC")
    assert restated.outcome == "all follows"
    assert any("put right" in remark for remark in restated.remarks)


def test_a_unit_is_put_right_only_where_the_digits_change_too() -> None:
    """Common practice, no source: the same number with another prefix is the slip itself."""
    circuit = reference("9 V", "parallel(C1, C2)", {"C1": "26 pF", "C2": "31 pF"})
    assert judged(circuit, "Q1 = 26×9 = 250", "Q1 = 26×9 = 230").outcome == "all follows"
    prefix = judged(circuit, "Q1 = 26 pF × 9 V = 234 nC", "Q1 = 234 pC")
    assert prefix.first_slip is not None and prefix.first_slip.kind == "prefix"
