"""The drawing of a circuit as SVG 1.1 (W3C), read back with a parser that is not ours."""

from xml.etree import ElementTree

import pytest

from checker.problem.connection import parse_connection
from checker.problem.given import make_problem
from checker.report.circuit_drawing import circuit_of, circuit_svg

SVG = "{http://www.w3.org/2000/svg}"


def labels_of(svg: str) -> list[tuple[str, float]]:
    """The texts with the height at which they stand, from top to bottom."""
    texts = ElementTree.fromstring(svg).iter(f"{SVG}text")
    found = [("".join(text.itertext()).strip(), float(text.attrib["y"])) for text in texts]
    return sorted((label for label in found if label[0]), key=lambda label: label[1])


def test_every_element_is_labelled_with_its_value_and_the_supply_with_its_voltage() -> None:
    problem = make_problem(
        "a", "24 V", "parallel(series(C1, C2), C3)", {"C1": "4 µF", "C2": "12 µF", "C3": "5 nF"}
    )
    texts = [text for text, _y in labels_of(circuit_of(problem))]
    assert sorted(texts) == sorted(["C1", "4 µF", "C2", "12 µF", "C3", "5 nF", "24 V"])


def test_series_members_stand_side_by_side_and_parallel_ones_below_each_other() -> None:
    heights = dict(labels_of(circuit_svg(parse_connection("parallel(series(C1, C2), C3, C4)"), {})))
    assert heights["C1"] == heights["C2"] < heights["C3"] < heights["C4"] < heights["V"]


@pytest.mark.parametrize("value", ["<script>alert(1)</script>", "4 & 5", '"', "$x$"])
def test_what_a_person_typed_is_text_in_the_drawing(value: str) -> None:
    svg = circuit_svg(parse_connection("C1"), {"C1": value}, value)
    ElementTree.fromstring(svg)
    assert "<script" not in svg
