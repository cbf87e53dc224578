"""Published worked examples; every value must agree within one unit of its last printed digit.

UP = University Physics Volume 2, CP = College Physics 2e (both OpenStax).  Bird = Electrical
Circuit Theory and Technology; Robertson = Fundamental Electrical and Electronic Principles;
Serway = Serway & Faughn; Kulshreshtha, Mehta, Beiser: textbooks whose numbers, like those of Bird,
Robertson and Serway, are taken from the re-coded examples of the Python Textbook Companions
project, not from the printed books.  Connections marked "inferred" were not stated in the text
but follow from the published values.
"""

from __future__ import annotations

import re

import pytest

from checker.exact import Fraction, rational
from checker.problem.given import make_problem
from checker.problem.network import Element, elements
from checker.problem.reduction import Reference, solve
from checker.quantity import parse_quantity

EXAMPLES = [
    (
        "UP 8.2, series network; CP 19.6",
        "series(C1, C2, C3)", None, "1.000 5.000 8.000 µF",
        {"1/C": "1.325 µF", "C": "0.755 µF"},
    ),
    (
        "UP 8.2, parallel network",
        "parallel(C1, C2, C3)", None, "1.0 5.0 8.0 µF",
        {"C": "14.0 µF"},
    ),
    (
        "UP 8.2, equivalent capacitance of a network; CP 19.6",
        "parallel(series(C1, C2), C3)", None, "1.000 5.000 8.000 µF",
        {"1/C12": "1.200 µF", "C12": "0.833 µF", "C": "8.833 µF"},
    ),
    (
        # U3 is printed as 130 µJ, which for 128 µJ is a print of two figures.
        "UP 8.2, network of capacitors; energies UP 8.3",
        "series(C1, parallel(C2, C3))", "12.0 V", "12.0 2.0 4.0 µF",
        {"C23": "6.0 µF", "C": "4.0 µF", "Q1": "48.0 µC", "V1": "4.0 V", "V2": "8.0 V",
         "V3": "8.0 V", "Q2": "16.0 µC", "Q3": "32.0 µC", "U1": "96 µJ", "U2": "64 µJ",
         "U3": "13e1 µJ", "U": "0.29 mJ"},
    ),
    (
        "UP 8.2, Check Your Understanding (a), connection inferred",
        "series(C1, parallel(C2, C3))", "12.0 V", "1.0 2.0 4.0 pF",
        {"C": "0.86 pF", "Q1": "10 pC", "Q2": "3.4 pC", "Q3": "6.8 pC"},
    ),
    (
        "UP 8.2, Check Your Understanding (b), connection inferred",
        "parallel(C1, series(C2, C3))", "12.0 V", "1.0 2.0 4.0 pF",
        {"C": "2.3 pF", "Q1": "12 pC", "Q2": "16 pC", "Q3": "16 pC"},
    ),
    (
        "UP 8.2, Check Your Understanding (c), connection inferred",
        "series(parallel(C1, C2), parallel(C3, C4))", "12.0 V", "1.0 2.0 4.0 5.0 pF",
        {"C": "2.3 pF", "Q1": "9.0 pC", "Q2": "18 pC", "Q3": "12 pC", "Q4": "15 pC"},
    ),
    (
        "UP 8.2, problem on 4.00 pF and 8.00 pF",
        "series(C1, C2)", "400 V", "4.00 8.00 pF",
        {"Q": "1.07 nC", "V1": "267 V", "V2": "133 V"},
    ),
    ("CP 19.6, problem", "series(parallel(C1, C2), C3)", None, "10 2.5 0.30 µF", {"C": "0.293 µF"}),
    ("UP 8.2, same problem", "series(parallel(C1, C2), C3)", None, "10 2.5 0.30 µF",
     {"C": "0.29 µF"}),
    ("UP 8.2; CP 19.6, problem", "series(C1, C2)", None, "5.00 8.00 µF", {"C": "3.08 µF"}),
    ("UP 8.2; CP 19.6, problem", "parallel(C1, C2)", None, "5.00 8.00 µF", {"C": "13.0 µF"}),
    ("CP 19.6, problem", "parallel(series(C1, C2), C3)", None, "0.30 10 2.5 µF", {"C": "2.79 µF"}),
    ("CP 19.7, problem", "series(C1, C2)", "9.00 V", "2.00 7.40 µF",
     {"Q": "1.42e-5 C", "U": "6.38e-5 J"}),
    ("CP 19.7, problem", "parallel(C1, C2)", "9.00 V", "2.00 7.40 µF",
     {"Q": "8.46e-5 C", "U": "3.81e-4 J"}),
    ("UP 8.2, problem", "series(C1, C2, C3)", None, "1.0 1.0 1.0 µF", {"C": "0.33 µF"}),
    ("CP 19.7, energy", "C1", "9.00 kV", "10.0 µF", {"U": "405 J", "Q": "90.0 mC"}),
    ("CP 19.7, energy", "C1", "119 V", "165 µF", {"U": "1.17 J"}),
    ("Bird, ch. 6, ex. 10", "parallel(C1, C2)", None, "6 4 µF", {"C": "10 µF"}),
    ("Bird, ch. 6, ex. 10", "series(C1, C2)", None, "6 4 µF", {"C": "2.4 µF"}),
    ("Bird, ch. 6, ex. 12", "parallel(C1, C2, C3, C4)", "100 V", "1 3 5 6 µF",
     {"C": "15 µF", "Q": "1.5 mC", "Q1": "0.1 mC", "Q2": "0.3 mC", "Q3": "0.5 mC", "Q4": "0.6 mC"}),
    ("Bird, ch. 6, ex. 13", "series(C1, C2, C3)", "350 V", "3 6 12 µF",
     {"C": "1.714 µF", "Q": "0.6 mC", "V1": "200 V", "V2": "100 V", "V3": "50 V"}),
    ("Robertson, 3.10", "series(C1, C2)", "150 V", "6 4 µF",
     {"C": "2.4 µF", "Q": "360 µC", "V1": "60 V", "V2": "90 V"}),
    ("Robertson, 3.11", "series(C1, C2, C3)", "400 V", "3 6 12 µF",
     {"V1": "228.6 V", "V2": "114.3 V", "V3": "57.1 V"}),
    ("Robertson, 3.9", "parallel(C1, C2, C3)", None, "4.7 3.9 2.2 µF", {"C": "10.8 µF"}),
    ("Serway, ex. 16.5", "parallel(C1, C2, C3, C4)", "18 V", "3 6 12 24 µF",
     {"C": "45 µF", "Q3": "216 µC"}),
    ("Serway, ex. 16.6", "series(C1, C2, C3, C4)", "18 V", "3 6 12 24 µF",
     {"C": "1.60 µF", "Q": "28.8 µC"}),
    ("Kulshreshtha, 3.4", "series(C1, C2, C3, C4)", "220 V", "0.05 0.10 0.20 0.05 µF",
     {"C": "0.0182 µF", "V1": "80 V", "V2": "40 V", "V3": "20 V", "V4": "80 V"}),
    ("Kulshreshtha, 3.6", "series(C1, C2)", "300 V", "2 8 µF",
     {"Q": "480 µC", "V1": "240 V", "V2": "60 V", "U1": "57.6 mJ", "U2": "14.4 mJ"}),
    ("Mehta, 4.15", "parallel(C1, series(C2, C3, C4))", None, "3 9 9 9 µF", {"C": "6.0 µF"}),
    ("Mehta, 4.22", "parallel(series(C1, C2, C3), C4)", "500 V", "10 10 10 10 µF",
     {"C": "13.3 µF", "Q4": "5.0 mC", "Q1": "1.667 mC"}),
    ("Beiser, 11.8", "series(C1, C2, C3)", None, "1 2 3 µF", {"C": "0.545 µF"}),
    ("Beiser, 11.9", "series(C1, C2)", None, "2 3 µF", {"C": "1.2 µF"}),
]  # fmt: skip


