"""The JSON has exactly the documented shape (the format is this project's own)."""

import json
from dataclasses import replace

from checker.report.as_json import as_dict, as_json
from tests.report import made

PROMISED = {"format", "problem", "outcome", "first_slip", "statements", "seconds"}
PROMISED_OF_SLIP = {
    "statement",
    "kind",
    "quantity",
    "written",
    "expected",
    "hint",
    "explanation",
}
PROMISED_OF_STATEMENT = {"index", "page", "text", "confidence", "quantity", "verdict"}


def test_promised_keys_and_values_of_a_typed_page() -> None:
    document = json.loads(as_json(made.typed()))
    assert document.keys() >= PROMISED
    assert document["format"] == 1
    assert document["problem"] == "Three capacitors on a 24 V supply"
    assert document["outcome"] == "slip found"
    assert document["seconds"] == 0.25
    slip = document["first_slip"]
    assert slip.keys() >= PROMISED_OF_SLIP
    assert (slip["statement"], slip["written"], slip["expected"]) == (1, "16 µF", "3 µF")
    for number, statement in enumerate(document["statements"]):
        assert statement.keys() >= PROMISED_OF_STATEMENT
        assert statement["index"] == statement["line"] == number
        assert "polygon" not in statement


def test_a_photographed_statement_has_a_polygon_and_no_line() -> None:
    checked = replace(made.typed(), judgement=made.photographed())
    statement = as_dict(checked)["statements"][1]
    assert statement["polygon"] == [[80, 150], [300, 150], [300, 190], [80, 190]]
    assert "line" not in statement


def test_without_a_slip_first_slip_is_null() -> None:
    fine = made.judgement([made.statement(0, line=0)], outcome="all follows")
    document = json.loads(as_json(replace(made.typed(), judgement=fine)))
    assert document["first_slip"] is None
    assert document["outcome"] == "all follows"


def test_micro_is_written_as_itself() -> None:
    assert "16 \u00b5F" in as_json(made.typed())
