"""A problem described field by field."""

from __future__ import annotations

import pytest

from checker.desk.described import described, network_of
from checker.problem.given import FIND_BY_DEFAULT
from checker.problem.reduction import solve
from checker.quantity import parse_quantity

CONNECTION = "parallel(series(C1, C2), C3)"
VALUES = {"C1": "4 µF", "C2": "12 µF", "C3": "5 µF"}


def test_all_fields_make_a_problem() -> None:
    found = described(CONNECTION, " 24 V ", VALUES, FIND_BY_DEFAULT)
    assert (found.faults, found.missing) == ({}, ())
    assert found.problem is not None
    # 4 µF and 12 µF in series are 3 µF, beside 5 µF 8 µF (series and parallel rules, University
    # Physics 2, section 8.2, OpenStax).
    whole = solve(found.problem).states[found.network]
    assert whole.capacitance == parse_quantity("8 µF").value


def test_what_is_empty_is_missing_and_no_fault() -> None:
    found = described(CONNECTION, "", {"C1": "4 µF", "C2": " "}, FIND_BY_DEFAULT)
    assert (found.problem, found.faults) == (None, {})
    assert found.missing == ("supply", "C2", "C3")
    assert network_of("  ").missing == ("connection",)


def test_every_fault_is_told_at_its_own_field() -> None:
    values = {"C1": "3 V", "C2": "-2 µF", "C3": "5 µF"}
    found = described(CONNECTION, "24 F", values, FIND_BY_DEFAULT)
    assert found.problem is None
    assert set(found.faults) == {"supply", "C1", "C2"}
    assert "C1 is a voltage" in found.faults["C1"]


@pytest.mark.parametrize(
    "connection", ["series(C1, C2", "C1 C2", "series()", "x" * 5000, "(" * 900]
)
def test_a_connection_that_is_none_is_told_at_the_connection(connection: str) -> None:
    found = network_of(connection)
    if found.network is None:
        assert set(found.faults) == {"connection"}
        assert found.faults["connection"].endswith(".")
    else:  # one long name is an element
        assert connection.startswith("x")
    assert described("series(C1, C2", "1 V", {}, FIND_BY_DEFAULT).faults.keys() == {"connection"}


def test_nothing_asked_for_is_told_at_what_to_find() -> None:
    found = described(CONNECTION, "24 V", VALUES, ())
    assert found.problem is None and set(found.faults) == {"find"}
