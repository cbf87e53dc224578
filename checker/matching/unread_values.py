"""Right values of lines that were not read, or that go on from one: what is written further down
may have come from them as they were rounded."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from checker.matching.circuit import KINDS, Key, Kind
from checker.matching.dimensions import KIND_OF_UNIT
from checker.matching.finding import Finding
from checker.matching.forms import is_result, without_unit
from checker.matching.habit import Habit
from checker.matching.intervals import Interval, rounded
from checker.matching.working import Working
from checker.notation.tree import Chain, Expression, Measured, Number

_MOST = 4  # quantities of which one value may be right


def with_results(said: Sequence[Finding], working: Working) -> Working:
    """The working with those results of a line as read that are right for what they are about."""
    new = working
    for finding in said:
        number, value = finding.number, finding.value
        if finding.result and number is not None and value and number.value:
            allowed = rounded(number).scaled(value / number.value)
            new = _with_right(finding.keys, allowed, working, new)
    return new


def with_nameless(chain: Chain, working: Working, habit: Habit) -> Working:
    """The working with the results of a chain, about which nothing is known but the kind of their
    unit, for the few quantities for which they are right: = 27.0 µF."""
    new = working
    for side in chain.sides:
        expression = side.expression
        if expression is None or not is_result(expression):
            continue
        for kind, allowed in _in_units(expression, habit):
            keys = [Key(kind, group) for group in working.circuit.groups]
            right = [key for key in keys if working.is_known(key, allowed)]
            if len(right) <= _MOST:
                new = _with_right(right, allowed, working, new)
    return new


def _in_units(expression: Expression, habit: Habit) -> Iterator[tuple[Kind, Interval]]:
    """What a result may be, by its unit or else in those of the page."""
    number = without_unit(expression)
    if not isinstance(number, Number):
        return
    if isinstance(expression, Measured):
        kind = KIND_OF_UNIT.get(expression.unit.dimension)
        if kind is not None and expression.power == 1:
            yield kind, rounded(number).scaled(expression.unit.factor)
        return
    for kind in KINDS:
        yield kind, rounded(number).scaled(habit.scales[kind][0])


def _with_right(keys: Sequence[Key], allowed: Interval, working: Working, new: Working) -> Working:
    for key in keys:
        if not working.circuit.is_given(key) and working.follows(key, allowed):
            new = new.with_right(key, allowed)
    return new
