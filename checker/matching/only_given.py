"""Expressions of given values only, in which nothing was rounded."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from checker.matching.circuit import Key, Kind
from checker.matching.context import Context
from checker.matching.forms import is_structure, without_unit
from checker.matching.intervals import Interval, power, rough, worked_with
from checker.matching.unrounded import ANY, Kinds, exact_fractions, kinds_of
from checker.notation.tree import Expression, Number, numbers


def only_given(expression: Expression, kind: Kind, context: Context) -> bool:
    """Whether every number of an expression for a ``kind`` of quantity is a given value, or
    belongs to the formula, and is not the rounded one of anything else: then nothing in it was
    rounded."""
    its = [n for m in numbers(expression) if isinstance(n := without_unit(m), Number)]
    own = [number for number in its if not is_structure(number)]
    if not own or not all(number.value in context.habit.givens for number in own):
        return False
    if any(exact_fractions(expression, context)):
        return False  # 48/23 in 17 × (48/23) is a value
    kinds = kinds_of(expression, kind)
    rounded = {number for number in its if _may_be_written(number, kinds, (), context)}
    if kind == "C" and len(rounded) == 1:  # then the others are what they seem
        (one,) = rounded
        return not _may_be_written(one, kinds, _beside(one, own, context), context)
    return not rounded


def _beside(number: Number, own: Sequence[Number], context: Context) -> list[int]:
    """The elements that each other number of an expression may be the capacitance of."""
    circuit, scales = context.working.circuit, context.habit.scales["C"]
    elements = [1 << at for at in range(len(circuit.names))]
    values = {e: value for e in elements if (value := circuit.value(Key("C", e))) is not None}
    its = (
        [e for e, value in values.items() if value in [other.value * s for s in scales]]
        for other in own if other != number
    )  # fmt: skip
    return [one[0] for one in its if len(one) == 1]


def _may_be_written(number: Number, kinds: Kinds, beside: Sequence[int], context: Context) -> bool:
    """Whether a number is the rounded value of something that is not given, as it is exactly or
    as the page has it; no capacitance of a group with an element that stands ``beside`` it."""
    habit, working = context.habit, context.working
    allowed = worked_with(number, habit.coarse)
    for kind in kinds.get(number, ANY):
        windows = [
            window
            for its in _and_one_over(allowed, kind)
            for window in (its.scaled(scale) for scale in habit.scales[kind][:2])
        ]
        near = [rough(window) for window in windows]
        for key in working.circuit.unknown[kind]:
            roughly = working.roughly(key)
            if roughly is None or not any(map(roughly.meets, near)):
                continue
            if kind == "C" and any(element & key.group for element in beside):
                continue
            if (value := working.right(key, 1)) and any(map(value.meets, windows)):
                return True
    return False


def _and_one_over(value: Interval, kind: Kind) -> Iterator[Interval]:
    """A value, and one over it if it is a capacitance: 1.20 for 1/C."""
    yield value
    if kind == "C" and (inverse := power(value, -1)) is not None:
        yield inverse
