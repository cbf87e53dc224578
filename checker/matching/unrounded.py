"""Numbers of an expression that were not rounded: given values, fractions that are exact."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from checker.matching.circuit import Key, Kind
from checker.matching.context import Context
from checker.matching.dimensions import KIND_OF_UNIT
from checker.matching.forms import is_fraction, is_structure, without_unit
from checker.matching.habit import Habit
from checker.matching.intervals import Interval, could_stand_for, exactly
from checker.matching.values import OfNumber
from checker.notation.tree import Expression, Measured, Number, Quotient, numbers, parts

_PLACES = 12  # of a decimal that ends
_ANY: tuple[Kind, ...] = ("C", "Q", "V")  # that a number without a unit may be a value of
Kinds = Mapping[Number, tuple[Kind, ...]]


def kinds_of(expression: Expression | None) -> Kinds:
    """What the numbers of an expression are values of, for those that always have a unit."""
    found: dict[Number, tuple[Kind, ...]] = {}
    bare: set[Number] = set()
    for literal in numbers(expression) if expression is not None else ():
        number, kind = without_unit(literal), None
        if isinstance(literal, Measured):
            kind = KIND_OF_UNIT.get(literal.unit.dimension)
        if isinstance(number, Number):
            if kind is None:
                bare.add(number)
            else:
                found[number] = tuple(dict.fromkeys((*found.get(number, ()), kind)))
    return {number: kinds for number, kinds in found.items() if number not in bare}


def in_fractions(expression: Expression, usual: OfNumber, habit: Habit) -> OfNumber:
    """As ``usual``, but with the numbers of fractions as they are that are exact values without end
    as decimals: 200/7 is no quotient of rounded values, though 1222/47 = 26 may be."""
    whole = {number for pair in _exact_fractions(expression, habit) for number in pair}
    if not whole:
        return usual
    return lambda number: exactly(number.value) if number in whole else usual(number)


def _exact_fractions(expression: Expression, habit: Habit) -> Iterator[tuple[Number, Number]]:
    inside = without_unit(expression)
    if isinstance(inside, Quotient) and is_fraction(inside):
        over, under = inside.over, without_unit(inside.under)
        if isinstance(over, Number) and isinstance(under, Number) and under.value:
            value = over.value / under.value
            if value in habit.exact and 10**_PLACES % value.denominator:
                yield over, under
        return
    for part in parts(inside):
        yield from _exact_fractions(part, habit)


def only_given(expression: Expression, context: Context) -> bool:
    """Whether every number of an expression is a given value, or belongs to the formula, and is
    not the rounded one of anything else: then nothing in it was rounded."""
    its = [n for m in numbers(expression) if isinstance(n := without_unit(m), Number)]
    own = [number for number in its if not is_structure(number)]
    kinds = kinds_of(expression)
    return (
        bool(own)
        and all(number.value in context.habit.givens for number in own)
        and not any(_may_be_written(number, kinds, context) for number in its)
    )


def _may_be_written(number: Number, kinds: Kinds, context: Context) -> bool:
    """Whether a number is the rounded value of something that is not given, as it is exactly or
    as the page has it."""
    allowed, habit, working = could_stand_for(number), context.habit, context.working
    circuit = working.circuit
    return any(
        value.scaled(1 / scale).meets(allowed)
        for kind in kinds.get(number, _ANY)
        for key in (Key(kind, group) for group in circuit.groups)
        if not circuit.is_given(key) and (value := working.right(key, 1))
        for scale in habit.scales[key.kind][:2]
    )  # fmt: skip


def may_be_another(number: Number, allowed: Interval, kinds: Kinds, context: Context) -> bool:
    """Whether a number, one of the given ones, is also the rounded value of something else."""
    circuit = context.working.circuit
    if len(number.figures) < 2:
        return False
    return any(
        allowed.low <= value / scale <= allowed.high and value / scale != number.value
        for kind in kinds.get(number, _ANY)
        for key in (Key(kind, group) for group in circuit.groups)
        if not circuit.is_given(key) and (value := circuit.value(key))
        for scale in context.habit.scales[key.kind][:1]
    )
