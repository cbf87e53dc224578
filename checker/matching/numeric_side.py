"""One side of a chain that is numbers only: does it follow for a quantity?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product
from math import inf

from checker.matching.circuit import Key, Kind
from checker.matching.context import Context, SideResult, Status, Subject, of_key
from checker.matching.forms import is_fraction, is_numeric, is_result, is_structure, without_unit
from checker.matching.intervals import Interval, could_stand_for, cut_off, exactly, rough, rounded
from checker.matching.values import KIND_OF_UNIT, Habit, OfNumber, as_written, bare_value, si_values
from checker.matching.working import Working
from checker.matching.writing import is_slip_of_pen
from checker.notation.tree import Expression, Measured, Number, Side, Sum, numbers, parts
from checker.rational import Fraction

_DRIFT = Fraction(1, 4)  # by how much rounding may shift a value that is a small difference
_UNSEEN = Fraction(1, 100)  # by how much roundings not on the page may shift a wrong value
_MOST_CORNERS = 4  # rounded numbers in an expression that are varied one by one
CUT_OFF = "cut off rather than rounded"


def trailing_units(sides: Sequence[Side], subject: Subject) -> tuple[Fraction, ...]:
    for side in reversed(sides):
        expression = side.expression
        if isinstance(expression, Measured) and (
            KIND_OF_UNIT.get(expression.unit.dimension) == subject.key.kind
        ):
            factor = expression.unit.factor
            return (1 / factor if subject.inverse else factor,)
    return ()


def judge_numeric(
    side: Side,
    expression: Expression,
    subject: Subject,
    trailing: tuple[Fraction, ...],
    context: Context,
) -> SideResult:
    working, habit, key = context.working, context.habit, subject.key
    before, before_status = context.before, context.before_status

    def values(of_number=as_written) -> tuple[Interval, ...]:  # type: ignore[no-untyped-def]
        return of_key(si_values(expression, subject.dims, habit, of_number, trailing), subject)

    exact = values()
    made = SideResult(side, "wrong", exact, None, before, before_status if before else None)
    if is_result(expression):
        ways = ((rounded, None), (cut_off, CUT_OFF))
        # A result written after its working comes out of that, not by some other route.
        worked_out = before is not None and is_numeric(before) and not is_result(before)
        follows = working.is_known if worked_out else working.follows
        for way, remark in ways:
            for allowed in values(way):
                support = follows(key, allowed)
                if support:
                    stands_for = None if support.hull in exact else allowed
                    return replace(
                        made, status="follows", hull=support.hull, remark=remark,
                        rounded=stands_for,
                    )  # fmt: skip
        equal = _equals_before(subject, trailing, context, values(could_stand_for))
        if equal is not None:
            status: Status = "follows" if before_status == "follows" else "carried"
            return replace(made, status=status, hull=equal)
        for way, remark in ways if not context.quick else ():
            for allowed in values(way):
                support = working.is_carried(key, allowed)
                if support:
                    return replace(made, status="carried", hull=support.hull, remark=remark)
        if working.wrong and not context.quick:
            wide = [_widened(allowed) for allowed in values(rounded)]
            if before_status != "follows":
                equal = _equals_before(subject, trailing, context, wide)
            for allowed in wide if equal is None else ():
                if support := working.is_carried(key, allowed):
                    equal = support.hull
                    break
            if equal is not None:
                return replace(made, status="carried", hull=equal)
        return made
    for allowed in _likeliest_first(exact, working.circuit.value(key)):
        if support := working.follows(key, allowed):
            return replace(made, status="follows", hull=support.hull)
    if context.quick:
        return made
    loose: tuple[Interval, ...] = ()
    for givens in (False, True):
        way = loose_numbers(context, givens)
        loose = of_key(_at_corners(expression, subject, habit, way, trailing), subject)
        for allowed in loose:
            if support := working.follows(key, allowed):
                return replace(made, status="follows", hull=support.hull)
    if before is not None:
        equal = _equals_before(subject, trailing, context, loose)
        if equal is not None:
            return replace(
                made, status="follows" if before_status == "follows" else "carried", hull=equal
            )
    for allowed in loose:
        if any(allowed.meets(wrong) for wrong in working.wrong.get(key, ())):
            return replace(made, status="carried", hull=allowed)  # the same slip, said again
    if working.wrong and (is_fraction(expression) or _uses_wrong(expression, context)):
        for allowed in (*exact, *loose):
            if support := working.is_carried(key, allowed):
                return replace(made, status="carried", hull=support.hull)
        for allowed in exact:
            if support := working.is_carried(key, _widened(allowed)):
                return replace(made, status="carried", hull=support.hull)
    implied = _with_operands(expression, key, context)
    if implied is not working:
        for allowed in (*exact, *loose):
            if support := implied.follows(key, allowed):
                return replace(made, status="follows", hull=support.hull)
            if support := implied.is_carried(key, allowed):
                return replace(made, status="carried", hull=support.hull)
    return made


def _likeliest_first(values: tuple[Interval, ...], right: Fraction | None) -> list[Interval]:
    """Readings of an expression in several units, those nearest in size to the right value
    first: rounding may have left that so open that a wrong unit would do."""
    if right is None or right <= 0:
        return list(values)
    return sorted(values, key=lambda v: max(v.high / right, right / v.high) if v.high > 0 else inf)


def _at_corners(
    expression: Expression, subject: Subject, habit: Habit, of_number: OfNumber,
    trailing: tuple[Fraction, ...],
) -> list[Interval]:  # fmt: skip
    """The values of an expression whose numbers are intervals, each number the same wherever it
    stands: the laws are monotone in every number, so the extremes are at the ends."""
    its = {n: of_number(n) for m in numbers(expression) if isinstance(n := without_unit(m), Number)}
    open_numbers = [n for n, value in its.items() if value.low != value.high]
    if not open_numbers or len(open_numbers) > _MOST_CORNERS:
        return si_values(expression, subject.dims, habit, of_number, trailing)
    hulls: list[Interval] = []
    for ends in product((0, 1), repeat=len(open_numbers)):
        end = {n: exactly(its[n][e]) for n, e in zip(open_numbers, ends, strict=True)}
        values = si_values(expression, subject.dims, habit, _with_ends(its, end), trailing)
        # Readings that agree at one end count once there, so the lists may differ in length.
        hulls = [a.hull(b) for a, b in zip(hulls or values, values, strict=False)]
    return hulls


def _with_ends(its: dict[Number, Interval], end: dict[Number, Interval]) -> OfNumber:
    return lambda number: end.get(number, its[number])


def _with_operands(expression: Expression, key: Key, context: Context) -> Working:
    """The working with those numbers of an expression taken as written which follow as values of
    what the quantity is worked out from: 0.71 V in 8.9 × 0.71, for 12 V - 11.29 V."""
    working = context.working
    circuit = working.circuit
    adds = isinstance(expression, Sum)
    operands = {
        k for law in working.laws_for(key) if (law.form == "sum") is adds
        for k, _power in law.operands if k != key and not circuit.is_given(k)
    }  # fmt: skip
    for literal in numbers(expression):
        number = literal.amount if isinstance(literal, Measured) else literal
        if not isinstance(number, Number) or len(number.digits) < 2:
            continue
        for operand in operands:
            if isinstance(literal, Measured):
                if KIND_OF_UNIT.get(literal.unit.dimension) != operand.kind:
                    continue
                scale = literal.unit.factor
            else:
                scale = context.habit.scales[operand.kind][0]
            right = context.working.right(operand)
            allowed = could_stand_for(number).scaled(scale)
            exact = circuit.value(operand)
            if right is None or exact is None or right.meets(allowed):
                continue
            near = allowed.meets(Interval(exact * (1 - _DRIFT), exact * (1 + _DRIFT)))
            value = exactly(number.value * scale)
            if near and (support := context.working.follows(operand, allowed)):
                working = working.with_right(operand, value.hull(support.hull))
            elif support := context.working.is_carried(operand, allowed):
                working = working.with_wrong(operand, value.hull(support.hull))
    return working


def _equals_before(
    subject: Subject,
    trailing: tuple[Fraction, ...],
    context: Context,
    allowed: Sequence[Interval],
) -> Interval | None:
    """The value of the numeric side before, where it is among the allowed ones.

    The side before counts only in the units in which it was found to follow.
    """
    before, hull = context.before, context.before_hull
    if before is None or not is_numeric(before):
        return None
    ways = (
        (as_written, could_stand_for)
        if is_result(before)
        else (as_written, loose_numbers(context), _loose_tens(context))
    )
    for of_number in ways:
        for value in si_values(before, subject.dims, context.habit, of_number, trailing):
            for its in of_key([value], subject):
                if hull is not None and not _same_scale(its, hull):
                    continue
                for other in allowed:
                    if common := its.common(other):
                        return common
    return None


def _same_scale(one: Interval, other: Interval) -> bool:
    return one.low < 30 * other.high and other.low < 30 * one.high


def loose_numbers(context: Context, givens: bool = False):  # type: ignore[no-untyped-def]
    """Numbers inside an expression as what they may have been rounded from.  A whole number is
    taken as exact if it has one figure or if it is the exact value of something; with ``givens``
    that too may be the rounded value of something else."""
    after_working = is_numeric(context.before)

    def is_exact(number: Number, allowed: Interval) -> bool:
        if number.value not in context.habit.exact:
            return False
        return not givens or not (after_working or _has_twin(number, allowed, context.habit))

    def of_number(number: Number) -> Interval:
        allowed = could_stand_for(number)
        if is_exact(number, allowed) or is_structure(number) or _is_miscopied(number, context):
            return exactly(number.value)
        if number.value + number.last_place in context.habit.exact:
            allowed = rounded(number)  # that one would have been written as it is
        if not number.whole or number.has_power:
            return allowed
        if len(number.digits) == 3:  # 260 among operands is 26 × 10 rather than 258 rounded
            half = min(number.last_place, Fraction(1)) / 2
            return Interval(number.value - half, number.value + half)
        return allowed

    return of_number


def _has_twin(number: Number, allowed: Interval, habit: Habit) -> bool:
    """Whether a decimal that is one exact value is another one rounded: 0.15 for 0.1473."""
    if number.whole:
        return False
    near, own = rough(allowed), float(number.value)
    return any(near.low <= value <= near.high and value != own for value in habit.roughly_exact)


def _loose_tens(context: Context) -> OfNumber:
    """Numbers that are no exact values as what they may have been rounded from, 250 from 245."""

    def of_number(number: Number) -> Interval:
        if number.value in context.habit.exact or is_structure(number):
            return exactly(number.value)
        return could_stand_for(number)

    return of_number


def _is_miscopied(number: Number, context: Context) -> bool:
    """Whether a number stands for no value of the page but is a given one with one digit changed
    or two exchanged: 4.3 where 4.2 is given is no rounding of anything."""
    habit, working = context.habit, context.working
    digits = number.digits.replace(".", "")
    if len(digits) < 2 or number.last_place == 0 or not any(
        _is_slip_of_pen(number, given) for given in habit.givens if given != number.value
    ):
        return False
    allowed = rough(could_stand_for(number))
    if any(allowed.low <= value <= allowed.high for value in habit.roughly_exact):
        return False
    seen = [(k, v) for k, its in working.wrong.items() for v in its]
    return not any(
        value.scaled(1 / scale).meets(could_stand_for(number))
        for key, value in (*working.written.items(), *seen)
        for scale in habit.scales[key.kind][:2]
    )


def _is_slip_of_pen(number: Number, given: Fraction) -> bool:
    decimals = len(number.digits.partition(".")[2])
    power = number.value / Fraction(number.digits) if Fraction(number.digits) else Fraction(1)
    meant = given / power * 10**decimals
    if meant.denominator != 1:
        return False
    return is_slip_of_pen(number.digits.replace(".", ""), str(meant.numerator).rjust(decimals, "0"))


def _widened(allowed: Interval) -> Interval:
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


def _uses_wrong(expression: Expression, context: Context) -> bool:
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
