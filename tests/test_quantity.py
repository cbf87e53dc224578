"""Quantities: what unit names mean is checked against pint and the SI Brochure."""

from __future__ import annotations

import subprocess
import sys
from decimal import ROUND_HALF_UP, Context, Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from checker.exact import Fraction, rational
from checker.quantity import (
    Quantity,
    QuantityError,
    Unit,
    format_quantity,
    parse_quantity,
    parse_unit,
    si_unit,
    unit_for,
)

DIMENSIONS = (
    "number", "capacitance", "charge", "voltage", "energy",
    "resistance", "current", "power", "inductance", "time",
)  # fmt: skip
# SI Brochure, 9th edition (BIPM), tables 3, 4 and 7: symbols of units and prefixes.
SI_SYMBOLS = ("F", "C", "V", "J", "Ω", "A", "W", "H", "s")
SI_PREFIXES = {"a": -18, "f": -15, "p": -12, "n": -9, "µ": -6, "m": -3, "": 0, "k": 3, "M": 6,
               "G": 9, "T": 12}  # fmt: skip


@pytest.mark.parametrize("symbol", SI_SYMBOLS)
@pytest.mark.parametrize("prefix", SI_PREFIXES)
def test_every_symbol_with_every_prefix(prefix, symbol):
    unit = parse_unit(prefix + symbol)
    assert unit.factor == Fraction(10) ** SI_PREFIXES[prefix]
    assert unit.symbol == prefix + symbol
    assert si_unit(unit.dimension).symbol == symbol


@pytest.mark.parametrize("text", ["µF", "μF", "uF", "microfarad", "Microfarads", " µF "])
def test_micro_in_all_its_forms(text):
    """U+00B5 and U+03BC are one prefix (Unicode TR25); u where characters are few (ISO 2955)."""
    assert parse_unit(text) == Unit("µF", "capacitance", Fraction(1, 10**6))


def test_ohm_sign_and_omega_are_one():
    """U+2126 is canonically equivalent to U+03A9 (Unicode TR25)."""
    assert parse_unit("k\u2126") == parse_unit("k\u03a9") == parse_unit("kohm")


@pytest.mark.parametrize("text", ["µµF", "mµF", "kg", "m", "cV", "mf", "v", "µ", "V/A", "9", "KiF"])
def test_no_electrical_unit(text):
    """No compound prefix, no prefix alone, case matters (NIST SP 811, section 6)."""
    with pytest.raises(QuantityError, match="no electrical unit"):
        parse_unit(text)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("4 µF", "4e-6"), ("4µF", "4e-6"), ("4.70e-6 F", "4.7e-6"), ("4,7 µF", "4.7e-6"),
        ("4.7×10^-6 F", "4.7e-6"), ("4.7×10⁻⁶ F", "4.7e-6"), ("4.7 x 10^{-6} F", "4.7e-6"),
        ("4.7·10^(-6) F", "4.7e-6"), ("4.7*10**-6 F", "4.7e-6"), ("4.7E-6F", "4.7e-6"),
        ("10 000 pF", "1e-8"), (".5 µF", "0.5e-6"), ("0,833 µF", "0.833e-6"), ("+2 F", "2"),
        ("−3 mF", "-0.003"), ("1/4 µF", "0.25e-6"), ("4\u202fµF", "4e-6"),
    ],
)  # fmt: skip
def test_numbers_as_people_write_them(text, value):
    assert parse_quantity(text) == Quantity(rational(value), "capacitance")


def test_a_number_alone_has_no_unit():
    assert parse_quantity("12.5") == Quantity(Fraction(25, 2), "number")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", '"" is no number with a unit; write it like "4.7 µF" or "24 V".'),
        ("µF", '"µF" is no number with a unit; write it like "4.7 µF" or "24 V".'),
        ("9" * 100, '"99999999999999999999999999999…" is no number with a unit; '
                    'write it like "4.7 µF" or "24 V".'),
        ("4 potatoes", '"potatoes" is no electrical unit known here; '
                       "write one such as µF, µC, V or mJ."),
        ("4,700 µF", '"4,700 µF" may have a decimal comma or a thousands comma; '
                     'write "4.700" or "4700" with its unit instead.'),
        ("1/0 F", '"1/0 F" divides by zero; write another number.'),
    ],
)  # fmt: skip
def test_what_is_no_quantity_is_refused_in_one_sentence(text, sentence):
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text)
    assert str(caught.value) == sentence


