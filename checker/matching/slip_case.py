"""A wrong side of a chain with what is needed to explain it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from checker.matching.circuit import Key, Kind
from checker.matching.context import Context, SideResult, Subject
from checker.matching.dimensions import KIND_OF_UNIT
from checker.matching.forms import is_numeric, is_result
from checker.matching.intervals import Interval, could_stand_for, power
from checker.matching.labels import meaning
from checker.matching.loose_numbers import loose_numbers
from checker.matching.values import as_written, si_values
from checker.notation.tree import Expression, Measured, Number, Symbol, numbers, symbols


@dataclass(frozen=True)
class Case:
    """A wrong side with what is needed to explain it."""

    side: SideResult
    expression: Expression
    subject: Subject
    context: Context
    allowed: tuple[Interval, ...]  # what the quantity may be, as written
    operands: tuple[tuple[Number | Measured, Interval], ...]  # numbers, as bare values
    after_right: bool  # the side before is right and numeric
    keys: tuple[Key, ...] = ()  # what the symbols of a formula stand for
    alone: bool = False  # a plain value with nothing before it


def case_of(side: SideResult, subject: Subject, context: Context, first: bool) -> Case | None:
    """None where the side could not be read.  ``first``: no side of its chain is before it."""
    expression = side.side.expression
    if expression is None:
        return None
    if is_numeric(expression):
        loosely = loose_numbers(context, expression, subject.key.kind)
        ways = (could_stand_for,) if is_result(expression) else (as_written, loosely)
        allowed = tuple(
            inverted
            for way in ways
            for value in si_values(expression, subject.dims, context.habit, way)
            if (inverted := power(value, -1 if subject.inverse else 1)) is not None
        )
    else:
        allowed = side.values
    operands: tuple[tuple[Number | Measured, Interval], ...] = ()
    after_right = (
        side.before is not None and side.before_status == "follows" and is_numeric(side.before)
    )
    source = expression
    if side.before is not None and (is_result(expression) or after_right):
        source = side.before
    if not is_result(source):
        operands = tuple(
            (literal, could_stand_for(number))
            for literal in numbers(source)
            if isinstance(number := number_of(literal), Number)
        )
    keys = []
    for s in symbols(expression):
        if its := meaning(context.working.circuit, s, context.bound, context.usage):
            kind = _kind(its.kinds, expression, subject)
            own = not (s.index or s.primes) and kind != subject.key.kind
            keys.append(Key(kind, subject.key.group if own else its.groups[0]))
    alone = first and side.before is None and is_result(expression)
    return Case(
        side, expression, subject, context, allowed, operands, after_right, tuple(keys), alone
    )


def _kind(kinds: tuple[Kind, ...], expression: Expression, subject: Subject) -> Kind:
    """Of the letter U: in the formula of an energy it is the voltage."""
    if subject.key.kind == "U" and not isinstance(expression, Symbol) and "V" in kinds:
        return "V"
    return kinds[0]


def number_of(literal: Number | Measured) -> Expression:
    """The number of a literal."""
    return literal.amount if isinstance(literal, Measured) else literal


def is_written(
    operand: tuple[Number | Measured, Interval], key: Key, value: Interval, case: Case
) -> bool:
    """Whether a number that is written may be a value of a quantity."""
    literal, allowed = operand
    if isinstance(literal, Measured):
        if KIND_OF_UNIT.get(literal.unit.dimension) != key.kind:
            return False
        return value.scaled(1 / literal.unit.factor).meets(allowed)
    return any(
        value.scaled(1 / scale).meets(allowed) for scale in case.context.habit.scales[key.kind][:2]
    )


def values_of(key: Key, case: Case) -> tuple[Interval, ...]:
    """The right value of a quantity and the wrong ones that the page gives."""
    right = case.context.working.right(key)
    return (*((right,) if right is not None else ()), *case.context.working.wrong.get(key, ()))


def meant_values(case: Case) -> Iterator[Interval]:
    """What the quantity should be: right, from earlier wrong values, as the side before says."""
    working, key = case.context.working, case.subject.key
    before = case.side.before
    if before is not None and is_numeric(before):
        for value in si_values(before, case.subject.dims, case.context.habit):
            turned = power(value, -1 if case.subject.inverse else 1)
            if turned is not None:
                yield turned
    right = working.right(key, 1)
    if right is not None:
        yield right
    yield from working.by_laws(key)
    yield from working.carried(key, 1)
