"""Whether a side goes on from wrong values."""

from __future__ import annotations

from collections.abc import Iterator

from checker.exact import Fraction
from checker.matching.circuit import Kind
from checker.matching.context import Context
from checker.matching.dimensions import KIND_OF_UNIT
from checker.matching.forms import is_fraction, without_unit
from checker.matching.intervals import Interval, could_stand_for, rough
from checker.matching.values import bare_value
from checker.notation.tree import Expression, Measured, Number, numbers, parts

_UNSEEN = Fraction(1, 100)  # by how much roundings not on the page may shift a wrong value


def widened(allowed: Interval) -> Interval:
    """A value that may go on from wrong ones through steps that are not on the page: these were
    rounded or not, and no slip of its own is told from that."""
    room = abs(allowed.high) * _UNSEEN
    return Interval(allowed.low - room, allowed.high + room)


def _fractions(expression: Expression) -> Iterator[Interval]:
    """The values of the fractions of plain numbers in an expression."""
    if is_fraction(expression) and (value := bare_value(expression)) is not None:
        yield value
    else:
        for part in parts(expression):
            yield from _fractions(part)


def uses_wrong(expression: Expression, context: Context) -> bool:
    """Whether a wrong value, or one over it, is among the numbers of an expression."""
    literals: list[tuple[Kind | None, Interval]] = [
        (None, rough(value)) for value in _fractions(expression)
    ]
    for literal in numbers(expression):
        kind: Kind | None = None
        scale, number = Fraction(1), without_unit(literal)
        if isinstance(literal, Measured):
            kind = KIND_OF_UNIT.get(literal.unit.dimension)
            scale = literal.unit.factor
        if isinstance(number, Number) and number.digits not in ("1", "2"):
            literals.append((kind, rough(could_stand_for(number).scaled(scale))))
    scales = {kind: [float(s) for s in its] for kind, its in context.habit.scales.items()}
    for key, value in context.working.wrong_values():
        if value.low <= 0:
            continue
        for kind, allowed in literals:
            if kind is not None:
                if kind == key.kind and value.meets(allowed):
                    return True
                continue
            for unit in scales[key.kind]:
                low, high = value.low / unit, value.high / unit
                if (low <= allowed.high and allowed.low <= high) or (
                    1 / high <= allowed.high and allowed.low <= 1 / low
                ):
                    return True
    return False