@given(st.text(max_size=30))
def test_any_text_is_a_quantity_or_refused(text):
    try:
        quantity = parse_quantity(text)
    except QuantityError as error:
        assert str(error).endswith(".")
    else:
        assert quantity.dimension in DIMENSIONS


@pytest.mark.parametrize(
    ("value", "dimension", "figures", "like", "written"),
    [
        ("3e-6", "capacitance", 3, None, "3 µF"),
        ("37.3e-6", "charge", 3, None, "37.3 µC"),
        ("16/3", "voltage", 3, None, "5.33 V"),
        ("1.9996", "voltage", 3, None, "2.00 V"),  # rounded: zeros say how far it is known
        ("2", "voltage", 3, None, "2 V"),  # exact: no zeros needed
        ("999.96e-6", "charge", 3, None, "1.00 mC"),
        ("4.125e-6", "charge", 3, None, "4.13 µC"),  # tie goes away from zero
        ("-4.125e-6", "charge", 3, None, "-4.13 µC"),
        ("128e-6", "energy", 2, None, "130 µJ"),  # as UP 8.3 (OpenStax) prints it
        ("5/6e-6", "capacitance", 3, "µF", "0.833 µF"),  # as CP 19.6 (OpenStax) prints it
        ("5/6e-6", "capacitance", 3, None, "833 nF"),
        ("2.304e-3", "energy", 3, "µJ", "2.30 mJ"),  # 2304 µJ would need a fourth figure
        ("4e-12", "capacitance", 3, "µF", "4 pF"),
        ("4e-6", "charge", 3, "µF", "4 µC"),  # a unit of another dimension is not followed
        ("0", "charge", 3, "µC", "0 µC"),
        ("0", "voltage", 3, None, "0 V"),
        ("1e-21", "charge", 3, None, "1×10^-21 C"),
        ("1.5e16", "voltage", 3, None, "1.5×10^16 V"),
        ("0.8333", "number", 3, None, "0.833"),
        ("4.7e-6", "number", 3, None, "4.7×10^-6"),
    ],
)
def test_written_as_a_person_would(value, dimension, figures, like, written):
    mantissa, _, power = value.partition("e")
    quantity = Quantity(rational(mantissa) * Fraction(10) ** int(power or 0), dimension)
    assert format_quantity(quantity, figures, parse_unit(like) if like else None) == written


VALUES = st.fractions(min_value=-(10**6), max_value=10**6, max_denominator=10**9)
FIGURES = st.integers(min_value=1, max_value=8)


@given(VALUES, st.sampled_from(DIMENSIONS), FIGURES, st.sampled_from(["µF", "mV", "kΩ", "C", ""]))
def test_what_is_written_reads_back_rounded_half_up(value, dimension, figures, like):
    """Decimal's own rounding to significant figures is the reference."""
    written = format_quantity(Quantity(value, dimension), figures, parse_unit(like))
    context = Context(prec=figures, rounding=ROUND_HALF_UP)
    exact = Context(prec=60).divide(Decimal(value.numerator), Decimal(value.denominator))
    assert parse_quantity(written) == Quantity(Fraction(context.plus(exact)), dimension)


@given(VALUES.filter(bool), st.sampled_from(DIMENSIONS[1:]))
def test_the_chosen_prefix_leaves_one_to_a_thousand(value, dimension):
    unit = unit_for(Quantity(value, dimension))
    assert 1 <= abs(value) / unit.factor < 1000


@given(st.sampled_from(SI_SYMBOLS), st.sampled_from(list(SI_PREFIXES)))
def test_factors_are_pints(symbol, prefix):
    registry = _REGISTRY
    expected = registry.Quantity(1.0, prefix + symbol).to(symbol).magnitude
    assert float(parse_unit(prefix + symbol).factor) == pytest.approx(expected, rel=1e-12)


_REGISTRY = pint.UnitRegistry()


def test_importing_quantity_does_not_load_pint():
    code = "import sys, checker.quantity; sys.exit('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
