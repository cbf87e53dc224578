"""Numbers of an expression that stand nowhere before but follow as values of what the quantity is
worked out from: 0.71 V in 8.9 × 0.71, for 12 V - 11.29 V; 180 µC in 180/40, for 175.4 µC."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import get_args

from checker.exact import Fraction
from checker.matching.circuit import Key, Kind
from checker.matching.context import ChainResult, Context, Status
from checker.matching.dimensions import KIND_OF_UNIT
from checker.matching.forms import is_fraction, is_result, is_structure, is_worked, without_unit
from checker.matching.intervals import Interval, could_stand_for, exactly
from checker.matching.laws import Form, Law
from checker.matching.values import has_units
from checker.matching.working import Working
from checker.notation.tree import (
    ONE,
    Expression,
    Measured,
    Number,
    Power,
    Quotient,
    Sum,
    every_part,
    numbers,
    parts,
)

_OF_ONE_TERM = tuple(form for form in get_args(Form) if form != "sum")
_NEAR = Fraction(3, 100)  # by how much what a law takes besides may be off
_DRIFT = Fraction(1, 4)  # by how much rounding may shift a value that is a small difference


def judge_implied(
    expression: Expression, key: Key, allowed: Sequence[Interval], context: Context
) -> tuple[Status, Interval] | None:
    """Whether an expression, which may have the ``allowed`` values, follows by one law from such
    numbers, or is carried forward, and its value; None otherwise."""
    working = context.working
    for law, implied in _by_laws(expression, key, context):
        value = implied.work_out(law)
        near = _nearly(law, implied, working)
        for its in allowed:
            if value is not None and (common := value.common(its)) and near and near.meets(its):
                return "follows", common
            if implied.wrong is not working.wrong and (support := implied.is_carried(key, its)):
                return "carried", support.hull
    return None


def _nearly(law: Law, implied: Working, working: Working) -> Interval | None:
    """What a law comes to with what is ``implied`` and, for everything else, values near the exact
    ones: of a small difference of large values rounding may leave anything, so that numbers which
    have nothing to do with a law would fit it."""
    circuit = working.circuit
    values = []
    for operand, _power in law.operands:
        exact = circuit.value(operand)
        new = implied.written.get(operand)
        if new is not None and new is not working.written.get(operand):
            values.append(new)
        elif exact is not None:
            near = Interval(exact * (1 - _NEAR), exact * (1 + _NEAR))
            written = working.written.get(operand)
            values.append(near.hull(written) if written is not None else near)
    return law.work_out(values) if len(values) == len(law.operands) else None


def implied_by(result: ChainResult, context: Context) -> Iterator[tuple[Key, Interval]]:
    """The values that stand only among the numbers of a chain that follows: 131 in 131/8."""
    key = result.subjects[0].key
    for side in result.results:
        expression = side.side.expression
        if side.status != "follows" or expression is None or not is_worked(expression):
            continue
        if is_fraction(expression) and is_worked(side.before):
            continue  # 81/11 after 810/11/10 is a value
        for law, implied in _by_laws(expression, key, context):
            value, near = implied.work_out(law), _nearly(law, implied, context.working)
            if value and near and any(value.meets(v) and near.meets(v) for v in side.values):
                new = implied.written.keys() - context.working.written.keys()
                yield from ((its, implied.written[its]) for its in new)
                break


def _by_laws(expression: Expression, key: Key, context: Context) -> Iterator[tuple[Law, Working]]:
    """The laws by which an expression may be about a quantity, each with the working in which its
    numbers are values of the law's operands, where that is another one."""
    forms = ("sum", "reciprocal sum") if isinstance(expression, Sum) else _OF_ONE_TERM
    laws = context.working.laws_for(key)
    if any(_has_known_values(expression, law, context) for law in laws):
        return  # 300 in 9.5 × 300 is the voltage, and no charge
    for law in laws:
        if law.form not in forms or (key.kind == "C" and law.form == "product"):
            continue  # 5/12 for 1/C is no voltage over a charge
        if len(law.operands) == 1 and len(numbers(expression)) > 1:
            continue  # what is equal to another is not worked out
        implied = _with_operands(expression, key, [k for k, _power in law.operands], context)
        if implied is not context.working:
            yield law, implied


def _has_known_values(expression: Expression, law: Law, context: Context) -> bool:
    """Whether the numbers of an expression are exact or written values of what a law takes, one
    each."""
    left = [operand for operand, _power in law.operands]
    literals = numbers(expression)
    if law.form != "product" or len(literals) != len(left):
        return False
    for literal in literals:
        own = next((k for k in left if _is_value_of(literal, k, context)), None) or next(
            (k for k in left if _is_written_for(literal, k, context)), None
        )
        if own is None:
            return False
        left.remove(own)
    return True


