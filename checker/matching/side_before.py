"""What the numbers in the side before a result come to, and whether the result is that."""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce

from checker.exact import Fraction
from checker.matching.context import Context, Subject, of_key
from checker.matching.forms import is_numeric, is_result, ones_apart
from checker.matching.intervals import Interval, could_stand_for
from checker.matching.loose_numbers import loose_givens, loose_numbers, loose_tens
from checker.matching.unrounded import in_fractions
from checker.matching.values import OfNumber, as_written, si_values

_NEAR = Fraction(1, 1000)


def equals_before(
    subject: Subject,
    trailing: tuple[Fraction, ...],
    context: Context,
    allowed: Sequence[Interval],
) -> Interval | None:
    """The value of the numeric side before, where it is among the allowed ones.

    The side before counts only in the units in which it was found to follow.
    """
    before, hull = context.before, context.before_hull
    if before is None or not is_numeric(before):
        return None
    before = ones_apart(before)
    exact = context.working.circuit.value(subject.key)
    ways: tuple[OfNumber, ...] = (as_written, could_stand_for)
    if not is_result(before):
        loose = loose_numbers(context, before, subject.key.kind, group=subject.key.group)
        its_ways = [as_written, loose, loose_givens(loose, before, context, subject.key)]
        its_values = si_values(before, subject.dims, context.habit, as_written, trailing)
        if not any(v.low == v.high == exact for v in of_key(its_values, subject)):
            its_ways.append(loose_tens(context))  # in 260/36, were it exact, nothing was rounded
        ways = tuple(in_fractions(before, way, context) for way in its_ways)
    for of_number in ways:
        for value in si_values(before, subject.dims, context.habit, of_number, trailing):
            for its in of_key([value], subject):
                if hull is not None and not _same_scale(its, hull):
                    continue
                for other in allowed:
                    if common := its.common(other):
                        return common
    return None


def _same_scale(one: Interval, other: Interval) -> bool:
    return one.low < 30 * other.high and other.low < 30 * one.high


def nearly(fraction: Interval) -> Interval:
    """What a fraction may stand for that a decimal was turned into: 44/3 for 14.668."""
    return Interval(fraction.low * (1 - _NEAR), fraction.high * (1 + _NEAR))


def wrong_again(
    subject: Subject, trailing: tuple[Fraction, ...], context: Context,
    allowed: Sequence[Interval],
) -> Interval | None:  # fmt: skip
    """What the wrong numbers in the side before come to, where a result is that and not the right
    value, whatever else it may be rounded from."""
    exact = context.working.circuit.value(subject.key)
    if context.before is None or context.before_status == "follows" or exact is None:
        return None
    if any(value.low <= exact <= value.high for value in allowed):
        return None
    values = si_values(context.before, subject.dims, context.habit, as_written, trailing)
    its = of_key(values, subject)
    return next((one for one in its if any(one.meets(other) for other in allowed)), None)


def as_worked_out(
    exact: Interval, subject: Subject, trailing: tuple[Fraction, ...], context: Context,
    allowed: Interval,
) -> Interval:  # fmt: skip
    """An exact value with what the numbers before it come to, where that is rounded to it: 11 after
    18 × 4.278/7 may be gone on with as 11.0006, 9.6 after 39/4.1 as 39/4.05."""
    before, key = context.before, subject.key
    if before is None or context.before_status != "follows":
        return exact
    loose = loose_numbers(context, before, key.kind, group=key.group)
    values = (
        value
        for way in (as_written, in_fractions(before, loose, context))
        for value in of_key(si_values(before, subject.dims, context.habit, way, trailing), subject)
    )
    near = (common for value in values if (common := value.common(allowed)))
    return reduce(Interval.hull, near, exact)
