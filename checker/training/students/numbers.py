"""How a student writes numbers: figures, rounding or truncation, powers of ten, units."""

from __future__ import annotations

from dataclasses import dataclass

from checker.exact import Fraction

PREFIX_POWER = {"k": 3, "": 0, "m": -3, "µ": -6, "n": -9, "p": -12}
BASE_UNIT = {"C": "F", "Q": "C", "V": "V", "U": "J"}
TEN = Fraction(10)


@dataclass(frozen=True)
class Written:
    """A number on the page.

    ``value``: SI value as it stands there; ``step``: one unit of its last figure, read as loosely
    as a reader may (trailing zeros of an integer do not count), 0 for an exact one.
    ``number``: text without unit in the page's coherent scale; ``shown``: text with unit, which
    is written even by those who leave units out where it is ``forced``.
    """

    value: Fraction
    step: Fraction
    number: str
    shown: str
    forced: bool = False


@dataclass(frozen=True)
class NumberHabit:
    """``figures`` significant ones; ``power``: "" plain, "sci" or "eng" powers of ten always."""

    figures: int = 3
    truncates: bool = False
    strips_zeros: bool = True
    rounds_tens: bool = False  # 267 to two figures becomes 270 instead of staying 267
    comma: bool = False
    times: str = "×"
    power: str = ""


def exponent(x: Fraction) -> int:
    """n with 10^n <= x < 10^(n+1)."""
    guess = len(str(x.numerator)) - len(str(x.denominator))
    if x >= TEN**guess:
        return guess
    return guess - 1


def decimal(
    x: Fraction, habit: NumberHabit, figures: int | None = None
) -> tuple[str, Fraction, Fraction]:
    """Plain decimal text of x > 0 (with a point), its value, and one unit of its last figure."""
    places = (figures or habit.figures) - 1 - exponent(x)
    if places < 0 and (not habit.rounds_tens or habit.truncates):
        places = 0
    scaled = x * TEN**places
    n = scaled.numerator // scaled.denominator if habit.truncates else round_half_up(scaled)
    if n == 0:
        n = 1
    if places <= 0:
        text = str(n * 10 ** (-places))
    else:
        digits = str(n).rjust(places + 1, "0")
        text = f"{digits[:-places]}.{digits[-places:]}"
        if habit.strips_zeros:
            text = text.rstrip("0").rstrip(".")
    return text, Fraction(n) / TEN**places, last_unit(text)


def round_half_up(x: Fraction) -> int:
    return (2 * x.numerator + x.denominator) // (2 * x.denominator)


def last_unit(text: str) -> Fraction:
    """One unit of the last figure of a plain decimal, trailing zeros of an integer not counted."""
    if "." in text:
        return TEN ** -(len(text) - text.index(".") - 1)
    return TEN ** (len(text) - len(text.rstrip("0")) if text.strip("0") else 0)


def localised(text: str, habit: NumberHabit) -> str:
    return text.replace(".", ",") if habit.comma else text


def with_power(
    x: Fraction, habit: NumberHabit, figures: int | None = None
) -> tuple[str, Fraction, Fraction]:
    """Text with a power of ten, scientific or engineering, its value and last unit."""
    power = exponent(x)
    if habit.power == "eng":
        power -= power % 3
    text, value, unit = decimal(x / TEN**power, habit, figures)
    top = 1000 if habit.power == "eng" else 10
    if value >= top:  # 9.96 became 10.0
        power += 3 if habit.power == "eng" else 1
        text, value, unit = decimal(value / top, habit, figures)
    if power == 0:
        return text, value, unit
    return f"{text}{habit.times}10^{{{power}}}", value * TEN**power, unit * TEN**power


def number(
    x: Fraction, habit: NumberHabit, figures: int | None = None
) -> tuple[str, Fraction, Fraction]:
    """x > 0 as the habit writes it: plain where that stays readable, else with a power of ten."""
    if habit.power and not Fraction(1, 10) <= x < 1000:
        return with_power(x, habit, figures)
    if not Fraction(1, 1000) <= x < 100000:
        return with_power(x, habit, figures)
    return decimal(x, habit, figures)


def is_decimal(x: Fraction) -> bool:
    """Whether the decimals of a number end, within 20 places."""
    return (x * TEN**20).denominator == 1


def plain_decimal(x: Fraction) -> str:
    """Exact decimal text of a number whose decimals end."""
    places = 0
    while (x * TEN**places).denominator != 1:
        places += 1
        if places > 20:
            raise ValueError("a number whose decimals do not end")
    digits = str((x * TEN**places).numerator).rjust(places + 1, "0")
    return digits if places == 0 else f"{digits[:-places]}.{digits[-places:]}"
