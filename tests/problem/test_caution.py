"""The caution's limits: 50 V (OSHA 29 CFR 1910.303(g)(2)(i)); 10 J (LBNL electrical safety)."""

from __future__ import annotations

import pytest

from checker.problem.caution import caution
from checker.problem.given import make_problem
from checker.problem.reduction import solve


def _caution(supply: str | None, capacitance: str) -> str | None:
    find = ["equivalent capacitance"] if supply is None else None
    problem = make_problem("one", supply, "C1", {"C1": capacitance}, find)
    return caution(solve(problem))


@pytest.mark.parametrize(
    ("supply", "capacitance"),
    [("24 V", "4 µF"), ("50 V", "4 µF"), ("50 V", "7.99 mF"), (None, "1 F")],
)
def test_no_caution_within_the_limits(supply, capacitance):
    assert _caution(supply, capacitance) is None


@pytest.mark.parametrize(
    ("supply", "capacitance", "told", "untold"),
    [
        ("50.1 V", "4 µF", ["50.1 V", "50 V", "OSHA"], ["LBNL"]),
        ("50 V", "8 mF", ["10 J", "LBNL"], ["OSHA"]),  # 8 mF × (50 V)²/2 is 10 J
        # 405 J at 9.00 kV: College Physics 2e (OpenStax), section 19.7.
        ("9.00 kV", "10.0 µF", ["9 kV", "405 J", "OSHA", "LBNL"], []),
    ],
)
def test_a_caution_names_the_limit_and_defers(supply, capacitance, told, untold):
    sentence = _caution(supply, capacitance)
    for words in [*told, "local rules", "qualified staff", "stay charged"]:
        assert words in sentence
    for words in untold:
        assert words not in sentence
