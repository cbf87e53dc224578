"""Whether the numbers of a working for a capacitance may be those of the members of its group."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from checker.exact import Fraction
from checker.matching.circuit import Key
from checker.matching.context import Context
from checker.matching.forms import inverted, is_result, without_unit
from checker.matching.implied import scales_of
from checker.matching.intervals import Interval, could_stand_for, power
from checker.notation.tree import Expression, Measured, Number, Product, Quotient, Sum

_OFF = Fraction(3, 100)  # by how much a value that is on no line may be off
_MOST_ELEMENTS = 8


def may_be_members(expression: Expression, key: Key, context: Context) -> bool:
    """Whether the members of a group may be worth the numbers of a sum, of a sum of reciprocals or
    of a product over a sum, rounded, none left out or counted twice; True for other workings."""
    circuit = context.working.circuit
    values = _members(without_unit(expression))
    if values is None or len(values) < 2 or len(circuit.names) > _MOST_ELEMENTS:
        return True
    inside = [group for group in circuit.groups if group & key.group == group != key.group]
    fitting = [list(_groups_worth(value, inside, context)) for value in values]
    return _make_up(key.group, fitting)


def _members(bare: Expression) -> list[Number | Measured] | None:
    """The numbers that a working combines; None where it is more than that."""
    if isinstance(bare, Sum):
        its = [inverted(term) or term for sign, term in bare.terms if sign > 0]
        plain = [one for one in its if isinstance(one, Number | Measured) and is_result(one)]
        return plain if len(plain) == len(bare.terms) else None
    if (inside := inverted(bare)) is not None:
        return _members(without_unit(inside)) if isinstance(without_unit(inside), Sum) else None
    if isinstance(bare, Quotient) and isinstance(bare.over, Product):
        added = _members(without_unit(bare.under))
        return added if added is not None and set(added) == set(bare.over.factors) else None
    return None


def _groups_worth(
    literal: Number | Measured, groups: Sequence[int], context: Context
) -> Iterator[int]:
    """The groups whose capacitance, or one over it, a number may stand for."""
    number = without_unit(literal)
    if not isinstance(number, Number):
        return
    its = could_stand_for(number)
    scales = scales_of(literal, "C", context)
    ways = [its.scaled(scale) for scale in scales]
    inverse = power(its, -1)
    if inverse is not None and not isinstance(literal, Measured):
        ways += [inverse.scaled(scale) for scale in context.habit.scales["C"]]
    wide = [Interval(way.low * (1 - _OFF), way.high * (1 + _OFF)) for way in ways]
    circuit, is_given = context.working.circuit, number.value in context.habit.givens
    for group in groups:
        right = context.working.right(Key("C", group), 1)
        if right is None or not any(map(right.meets, wide)):
            continue
        is_it = any(right.low == number.value * scale for scale in scales)
        if is_it or not (is_given and circuit.is_element(group)):  # a given value is no other
            yield group


def _make_up(group: int, fitting: Sequence[Sequence[int]]) -> bool:
    """Whether one group of each list makes up the whole of one, without a common element."""
    if not fitting:
        return group == 0
    return any(one & group == one and _make_up(group & ~one, fitting[1:]) for one in fitting[0])
