from __future__ import annotations

import re

import pytest

from checker.exact import Fraction, rational
from tests.matching.pages import judged, reference, slip_line
from tests.matching.published import EXAMPLES, Published

CASES = [
    pytest.param(example, text, id=f"{example.source} ({number + 1})")
    for example in EXAMPLES
    for number, text in enumerate(example.texts)
]


@pytest.mark.parametrize(("example", "text"), CASES)
def test_published_working_is_clean(example: Published, text: str) -> None:
    of = reference(example.supply, example.connection, example.capacitors)
    judgement = judged(of, *text.split("\n"))
    assert judgement.outcome == "all follows"
    assert {s.verdict for s in judgement.statements} == {"follows"}


@pytest.mark.parametrize(("example", "text"), CASES)
def test_an_altered_value_is_located(example: Published, text: str) -> None:
    of = reference(example.supply, example.connection, example.capacitors)
    lines = text.split("\n")
    for number, line in enumerate(lines):
        altered = raised(line)
        if altered is None:
            continue
        judgement = judged(of, *lines[:number], altered, *lines[number + 1 :])
        assert judgement.outcome == "slip found", altered
        assert slip_line(judgement) == number, altered


def raised(line: str) -> str | None:
    """The line with its last number, where that is a result, well over a third larger."""
    match = re.search(
        r"(?<![\d.{])(\d*\.?\d+)(?=(?: ?(?:[pnµm]?[FCJ]|V|/µF|µF\^-1)|[×e].*)?$)", line
    )
    if match is None or "=" not in line[: match.start()]:
        return None
    digits = match[1]
    places = len(digits.partition(".")[2])
    value = round(rational(digits) * Fraction(141, 100), places)
    return f"{line[: match.start()]}{float(value):.{places}f}{line[match.end() :]}"
