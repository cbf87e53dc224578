"""How invented students write numbers, against Python's own decimal arithmetic."""

from __future__ import annotations

from decimal import ROUND_DOWN, ROUND_HALF_UP, Context, Decimal

from hypothesis import given
from hypothesis import strategies as st

from checker.exact import Fraction, rational
from checker.training.students.numbers import (
    NumberHabit,
    decimal,
    is_decimal,
    number,
    plain_decimal,
    with_power,
)

values = st.fractions(min_value=Fraction(1, 500), max_value=90000, max_denominator=997)


@given(values, st.integers(2, 5), st.booleans())
def test_figures_as_the_decimal_module_rounds(x: Fraction, figures: int, cut: bool) -> None:
    habit = NumberHabit(figures=figures, truncates=cut, strips_zeros=False, rounds_tens=not cut)
    text, value, step = decimal(x, habit)
    assert rational(text) == value
    rounding = ROUND_DOWN if cut else ROUND_HALF_UP
    exact = Context(prec=60).divide(Decimal(x.numerator), Decimal(x.denominator))
    expected = Context(prec=figures, rounding=rounding).plus(exact)
    if not cut or expected.as_tuple().exponent <= 0:  # nobody cuts off before the point
        assert value == rational(expected)
    assert abs(value - x) <= step


@given(values, st.integers(2, 5))
def test_zeros_and_powers_do_not_change_the_value(x: Fraction, figures: int) -> None:
    plain = number(x, NumberHabit(figures=figures, strips_zeros=True, rounds_tens=True))[1]
    for power in ("sci", "eng"):
        habit = NumberHabit(figures=figures, power=power, rounds_tens=True)
        text, value, _ = with_power(x, habit)
        assert value == plain
        mantissa, _, exponent = text.partition("×10^")
        assert rational(mantissa) * Fraction(10) ** int(exponent.strip("{}") or 0) == value
        assert 1 <= rational(mantissa) < (10 if power == "sci" else 1000)


@given(values)
def test_only_numbers_whose_decimals_end_are_written_out(x: Fraction) -> None:
    rest = x.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    assert is_decimal(x) is (rest == 1)
    if rest == 1:
        assert rational(plain_decimal(x)) == x
