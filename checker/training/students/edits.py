"""Slips of the pen in a written number: digits, points, powers, units."""

from __future__ import annotations

import random
import re
from dataclasses import replace
from itertools import pairwise

from checker.exact import Fraction, rational
from checker.training.students import numbers
from checker.training.students.numbers import BASE_UNIT, PREFIX_POWER, TEN, Written
from checker.training.students.record import Unsuitable
from checker.training.students.writing import Desk

_MANTISSA = re.compile(r"\d+(?:[.,]\d+)?")


def as_fraction(text: str) -> Fraction:
    """The value of a plain decimal with point or comma."""
    return rational(text.replace(",", "."))


def _with_mantissa(written: Written, new: str) -> Written | None:
    """The same writing with another leading number; None where number and shown text differ."""
    old = _MANTISSA.match(written.number)
    shown = _MANTISSA.match(written.shown)
    if old is None or shown is None or old[0] != shown[0] or "/" in written.number or new == old[0]:
        return None
    ratio = as_fraction(new) / as_fraction(old[0])
    if ratio <= 0:
        return None
    return Written(
        written.value * ratio,
        numbers.last_unit(new.replace(",", ".")) * (written.value / as_fraction(old[0]))
        if written.step
        else Fraction(0),
        new + written.number[old.end() :],
        new + written.shown[shown.end() :],
    )


def _mantissa(written: Written) -> str:
    found = _MANTISSA.match(written.number)
    return found[0] if found else "0"


def swap(written: Written, rng: random.Random) -> Written | None:
    """Two neighbouring digits changed over: 37.05 becomes 73.05."""
    text = _mantissa(written)
    places = [i for i, ch in enumerate(text) if ch.isdigit()]
    pairs = [
        (a, b)
        for a, b in pairwise(places)
        if text[a] != text[b] and not (a == 0 and text[b] == "0")
    ]
    if not pairs:
        return None
    a, b = rng.choice(pairs)
    digits = list(text)
    digits[a], digits[b] = digits[b], digits[a]
    return _with_mantissa(written, "".join(digits))


def digit(written: Written, rng: random.Random) -> Written | None:
    """One digit written as another."""
    text = _mantissa(written)
    place = rng.choice([i for i, ch in enumerate(text) if ch.isdigit() and ch != "0"] or [0])
    other = rng.choice([d for d in "123456789" if d != text[place]])
    return _with_mantissa(written, text[:place] + other + text[place + 1 :])


def point(written: Written, rng: random.Random) -> Written | None:
    """The decimal point one place off, seldom two."""
    text = _mantissa(written)
    shift = rng.choice((-1, -1, 1, 1, -2, 2))
    moved = numbers.plain_decimal(as_fraction(text) * TEN**shift)
    return _with_mantissa(written, moved.replace(".", ",") if "," in text else moved)


def power(written: Written, symbol: str, desk: Desk, rng: random.Random) -> Written | None:
    """A wrong exponent of ten, on a page that writes powers or in a result that uses one."""
    off = rng.choice((-3, -3, 3, 3, -1, 1, -2, 2))
    found = re.search(r"10\^\{(-?\d+)\}", written.number)
    if found:
        old, new = f"10^{{{found[1]}}}", f"10^{{{int(found[1]) + off}}}"
        if int(found[1]) + off == 0:
            return None
        return Written(
            written.value * TEN**off, written.step * TEN**off,
            written.number.replace(old, new), written.shown.replace(old, new),
        )  # fmt: skip
    if symbol == "V" or "/" in written.number or desk.habits.units == "base":
        return None
    exponent = PREFIX_POWER[desk.circuit.prefix] + off
    mantissa = _mantissa(written)
    if as_fraction(mantissa) * desk.scale(symbol) != written.value or exponent == 0:
        return None
    text = f"{mantissa}{desk.habits.numbers.times}10^{{{exponent}}}{BASE_UNIT[symbol]}"
    # Only the result so written is wrong; the student goes on with the number alone.
    return replace(
        written, value=written.value * TEN**off, step=written.step * TEN**off, shown=text
    )


