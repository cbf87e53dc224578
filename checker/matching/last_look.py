"""A last look before a side is called wrong: could honest rounding give it after all?

What a page has in the line itself is judged before with everything that tells a rounded number
from an exact one.  Here a number may be rounded that looks exact (297.5 after 8.9234/30), stand
once for a given value and once for a rounded one (11 × 11 for 11 pF and 10.54 V), or come by way
of several values that are not on the page.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import reduce

from checker.exact import Fraction
from checker.matching.circuit import Key
from checker.matching.context import ChainResult, Context, SideResult, Subject, of_key
from checker.matching.diagnose import diagnose
from checker.matching.forms import (
    inverted,
    is_numeric,
    is_result,
    is_structure,
    is_worked,
    ones_apart,
    without_unit,
)
from checker.matching.intervals import (
    Interval,
    add,
    could_stand_for,
    exactly,
    to_figures,
    worked_with,
)
from checker.matching.labels import meaning
from checker.matching.loose_numbers import is_on_page
from checker.matching.numeric_side import LEAST_FIGURES, at_corners, trailing_units
from checker.matching.unrounded import (
    as_obtained,
    in_fractions,
    is_written,
    kinds_of,
    may_be_another,
    not_given,
    structure_as_values,
)
from checker.matching.unseen_values import result_of_unseen, working_of_unseen
from checker.matching.unwritten_members import from_unwritten, own_capacitances
from checker.matching.values import OfNumber, as_written, bare_value, si_values
from checker.notation.tree import Expression, Number, Product, Quotient, Sum, parts, symbols

_OF_A_NUMBER = ("arithmetic", "unexplained", "answer-unsupported", "power-of-ten")
_BY_CHANCE = frozenset(  # rules that often happen to give a value as well
    ("label-swapped", "wrong-equivalent-used", "digits-swapped", "charge-split-in-series")
)
_FINER = 6  # times as wide as a result: its working was done with figures that are not shown
_FAR = Fraction(3)  # times the exact value
_ROUGH = Fraction(1, 100)  # by how much a working between right sides may be off
_PADDING = 3  # zeros after the last figure that are not meant


def looked_at_again(result: ChainResult, context: Context) -> ChainResult:
    """The same with the first wrong side as one that follows, where rounding alone may give it, or
    as one that is in doubt, where by chance a wrong rule may too."""
    place = next((n for n, side in enumerate(result.results) if side.status == "wrong"), None)
    if place is None:
        return result
    side = result.results[place]
    expression = side.side.expression
    if expression is None or not is_numeric(expression):
        if expression is not None and _stands_over_right_numbers(result, place, context):
            return _with_side(result, place, replace(side, status="follows"))
        return result
    trailing = trailing_units([each.side for each in result.results], result.subjects[0])
    for subject in result.subjects:
        if is_worked(expression):
            hull = _on_the_way(result, place, subject, context)
            if result.misfit is None:
                hull = hull or from_unwritten(side, expression, subject, trailing, context)
            hull = hull or working_of_unseen(side, expression, subject.key, context)
        else:
            values = si_values(expression, subject.dims, context.habit, could_stand_for, trailing)
            allowed = of_key(values, subject)
            if is_worked(side.before):
                hull = _padded(side, expression, subject, trailing, context)
                for before in (side.before, side.earlier):
                    hull = hull or _from_before(side, before, allowed, subject, trailing, context)
                hull = hull or _from_reciprocals(
                    side, expression, allowed, subject, trailing, context
                )
            else:
                hull = result_of_unseen(allowed, subject.key, context)
        if hull is None:
            continue
        kind = diagnose(result, place, context).kinds[0] if not is_worked(expression) else None
        if kind in _BY_CHANCE:
            right = replace(side, doubtful=True)
        elif kind is None or kind in _OF_A_NUMBER:
            right = replace(side, status="follows", hull=hull)
            result = replace(result, subjects=(subject,))
        else:  # a wrong rule explains it
            break
        return _with_side(result, place, right)
    return result


def _with_side(result: ChainResult, place: int, side: SideResult) -> ChainResult:
    return replace(result, results=(*result.results[:place], side, *result.results[place + 1 :]))


def _stands_over_right_numbers(result: ChainResult, place: int, context: Context) -> bool:
    """Whether a formula with labels of the student's own, which may have been taken for the wrong
    groups, is worked out with the right numbers next."""
    expression = result.results[place].side.expression
    after = result.results[place + 1 : place + 2]
    numbers_follow = after and after[0].status == "follows" and is_worked(after[0].side.expression)
    if expression is None or not numbers_follow or not is_numeric(after[0].side.expression):
        return False
    circuit, bound, usage = context.working.circuit, context.bound, context.usage
    its = (meaning(circuit, symbol, bound, usage) for symbol in symbols(expression))
    return any(one is not None and one.label is not None for one in its)


def _on_the_way(
    result: ChainResult, place: int, subject: Subject, context: Context
) -> Interval | None:
    """What a working comes to between two right sides that is off by rounding to one figure:
    1/2.36 in 0.56 × 1.8/2.36 = 1/2.36 = 0.427."""
    side, after = result.results[place], result.results[place + 1 : place + 2]
    exact = context.working.circuit.value(subject.key)
    if side.before_status != "follows" or exact is None or not after:
        return None
    near = Interval(exact * (1 - _ROUGH), exact * (1 + _ROUGH))
    if after[0].status == "follows" and is_result(after[0].side.expression):
        return next((value for value in side.values if value.meets(near)), None)
    return None


def _padded(
    side: SideResult, expression: Expression, subject: Subject, trailing: tuple[Fraction, ...],
    context: Context,
) -> Interval | None:  # fmt: skip
    """Which value a result may stand for whose last places are zeros without a meaning:
    1.30000·10⁷ for 1.325·10⁷ on a page of two figures."""
    number = without_unit(expression)
    if not isinstance(number, Number) or "." not in number.digits or side.before is None:
        return None
    kept = max(len(number.figures.rstrip("0")), LEAST_FIGURES)
    zeros = len(number.figures) - kept
    if zeros < _PADDING or side.before_status != "follows":
        return None
    worth = could_stand_for(replace(number, last_place=number.last_place * 10**zeros))
    habit = context.habit
    allowed = si_values(expression, subject.dims, habit, lambda _number: worth, trailing)
    before = si_values(side.before, subject.dims, habit, as_written, trailing)
    return next(
        (a for a in of_key(allowed, subject) if any(map(a.meets, of_key(before, subject)))), None
    )


def _from_before(
    side: SideResult, before: Expression | None, allowed: Sequence[Interval], subject: Subject,
    trailing: tuple[Fraction, ...], context: Context,
) -> Interval | None:  # fmt: skip
    """Which of the ``allowed`` values a result may stand for that has more figures than the working
    before it bears."""
    exact = context.working.circuit.value(subject.key)
    if before is None or side.before_status != "follows" or exact is None:
        return None
    before, habit = ones_apart(before), context.habit
    usual = _rounded_unless_given(before, subject.key, context)
    bare = without_unit(before)
    if isinstance(bare, Product | Sum | Quotient) and len(set(parts(bare))) < len(parts(bare)):
        # Of 11 × 11 only one is given, of 15 - 15 and 26/26 too.
        found = si_values(before, subject.dims, habit, could_stand_for, trailing)
    else:
        of_number = in_fractions(before, usual, context)
        found = at_corners(before, subject, habit, of_number, trailing)
    for value in of_key(found, subject):
        if value.low > exact * _FAR or exact > value.high * _FAR:
            continue  # in another unit
        for its in allowed:
            if its.meets(value) and value.high - value.low >= _FINER * (its.high - its.low):
                return its
    return None


def _from_reciprocals(
    side: SideResult, expression: Expression, allowed: Sequence[Interval], subject: Subject,
    trailing: tuple[Fraction, ...], context: Context,
) -> Interval | None:  # fmt: skip
    """Which of the ``allowed`` values the result of a sum of reciprocals may stand for where they
    were added as rounded or cut off to its own figures: 1/22 + 1/34.6 as 0.0454 + 0.0289."""
    before, number = side.before, without_unit(expression)
    if before is None or side.before_status != "follows" or not isinstance(number, Number):
        return None
    total = inverted(before) or before
    terms = [term for _sign, term in total.terms] if isinstance(total, Sum) else []
    each = [bare_value(term, prefixes=True) for term in terms if inverted(term) is not None]
    known = [value for value in each if value is not None and value.low > 0]
    if not terms or len(known) < len(terms):
        return None
    figures = max(len(number.figures), LEAST_FIGURES)
    rounded = to_figures(reduce(add, (to_figures(value, figures) for value in known)), figures)
    exact = reduce(add, known).low
    values = si_values(before, subject.dims, context.habit, as_written, trailing)
    for value in of_key(values, subject):
        shifted = Interval(value.low * exact / rounded.high, value.high * exact / rounded.low)
        found = next((its for its in allowed if its.meets(shifted)), None)
        if found is not None:
            return found
    return None


def _rounded_unless_given(expression: Expression, key: Key, context: Context) -> OfNumber:
    """Numbers as what they may be rounded or cut off from, but given ones that are no rounded
    values as well and whole ones that are exact values."""
    kinds, ones = kinds_of(expression, key.kind), structure_as_values(expression, key.kind)
    circuit, habit = context.working.circuit, context.habit
    own = {c / scale for c in own_capacitances(circuit, key) for scale in habit.scales["C"]}
    supplied = key.kind != "V" and circuit.is_of_supply(Key("V", key.group)) and circuit.supply
    own_voltages = {supplied / scale for scale in habit.scales["V"]} if supplied else ()

    def is_exact(number: Number) -> bool:
        if number.value in own and (
            "C" in kinds.get(number, "C")
            or (key.kind == "U" and not is_written(number, kinds, context))
        ):
            return True
        if number.value in own_voltages and "V" in kinds.get(number, "V"):
            return True
        if may_be_another(number, could_stand_for(number), kinds, context, key, fewest=1):
            return False
        short = number.whole or len(number.figures) < habit.usual
        return number.value in habit.givens or (short and any(
            circuit.value(key) == number.value * habit.scales[key.kind][0]
            for key in not_given(number, kinds, circuit)
        ))  # fmt: skip

    def of_number(number: Number) -> Interval:
        if is_structure(number) and (key.kind == "U" or number.value == 1):
            is_value = (
                number in ones and number.value not in own and (number.value not in own_voltages)
            )
            return could_stand_for(number) if is_value else exactly(number.value)
        if is_exact(number):
            return as_obtained(number, could_stand_for(number), kinds, context)
        return worked_with(number, habit.coarse and is_on_page(number, context))

    return of_number
