"""Slips in working a right side out: arithmetic, mixed prefixes, rounding too early."""

from __future__ import annotations

from collections.abc import Iterator

from checker.exact import Fraction
from checker.matching.circuit import KINDS, Circuit, Key
from checker.matching.dimensions import KIND_DIMS
from checker.matching.forms import is_numeric, is_result
from checker.matching.intervals import Interval, could_stand_for, exactly, power
from checker.matching.slip_case import Case, is_written, number_of, values_of
from checker.matching.values import bare_value
from checker.notation.tree import Expression, Measured, Number, numbers, parts


def wrong_steps(case: Case) -> Iterator[tuple[str, float, Interval | None]]:
    """The side before is right, so this one was worked out of it wrongly."""
    context, subject = case.context, case.subject
    if not is_numeric(case.expression):
        return
    source = case.side.before if is_result(case.expression) else case.expression
    if source is not None and is_numeric(source) and not is_result(source):
        units = {literal.unit for literal in numbers(source) if isinstance(literal, Measured)}
        factors = {unit.factor for unit in units}
        mixed = len(units) > len({unit.dimension for unit in units}) and _are_values(source, case)
        mixed = mixed or _bare_of_other_prefix(source, case)
        if mixed:
            bare = bare_value(source)
            for scale in (*factors, *context.habit.scales[subject.key.kind]):
                if bare is not None:
                    value = power(bare.scaled(1 / scale if subject.inverse else scale),
                                  -1 if subject.inverse else 1)  # fmt: skip
                    if value is not None and any(value.meets(a) for a in case.allowed):
                        yield "prefixes-mixed", 1.0, value
    if case.after_right:
        yield "arithmetic", 0.6, None
        yield from _rounded_early(case)
    elif case.operands and is_result(case.expression):
        yield "arithmetic", 0.25, None


def _are_values(source: Expression, case: Case) -> bool:
    """Whether every number with a unit is, as it stands, a value of the page: 2.7 pF where 2.7 µF
    is meant has a wrong prefix, or was misread."""
    circuit, known = case.context.working.circuit, case.context.working.known
    keys = [Key(kind, group) for kind in KINDS for group in (*circuit.groups, *known)]
    for literal in numbers(source):
        number = number_of(literal)
        if not isinstance(literal, Measured) or not isinstance(number, Number):
            continue
        operand = literal, could_stand_for(number)
        if not any(is_written(operand, k, v, case) for k in keys for v in values_of(k, case)):
            return False
    return True


def _bare_of_other_prefix(source: Expression, case: Case) -> bool:
    """Whether bare numbers are given values in different prefixes (4 µF and 500 nF)."""
    circuit: Circuit = case.context.working.circuit
    found: set[Fraction] = set()
    for literal in numbers(source):
        if isinstance(literal, Number):
            for scale in case.context.habit.scales["C"][:-1]:
                if any(
                    circuit.value(Key("C", 1 << place)) == literal.value * scale
                    for place in range(len(circuit.names))
                ):
                    found.add(scale)
    return len(found) > 1


def _rounded_early(case: Case) -> Iterator[tuple[str, float, Interval | None]]:
    """The result of the side before with its numbers, or their reciprocals, rounded first."""
    source = case.side.before
    if source is None or not is_numeric(source) or is_result(source):
        return
    for figures in (1, 2, 3):
        value = _with_rounded_parts(source, figures)
        if value is None:
            continue
        for scale in case.context.habit.of(KIND_DIMS[case.subject.key.kind]):
            its = value.scaled(1 / scale if case.subject.inverse else scale)
            turned = power(its, -1 if case.subject.inverse else 1)
            if turned is not None and any(turned.meets(allowed) for allowed in case.allowed):
                yield "rounded-too-early", 0.8, turned


def _with_rounded_parts(expression: Expression, figures: int) -> Interval | None:
    from checker.matching.values import combined

    inside = parts(expression)
    if not inside or isinstance(expression, Measured):
        return bare_value(expression)
    values = []
    for part in inside:
        value = _with_rounded_parts(part, figures)
        if value is None:
            return None
        if not is_result(part) and value.low == value.high and value.low > 0:
            value = exactly(round_to(value.low, figures))
        values.append(value)
    return combined(expression, values)


def round_to(value: Fraction, figures: int) -> Fraction:
    """A positive value rounded half up to significant figures."""
    exponent = len(str(value.numerator)) - len(str(value.denominator))
    while Fraction(10) ** exponent > value:
        exponent -= 1
    while Fraction(10) ** (exponent + 1) <= value:
        exponent += 1
    unit = Fraction(10) ** (exponent - figures + 1)
    return (value / unit + Fraction(1, 2)).__floor__() * unit