def _reference(connection: str, supply: str | None, capacitances: str) -> Reference:
    *numbers, unit = capacitances.split()
    values = {f"C{index}": f"{number} {unit}" for index, number in enumerate(numbers, start=1)}
    find = ["equivalent capacitance"] if supply is None else None
    return solve(make_problem("published", supply, connection, values, find))


def _found(reference: Reference, symbol: str) -> Fraction:
    """The reference's value of "C", "Q1", "C23", "1/C12" …"""
    inverse = symbol.startswith("1/")
    letter, digits = symbol.removeprefix("1/")[0], symbol.removeprefix("1/")[1:]
    node = reference.problem.network
    if digits:
        names = tuple(f"C{digit}" for digit in digits)
        node = next(n for n in (Element(names[0]), *reference.states) if elements(n) == names)
    attribute = {"C": "capacitance", "Q": "charge", "V": "voltage", "U": "energy"}[letter]
    value = getattr(reference.states[node], attribute)
    return 1 / value if inverse else value


def _printed(symbol: str, text: str) -> tuple[Fraction, Fraction]:
    """The printed value and one unit of its last digit, in SI units."""
    number = text.split()[0].split("e")[0]
    decimals = len(number.partition(".")[2])
    value = parse_quantity(text).value
    unit = value / rational(number) / 10**decimals
    if symbol.startswith("1/"):  # printed per µF
        per = parse_quantity(re.sub(r"^\S+", "1", text)).value
        return rational(number) / per, Fraction(1, 10**decimals) / per
    return value, unit


CASES = [
    pytest.param(*example[1:4], symbol, printed, id=f"{example[0]}: {symbol}")
    for example in EXAMPLES
    for symbol, printed in example[4].items()
]


@pytest.mark.parametrize(("connection", "supply", "capacitances", "symbol", "printed"), CASES)
def test_agrees_with_the_published_value(connection, supply, capacitances, symbol, printed):
    found = _found(_reference(connection, supply, capacitances), symbol)
    value, unit = _printed(symbol, printed)
    assert abs(found - value) <= unit
