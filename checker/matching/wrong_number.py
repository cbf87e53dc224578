"""Slips in writing a number: miscopied, its point, power of ten or unit wrong."""

from __future__ import annotations

from collections.abc import Iterator

from checker.exact import Fraction
from checker.matching.circuit import KINDS, Key
from checker.matching.dimensions import KIND_OF_UNIT
from checker.matching.forms import is_fraction, is_numeric, is_structure
from checker.matching.intervals import Interval, could_stand_for, exactly, power
from checker.matching.slip_case import Case, is_written, meant_values, number_of, values_of
from checker.matching.values import bare_value, si_values
from checker.matching.writing import differences
from checker.notation.tree import Measured, Number, numbers


def wrong_writing(case: Case) -> Iterator[tuple[str, float, Interval | None]]:
    expression = case.expression
    assert isinstance(expression, Number | Measured)
    key = case.subject.key
    circuit = case.context.working.circuit
    given = (key.kind == "C" and circuit.is_element(key.group)) or (
        key.kind == "V" and key.group == circuit.total
    )
    if isinstance(expression, Measured):
        scales: tuple[Fraction, ...] = (expression.unit.factor,)
        if KIND_OF_UNIT.get(expression.unit.dimension) != key.kind:
            return
    else:
        scales = case.context.habit.scales[key.kind][:2]
    for meant in meant_values(case):
        turned = power(meant, -1) if case.subject.inverse else meant
        if turned is None:
            continue
        for scale in scales:
            if case.subject.inverse:
                scale = 1 / scale
            for kind, fit in differences(expression, scale, turned):
                if kind == "given-miscopied" and not given:
                    kind, fit = "arithmetic", 0.8 if case.after_right else 0.3
                yield kind, fit, None
    if given:
        yield "given-miscopied", 0.5, None


def wrong_prefix(case: Case) -> Iterator[tuple[str, float, Interval | None]]:
    """A fraction that would be right with another prefix."""
    expression = case.expression
    if not isinstance(expression, Measured) or not is_fraction(expression):
        return
    for meant in meant_values(case):
        for exponent in (3, -3, 6, -6, 9, -9):
            scale = Fraction(10) ** exponent
            if any(value.scaled(scale).meets(meant) for value in case.allowed):
                yield "prefix", 1.0, None


def wrong_unit(case: Case) -> Iterator[tuple[str, float, Interval | None]]:
    expression, key = case.expression, case.subject.key
    if not isinstance(expression, Measured):
        return
    if KIND_OF_UNIT.get(expression.unit.dimension) == key.kind:
        return
    number = expression.amount
    value = bare_value(number)
    allowed = could_stand_for(number) if isinstance(number, Number) else value
    if allowed is None or value is None:
        return
    for meant in meant_values(case):
        for scale in (*case.context.habit.scales[key.kind], expression.unit.factor):
            if meant.scaled(1 / scale).meets(allowed):
                yield "unit-kind", 1.0, value.scaled(scale)
                return
    yield "unit-kind", 0.2, None


def wrong_operand(case: Case) -> Iterator[tuple[str, float, Interval | None]]:
    """One number in the expression changed: it follows with the number that was meant."""
    context = case.context
    working = context.working
    circuit = working.circuit
    if not is_numeric(case.expression):
        return
    groups = dict.fromkeys((*circuit.groups[: 2 * len(circuit.names)], *working.known))
    tried: set[tuple[Number, Fraction]] = set()
    for literal in numbers(case.expression):
        number = number_of(literal)
        if not isinstance(number, Number) or (is_structure(literal) and not number.has_power):
            continue
        known = _is_known(literal, number, case)
        for kind in KINDS:
            if isinstance(literal, Measured):
                if KIND_OF_UNIT.get(literal.unit.dimension) != kind:
                    continue
                scale = literal.unit.factor
            else:
                scale = context.habit.scales[kind][0]
            for key in (Key(kind, group) for group in groups):
                for meant in values_of(key, case):
                    kinds = tuple(differences(literal, scale, meant))
                    bare = meant.high / scale
                    if not kinds or (number, bare) in tried:
                        continue
                    tried.add((number, bare))
                    if not _follows_with(number, meant.scaled(1 / scale), case):
                        continue
                    if _is_other_prefix(number, key, case) and isinstance(literal, Number):
                        yield "prefixes-mixed", 1.0, None
                    for name, fit in kinds:
                        yield name, fit * (0.25 if known else 1.0), None


def _is_known(literal: Number | Measured, number: Number, case: Case) -> bool:
    """Whether a number is, as it stands, the value of a given element or the supply."""
    circuit = case.context.working.circuit
    keys = [Key("C", 1 << place) for place in range(len(circuit.names))]
    exact = exactly(number.value)
    return any(
        (value := circuit.value(key)) is not None
        and is_written((literal, exact), key, exactly(value), case)
        for key in (*keys, Key("V", circuit.total))
    )


def _is_other_prefix(number: Number, key: Key, case: Case) -> bool:
    """Whether a bare number is a given capacitance in the prefix it would have by itself."""
    circuit = case.context.working.circuit
    value = circuit.value(key)
    if key.kind != "C" or not circuit.is_element(key.group) or value is None:
        return False
    shift = value / number.value if number.value else Fraction(0)
    return shift in (Fraction(1, 10**n) for n in (12, 9, 6, 3)) and 1 <= number.value < 1000


def _follows_with(number: Number, meant: Interval, case: Case) -> bool:
    def of_number(other: Number) -> Interval:
        return meant if other == number else exactly(other.value)

    for value in si_values(case.expression, case.subject.dims, case.context.habit, of_number):
        turned = power(value, -1 if case.subject.inverse else 1)
        if turned is None:
            continue
        working = case.context.working
        if working.follows(case.subject.key, turned) or working.is_carried(
            case.subject.key, turned
        ):
            return True
    return False
