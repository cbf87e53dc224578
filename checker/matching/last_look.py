"""A last look before a side is called wrong: could honest rounding give it after all?

What a page has in the line itself is judged before with everything that tells a rounded number
from an exact one.  Here a number may be rounded that looks exact (297.5 after 8.9234/30), stand
once for a given value and once for a rounded one (11 × 11 for 11 pF and 10.54 V), or come by way
of several values that are not on the page.
"""

from __future__ import annotations

from dataclasses import replace

from checker.exact import Fraction
from checker.matching.circuit import Key, Kind
from checker.matching.context import ChainResult, Context, SideResult, Subject, of_key
from checker.matching.diagnose import diagnose
from checker.matching.forms import (
    is_numeric,
    is_structure,
    is_worked,
    ones_apart,
    without_unit,
)
from checker.matching.intervals import Interval, could_stand_for, exactly, rough, worked_with
from checker.matching.numeric_side import trailing_units
from checker.matching.right_values import RightValues
from checker.matching.unrounded import in_fractions, ones_as_values
from checker.matching.values import OfNumber, si_values
from checker.notation.tree import Expression, Number, Product, numbers

_OF_A_NUMBER = ("arithmetic", "unexplained", "answer-unsupported", "power-of-ten")
_FINER = 6  # times as wide as a result: its working was done with figures that are not shown
_UNSEEN = 3  # values in a row that are not on the page
_LOST = 3  # times the exact value: what a difference of roundings may come to


def looked_at_again(result: ChainResult, context: Context) -> ChainResult:
    """The same with the first wrong side as one that follows, where rounding alone may give it."""
    place = next((n for n, side in enumerate(result.results) if side.status == "wrong"), None)
    if place is None:
        return result
    side = result.results[place]
    trailing = trailing_units([each.side for each in result.results], result.subjects[0])
    for subject in result.subjects:
        hull = _by_rounding(side, subject, trailing, context)
        if hull is None:
            continue
        kind = diagnose(result, place, context).kinds[0]
        # An unwritten 3.67 cut off to 3.6 looks like a given 1.6 miscopied.
        if kind not in _OF_A_NUMBER and not (kind == "given-miscopied" and subject.key.kind == "C"):
            break  # a wrong rule explains it
        right = replace(side, status="follows", hull=hull)
        sides = (*result.results[:place], right, *result.results[place + 1 :])
        return replace(result, subjects=(subject,), results=sides)
    return result


def _by_rounding(
    side: SideResult, subject: Subject, trailing: tuple[Fraction, ...], context: Context
) -> Interval | None:
    """What a wrong side may stand for where rounding alone may give it."""
    expression = side.side.expression
    if expression is None or not is_numeric(expression):
        return None

    def values(its: Expression, of_number: OfNumber) -> tuple[Interval, ...]:
        found = si_values(ones_apart(its), subject.dims, context.habit, of_number, trailing)
        return of_key(found, subject)

    kind, finer = subject.key.kind, 0
    widest: tuple[Interval, ...] = ()
    if is_worked(expression):
        if side.before is not None or not _all_known(expression, context):
            return None
        allowed = values(expression, _rounded_unless_given(expression, kind, context, tens=True))
        if (right := context.working.right(subject.key, 1)) is not None:
            widest = (right,)
    else:
        allowed = values(expression, could_stand_for)
        if side.before is not None and is_worked(side.before):
            if side.before_status == "follows":
                widest = values(side.before, _rounded_unless_given(side.before, kind, context))
            finer = _FINER
        elif subject.key not in context.working.written and (
            unseen := _unseen(context.working, subject.key)
        ):
            widest = (unseen,)
    exact = context.working.circuit.value(subject.key) or Fraction(0)
    for its in widest:
        if its.low < exact * _LOST and exact < its.high * _LOST:
            for other in allowed:
                if its.meets(other) and its.high - its.low >= finer * (other.high - other.low):
                    return other
    return None


def _all_known(expression: Expression, context: Context) -> bool:
    """Whether every number of an expression may be the rounded value of something right."""
    its = (without_unit(literal) for literal in numbers(expression))
    own = [n for n in its if isinstance(n, Number) and not is_structure(n)]
    return all(
        number.value in context.habit.givens
        or any(near.low <= value <= near.high for value in context.habit.roughly_exact)
        for number in own
        for near in (rough(could_stand_for(number)),)
    )


def _rounded_unless_given(
    expression: Expression, kind: Kind, context: Context, tens: bool = False
) -> OfNumber:
    """Every number as what it may be rounded or cut off from, perhaps to ``tens``, but fractions
    and given values; of 11 × 11 only one is given."""
    bare, ones = without_unit(expression), ones_as_values(expression)
    its = [without_unit(factor) for factor in bare.factors] if isinstance(bare, Product) else []

    def of_number(number: Number) -> Interval:
        given = number.value in context.habit.givens and its.count(number) < 2
        formula = is_structure(number) and (kind == "U" or number.value == 1)
        exact = given or (formula and number not in ones)
        return exactly(number.value) if exact else worked_with(number, tens)

    return in_fractions(expression, of_number, context)


def _unseen(
    working: RightValues, key: Key, steps: int = _UNSEEN, above: frozenset[Key] = frozenset()
) -> Interval | None:
    """What a quantity may come to, in floating point, from everything that is right by way of as
    many values that are not on the page; none of those ``above``, which are worked out of it."""
    exact = working.circuit.value(key)
    if exact is None:
        return None
    if above and (key in working.written or working.circuit.is_given(key)):
        known = working.right(key)
        return rough(known) if known is not None else None
    found = rough(exactly(exact))
    above = above | {key}
    for law in working.laws_for(key) if steps else ():
        operands = [operand for operand, _power in law.operands]
        if above & set(operands) or (key.kind == "C" and law.form == "product"):
            continue
        values = [_unseen(working, operand, steps - 1, above) for operand in operands]
        value = law.work_out([v for v in values if v]) if all(values) else None
        if value is not None and value.low > 0 and value.high < exact * _LOST:
            found = found.hull(value)
    return found
