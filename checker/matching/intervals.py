"""Closed intervals of exact rationals, and what a written decimal may stand for."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import floor, inf, log10
from typing import NamedTuple

from checker.exact import Fraction
from checker.notation.tree import Number

_HAIR = 1e-9
_ONE_FIGURE = Fraction(1, 10)  # a single figure stands for values within a tenth of it
_NOT_IN_TENS = (2, 3)  # digits
_ALMOST_ONE = 1 - Fraction(1, 10**9)


class Interval(NamedTuple):
    """All values from ``low`` to ``high``, both included."""

    low: Fraction
    high: Fraction

    def meets(self, other: Interval) -> bool:
        """Whether the two have a value in common."""
        return self.low <= other.high and other.low <= self.high

    def scaled(self, factor: Fraction) -> Interval:
        """Multiplied by a positive factor."""
        return Interval(self.low * factor, self.high * factor)

    def hull(self, other: Interval) -> Interval:
        """The smallest interval that holds both."""
        return Interval(min(self.low, other.low), max(self.high, other.high))

    def common(self, other: Interval) -> Interval | None:
        """What the two have in common, None where that is nothing."""
        low, high = max(self.low, other.low), min(self.high, other.high)
        return Interval(low, high) if low <= high else None


def rough(exact: Interval) -> Interval:
    """The interval in floating point, a hair wider: the same arithmetic on it is many times
    quicker, and where even this does not meet, nothing exact can."""
    low, high = _float(exact.low), _float(exact.high)
    return Interval(low - abs(low) * _HAIR, high + abs(high) * _HAIR)  # type: ignore[arg-type]


def _float(value: Fraction) -> float:
    try:
        return float(value)
    except OverflowError:
        return inf if value > 0 else -inf


def exactly(value: Fraction) -> Interval:
    """A single value."""
    return Interval(value, value)


def add(a: Interval, b: Interval, sign: int = 1) -> Interval:
    """The sum, or with ``sign`` -1 the difference, of independent values."""
    if sign > 0:
        return Interval(a.low + b.low, a.high + b.high)
    return Interval(a.low - b.high, a.high - b.low)


def multiply(a: Interval, b: Interval) -> Interval:
    """The product of independent values."""
    if a.low == a.high and b.low == b.high:
        return exactly(a.low * b.low)
    if a.low >= 0 and b.low >= 0:
        return Interval(a.low * b.low, a.high * b.high)
    corners = (a.low * b.low, a.low * b.high, a.high * b.low, a.high * b.high)
    return Interval(min(corners), max(corners))


def power(a: Interval, exponent: int) -> Interval | None:
    """``a`` to a small whole power; None where that divides by zero."""
    if exponent < 0:
        if a.low <= 0 <= a.high:
            return None
        a, exponent = Interval(1 / a.high, 1 / a.low), -exponent
    if exponent == 1:
        return a
    corners = (a.low**exponent, a.high**exponent)
    low = Fraction(0) if a.low < 0 < a.high and exponent % 2 == 0 else min(corners)
    return Interval(low, max(corners))


@lru_cache(maxsize=8192)
def rounded(number: Number) -> Interval:
    """Every value that rounds to the written number: half a unit of its last place either way."""
    half = number.last_place / 2
    if number.whole and len(number.digits) == 1:
        half = min(half, number.value * _ONE_FIGURE)
    return Interval(number.value - half, number.value + half)


@lru_cache(maxsize=8192)
def cut_off(number: Number) -> Interval:
    """Every value that gives the written number when its further digits are cut off.

    The upper end itself belongs to the next number, so it is left out by a hair.
    """
    if len(number.figures) < 2:
        return exactly(number.value)
    return Interval(number.value, number.value + number.last_place * _ALMOST_ONE)


@lru_cache(maxsize=8192)
def could_stand_for(number: Number) -> Interval:
    """Every value that gives the written number, rounded or cut off."""
    return rounded(number).hull(cut_off(number))


@lru_cache(maxsize=8192)
def worked_with(number: Number, coarse: bool = False) -> Interval:
    """Every value that a number worked with further may have been rounded or cut off from.  A whole
    one of two or three digits was hardly rounded to tens: 260 is 26 × 10 rather than 258, unless a
    ``coarse`` page has two figures throughout."""
    if not coarse and number.whole and len(number.digits) in _NOT_IN_TENS and number.value:
        return could_stand_for(replace(number, last_place=number.value / int(number.digits)))
    return could_stand_for(number)


def to_figures(value: Interval, figures: int) -> Interval:
    """What positive values may come to when they are rounded or cut off to significant figures."""
    if value.low <= 0:
        return value
    unit = Fraction(10) ** (floor(log10(value.high)) - figures + 1)
    return Interval(value.low // unit * unit, -(-value.high // unit) * unit)