def prefix(written: Written, symbol: str, rng: random.Random) -> Written | None:
    """The right number with a wrong prefix: nC for µC."""
    found = re.search(r"([kmµnp]?)([FCJ])$", written.shown)
    if found is None or "^" in written.shown:
        return None
    other = rng.choice([p for p in "mµnp" if p != found[1]])
    factor = TEN ** (PREFIX_POWER[other] - PREFIX_POWER[found[1]])
    return replace(
        written, value=written.value * factor, step=written.step * factor,
        shown=written.shown[: found.start()] + other + found[2],
    )  # fmt: skip


def unit(written: Written, symbol: str, desk: Desk, rng: random.Random) -> Written | None:
    """The right number with the unit of another kind of quantity: µF for a charge."""
    found = re.search(r"([kmµnp]?)([FCVJ])$", written.shown)
    if found is None:
        return None
    other = rng.choice({"C": "CV", "Q": "FV", "V": "FCJ", "U": "VCF"}[symbol])
    lead = found[1]
    if other == "V":
        lead = ""
    elif symbol == "V" and desk.habits.units != "base":
        lead = desk.circuit.prefix
    return replace(written, shown=written.shown[: found.start()] + lead + other)


def miscalculated(exact: Fraction, rng: random.Random) -> Fraction:
    """A wrong result of a right sum: a little off or well off."""
    if rng.random() < 0.5:
        off = Fraction(rng.randint(5, 60), 1000)
    else:
        off = Fraction(rng.randint(60, 400), 1000)
    return exact * (1 + off if rng.random() < 0.5 else 1 - off)


def anything(exact: Fraction, rng: random.Random) -> Fraction:
    """A value out of nowhere, of a plausible size."""
    factor = (
        Fraction(rng.randint(30, 85), 100)
        if rng.random() < 0.5
        else Fraction(rng.randint(118, 300), 100)
    )
    return exact * factor


def same_digits(a: str, b: str) -> bool:
    """Whether two number texts have the same figures in whatever order or place."""

    def figures(text: str) -> list[str]:
        return sorted("".join(ch for ch in text if ch.isdigit()).strip("0"))

    return figures(a) == figures(b)


def edited(
    edit: str, symbol: str, right: Written, exact: Fraction, desk: Desk
) -> tuple[Written, Written, Fraction]:
    """A slip of the pen in a result, by name.

    Returns what is written, what the student goes on with, and its exact value.  Raises Unsuitable
    where the result does not lend itself to the slip.
    """
    rng = desk.rng
    new: Written | None
    if edit == "not inverted":
        exact = desk.scale("C") ** 2 / exact
        new = desk.written(exact, "C")
        return new, new, exact
    if edit in ("arithmetic", "any"):
        exact = (miscalculated if edit == "arithmetic" else anything)(exact, rng)
        new = desk.written(exact, symbol)
        if same_digits(new.number, right.number):
            raise Unsuitable
        return new, new, exact
    if edit == "swap":
        new = swap(right, rng)
    elif edit == "point":
        new = point(right, rng)
    elif edit == "power":
        new = power(right, symbol, desk, rng)
    elif edit == "prefix":
        new = prefix(right, symbol, rng)
    else:
        new = unit(right, symbol, desk, rng)
    if new is None:
        raise Unsuitable
    if edit in ("prefix", "power", "unit"):
        new = replace(new, forced=True)
    if edit in ("prefix", "power") and desk.habits.units == "all":
        coherent = new.value / desk.scale(symbol)
        if not Fraction(1, 10**5) < coherent < 10**7 or new.value == right.value:
            raise Unsuitable
        if not numbers.is_decimal(coherent):
            raise Unsuitable
        text = numbers.localised(numbers.plain_decimal(coherent), desk.habits.numbers)
        new = replace(new, number=text)
    elif new.number == right.number:  # only the unit slips; the number is carried on right
        return new, right, exact
    return new, new, new.value


def miscopied(old: Written | None, edit: str, rng: random.Random) -> Written:
    """A number copied wrongly: a digit, or two digits changed over.  Raises Unsuitable."""
    new = None if old is None else (swap if edit == "swap" else digit)(old, rng)
    if old is None or new is None or new.value == old.value:
        raise Unsuitable
    if edit == "digit" and same_digits(new.number, old.number):
        raise Unsuitable
    return new


def one_digit_apart(a: str, b: str) -> bool:
    """Whether one number text may be the other, miscopied."""
    return len(a) == len(b) and sum(x != y for x, y in zip(a, b, strict=True)) < 2
