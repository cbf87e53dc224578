"""Clean pages are clean and slipped ones are not, by an evaluator that shares no code with them."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest

from checker import markup
from checker.exact import Fraction, rational
from checker.training.students import KINDS, REMARKS, StudentPage, page
from tests.training.students.evaluator import Range, agree, sides


def plain_numbers(student: StudentPage) -> set[str]:
    """Numerals that are exact: the givens in any unit, and the small ones of formulas."""
    found = {"0.5", "0,5", *(str(n) for n in range(1, 9))}
    for datum in (*student.circuit.capacitors.values(), student.circuit.supply):
        for shift in range(-9, 10, 3):
            value = float(rational(datum.number) * Fraction(10) ** shift)
            texts = [datum.number, f"{value:.10f}".rstrip("0").rstrip("."), f"{value:g}"]
            found.update(texts)
            found.update(text.replace(".", ",") for text in texts)
    return found


def disagreements(student: StudentPage) -> list[int]:
    """Lines on which two neighbouring sides of numbers cannot stand for one value.

    A numeral that equals a given may still be a rounded result, so a line is tried both ways.
    """
    loose = side_by_side(student, {"0.5", "0,5", "1", "2"})
    return [number for number in side_by_side(student, plain_numbers(student)) if number in loose]


def side_by_side(student: StudentPage, exact: set[str]) -> list[int]:
    """Lines with such sides, numerals in ``exact`` taken as exact."""
    found = []
    before: Range | None = None
    for number, line in enumerate(student.lines):
        if line.struck:
            continue
        for place, chain in enumerate(sides(line.markup, exact)):
            if place == 0 and line.markup.startswith(("=", "≈")):
                chain = [before, *chain[1:]]
            for a, b in pairwise(chain):
                if a is not None and b is not None and not agree(a, b):
                    found.append(number)
            before = chain[-1]
    return found


@pytest.mark.parametrize("start", range(1, 600, 150))
def test_clean_pages_add_up(start: int) -> None:
    for seed in range(start, start + 150):
        student = page(seed, None)
        if "restated" not in student.remarks:
            assert disagreements(student) == [], student


def kirchhoff(student: StudentPage) -> dict[str, float]:
    """Every quantity of the network from first principles, in floating point."""
    found: dict[str, float] = {}
    values = {n: float(d.value) for n, d in student.circuit.capacitors.items()}

    def capacitance(node: object) -> float:
        members = getattr(node, "members", None)
        if members is None:
            return values[node.name]  # type: ignore[attr-defined]
        parts = [capacitance(m) for m in members]
        if type(node).__name__ == "Parallel":
            return sum(parts)
        return 1 / sum(1 / c for c in parts)

    def walk(node: object, volts: float) -> list[str]:
        members = getattr(node, "members", None)
        c = capacitance(node)
        names = [node.name] if members is None else []  # type: ignore[attr-defined]
        for member in members or ():
            divided = type(node).__name__ == "Series"
            names += walk(member, volts * c / capacitance(member) if divided else volts)
        spoken = ", ".join(names)
        found[f"C of {spoken}"], found[f"V of {spoken}"] = c, volts
        found[f"Q of {spoken}"], found[f"U of {spoken}"] = c * volts, c * volts**2 / 2
        return names

    walk(student.circuit.network, float(student.circuit.supply.value))
    return found


def deviation(student: StudentPage, number: int) -> float | None:
    """How far the value that ends a line is from the right one."""
    line = student.lines[number]
    right = kirchhoff(student).get(line.about[-1]) if line.about else None
    text = line.markup
    if right is None or text[0] in "=≈" or re.search(r"1/|\{1\}/|-1\}", text):
        return None  # 1/C, or a side whose left-hand side stands on another line
    chains = sides(line.markup, plain_numbers(student))
    if not chains or len(chains[-1]) < 2 or chains[-1][-1] is None:
        return None
    value = (chains[-1][-1].low + chains[-1][-1].high) / 2
    best = min(abs(float(value) / right * 10.0**s - 1) for s in range(-15, 16, 3))
    return best


def test_clean_values_are_near_the_right_ones() -> None:
    found = []
    for seed in range(600, 900):
        student = page(seed, None)
        if student.remarks & {"rounded-too-early", "restated"}:
            continue
        for number, line in enumerate(student.lines):
            if not line.struck:
                off = deviation(student, number)
                if off is not None:
                    found.append(off)
    assert len(found) > 1000
    found.sort()
    assert found[len(found) // 2] < 0.003
    assert found[int(len(found) * 0.99)] < 0.12


NOT_IN_THE_NUMBER = ("prefix", "power-of-ten", "unit-kind", "wrong-elements")


@pytest.mark.parametrize("kind", [k for k in KINDS if k not in NOT_IN_THE_NUMBER])
def test_from_the_slip_on_and_not_before_something_is_wrong(kind: str) -> None:
    """Wrong: two sides disagree, or a value is a fifth or more off the right one."""
    seen = early = 0
    for seed in range(1, 41):
        student = page(seed, kind, second=False)
        assert student.first_slip is not None and kind in student.kinds_equal
        wrong = set(disagreements(student))
        early += any(number < student.first_slip for number in wrong)
        for number, line in enumerate(student.lines):
            off = None if line.struck else deviation(student, number)
            if off is not None and off > 0.2:
                wrong.add(number)
                # Rounding to two figures may show in a small difference, but seldom.
                early += number < student.first_slip
        seen += bool(wrong)
    assert early <= 2
    assert seen >= 15


def test_every_kind_and_remark_can_be_made() -> None:
    for kind in (*KINDS, *REMARKS):
        student = page(7, kind)
        assert student == page(7, kind)
        if kind in REMARKS:
            assert student.first_slip is None and kind in student.remarks
        else:
            assert student.kind == kind


def test_lines_are_canonical_markup() -> None:
    for seed in range(1, 300):
        for line in page(seed, "any").lines:
            assert "".join(markup.tokens(line.markup)) == line.markup == line.markup.strip()