def _is_written_for(literal: Number | Measured, key: Key, context: Context) -> bool:
    """Whether a number is what a page has written for a quantity."""
    number, scales = without_unit(literal), scales_of(literal, key.kind, context)
    return isinstance(number, Number) and any(
        context.working.has_written(key, number.value * scale) for scale in scales
    )


def _is_left_over(key: Key, allowed: Interval, working: Working) -> bool:
    """Whether a value is what written ones leave over, however far rounding took that: 10 V for
    30 V - 20 V, where the exact one is 7.2 V."""
    through = working.right(key, 1)
    return key not in working.written and through is not None and through.meets(allowed)


def _values_in(
    expression: Expression, halves: bool, in_sum: bool = False
) -> Iterator[Number | Measured]:
    """The numbers of an expression that may be values: 1 not above a stroke, and nothing else that
    belongs to a formula where there are ``halves``."""
    if isinstance(expression, Number | Measured) and is_result(expression):
        if not (halves and is_structure(expression)):
            yield expression
        return
    if is_fraction(expression) and has_units(expression):
        return  # {32}/{7} V is one value
    if in_sum and isinstance(expression, Quotient | Power) and any(
        isinstance(part, Sum) for part in every_part(expression)
    ):  # fmt: skip
        return  # 1/(1/1 + 1/55) + 14 is a sum of two, and 1 is neither
    in_sum = in_sum or isinstance(expression, Sum)
    over_one = isinstance(expression, Quotient) and expression.over == ONE
    for part in parts(expression)[1 if over_one else 0 :]:
        yield from _values_in(part, halves, in_sum)


def _is_value_of(literal: Number | Measured, key: Key, context: Context) -> bool:
    """Whether a number is the exact value of a quantity."""
    exact, number = context.working.circuit.value(key), without_unit(literal)
    return isinstance(number, Number) and any(
        number.value * scale == exact for scale in scales_of(literal, key.kind, context)
    )


def scales_of(literal: Number | Measured, kind: Kind, context: Context) -> tuple[Fraction, ...]:
    """The units, as factors to SI, in which a number may be a value of a ``kind`` of quantity: its
    own, or those of the page, likeliest first."""
    if not isinstance(literal, Measured):
        return context.habit.scales[kind]
    return (literal.unit.factor,) if KIND_OF_UNIT.get(literal.unit.dimension) == kind else ()


def _with_operands(
    expression: Expression, key: Key, operands: Sequence[Key], context: Context
) -> Working:
    """The working with those numbers of an expression taken as written which follow as values of
    the operands of a law.  A number that is the exact value of one of them is no other."""
    working, circuit = context.working, context.working.circuit
    left, others = list(operands), []
    for literal in _values_in(expression, key.kind == "U"):
        own = next((k for k in left if _is_value_of(literal, k, context)), None)
        if own is None:
            others.append(literal)
        else:
            left.remove(own)
    operands = [k for k in left if k != key and not circuit.is_given(k)]
    if key.kind != "U" and not any(map(is_structure, numbers(expression))):
        operands = [k for k in operands if k.kind != "U"]  # 2U/V has a 2
    bare_terms = isinstance(expression, Sum) and all(map(is_result, parts(expression)))
    own_capacitance = Key("C", key.group)
    for literal in others:
        number = without_unit(literal)
        is_energy = key.kind == "U" and circuit.is_given(own_capacitance)
        if is_energy and _is_value_of(literal, own_capacitance, context):
            continue  # in ½ · 1.2 · 1.07 the 1.2 is no charge of 1.28
        plain = bare_terms or isinstance(literal, Measured)  # 2 in 4 × 12/2 may be no value
        if not isinstance(number, Number):
            continue
        few = len(number.digits) < 2 and not plain
        volts = [number.value * scale for scale in scales_of(literal, "V", context)]
        if len(number.digits) < 2 and circuit.supply in volts:
            continue
        for operand in operands:
            right, exact = context.working.right(operand), circuit.value(operand)
            if right is None or exact is None:
                continue
            for scale in scales_of(literal, operand.kind, context)[:2]:
                allowed = could_stand_for(number).scaled(scale)
                value = exactly(number.value * scale)
                if right.meets(value):
                    continue
                near = allowed.meets(Interval(exact * (1 - _DRIFT), exact * (1 + _DRIFT)))
                near = (near and not few) or _is_left_over(operand, allowed, working)
                if near and (support := context.working.follows(operand, allowed)):
                    value = value.hull(support.hull)
                    if through := context.working.right(operand, 1):  # 2.04, though 2.02 is exact
                        value = value.hull(through.common(allowed) or value)
                    working = working.with_right(operand, value)
                elif support := context.working.is_carried(operand, allowed):
                    working = working.with_wrong(operand, value.hull(support.hull))
    return working
