"""Slips of the pen: how a written number differs from the one that should stand there."""

from __future__ import annotations

from collections.abc import Iterator
from math import log10

from checker.exact import Fraction, rational
from checker.matching.intervals import Interval, could_stand_for
from checker.notation.tree import Measured, Number

_LEAST = Fraction(1, 10**13)


def differences(
    literal: Number | Measured, scale: Fraction, meant: Interval
) -> Iterator[tuple[str, float]]:
    """The kinds of slip by which ``meant`` (SI) came to be written as ``literal``, with how well
    each fits.  ``scale``: the unit of the literal, as a factor to SI."""
    number = literal.amount if isinstance(literal, Measured) else literal
    if not isinstance(number, Number) or number.last_place == 0:
        return
    if meant.low <= 0 or number.value <= 0:
        return
    ratio = meant.high / (number.value * scale)  # too large for a float where misread
    if not _LEAST < ratio < 1 / _LEAST:
        return
    shift = log10(ratio)
    if abs(shift - round(shift)) > 0.05 and abs(shift) > 1.1:
        return  # neither the same digits elsewhere nor a digit changed
    shifted = _power_of_ten(number, scale, meant)
    if shifted:
        if number.has_power:
            yield "power-of-ten", 1.0
            yield ("prefix" if shifted % 3 == 0 else "decimal-point"), 0.5
        elif shifted % 3 == 0:
            yield "prefix", 1.0 if isinstance(literal, Measured) else 0.5
            yield "power-of-ten", 0.8 if isinstance(literal, Measured) else 1.0
        else:
            yield "decimal-point", 1.0
            yield "power-of-ten", 0.6
        return
    for digits in _as_written(number, scale, meant):
        changed = _changed(number.digits, digits)
        if changed is not None:
            yield changed


def _power_of_ten(number: Number, scale: Fraction, meant: Interval) -> int:
    allowed = could_stand_for(number).scaled(scale)
    near = round(log10(float(meant.high / (number.value * scale))))
    for exponent in (-near, -near + 1, -near - 1):
        if exponent and meant.scaled(Fraction(10) ** exponent).meets(allowed):
            return exponent
    return 0


def _as_written(number: Number, scale: Fraction, meant: Interval) -> tuple[str, ...]:
    """What should have been written, with as many decimals as there are, rounded or cut off."""
    decimals = len(number.digits.partition(".")[2])
    power = number.value / rational(number.digits) if rational(number.digits) else Fraction(1)
    found = []
    for value in (meant.low, meant.high):
        bare = value / scale / power * 10**decimals
        for whole in ((bare + Fraction(1, 2)).__floor__(), bare.__floor__()):
            text = str(whole).rjust(decimals + 1, "0")
            found.append(f"{text[:-decimals]}.{text[-decimals:]}" if decimals else text)
    return tuple(dict.fromkeys(found))


def is_slip_of_pen(digits: str, meant: str) -> bool:
    """Whether one digit is another, or two have changed places."""
    return len(digits) == len(meant) and digits != meant and _changed(digits, meant) is not None


def _changed(written: str, meant: str) -> tuple[str, float] | None:
    a, b = written.replace(".", ""), meant.replace(".", "")
    if a == b or len(a) != len(b):
        return ("given-miscopied", 0.4) if a != b and (a in b or b in a) and len(a) > 1 else None
    differ = [place for place, (x, y) in enumerate(zip(a, b, strict=True)) if x != y]
    if len(differ) == 2 and a[differ[0]] == b[differ[1]] and a[differ[1]] == b[differ[0]]:
        return "digits-swapped", 1.0 if differ[1] - differ[0] == 1 else 0.6
    if len(differ) == 1:
        return "given-miscopied", 0.9
    return None
