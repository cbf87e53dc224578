"""Values that come by way of others which are not on the page."""

from __future__ import annotations

from collections.abc import Sequence

from checker.exact import Fraction
from checker.matching.circuit import Key
from checker.matching.context import Context, SideResult
from checker.matching.forms import without_unit
from checker.matching.implied import scales_of
from checker.matching.intervals import Interval, could_stand_for, exactly, rough
from checker.matching.right_values import RightValues
from checker.matching.side_before import nearly
from checker.notation.tree import Expression, Number, numbers

_UNSEEN = 3  # values in a row that are not on the page
# The same, and by how much what comes of them may be off.
_REACH = ((_UNSEEN, Fraction(2)), (_UNSEEN + 1, Fraction(1, 10)))
_FAR = Fraction(3)  # times the exact value
_LEFT_OVER = Fraction(3, 2)  # the same of what is left over, which roundings may shift
_SHIFT = Fraction(3, 100)  # by how much such a value may be off that is worked with


def result_of_unseen(allowed: Sequence[Interval], key: Key, context: Context) -> Interval | None:
    """Which of the ``allowed`` values a result may stand for that is not written before and comes
    by way of values that are not on the page."""
    working = context.working
    exact = working.circuit.value(key)
    if exact is None or key in working.written or working.circuit.is_given(key):
        return None
    for steps, shift in _REACH:
        near = Interval(exact * (1 - shift), exact * (1 + shift))
        value = _unseen(working, key, steps)
        value = value.common(near) if value else None
        if value and (its := next((its for its in allowed if its.meets(value)), None)):
            return its
    return None


def working_of_unseen(
    side: SideResult, expression: Expression, key: Key, context: Context
) -> Interval | None:
    """What a working comes to that has one number beside given values, and that by way of values
    which are not on the page: ½(68)(0.54760²), where 0.54770 V is exact."""
    working = context.working
    circuit = working.circuit
    seen = {(k.kind, circuit.value(k)) for k in working.written}
    for law in working.laws_for(key) if key.kind != "C" else ():
        operands = [operand for operand, _power in law.operands]
        unknown = [operand for operand in operands if not circuit.is_given(operand)]
        exact = circuit.value(unknown[0]) if len(unknown) == 1 else None
        if exact is None or (unknown[0].kind, exact) in seen:
            continue
        unseen = _unseen(working, unknown[0])
        near = Interval(exact * (1 - _SHIFT), exact * (1 + _SHIFT))
        allowed = unseen.common(near) if unseen is not None else None
        for literal in numbers(expression) if allowed else ():
            number = without_unit(literal)
            for scale in scales_of(literal, unknown[0].kind, context):
                if not isinstance(number, Number) or number.value * scale == exact:
                    continue
                if len(number.figures) < 2 and number.value * scale == circuit.supply:
                    continue  # 5 is no 4.67 V where 5 V are supplied
                if allowed and could_stand_for(number).scaled(scale).meets(allowed):
                    its = exactly(number.value * scale)
                    right = [working.right(o) if o != unknown[0] else its for o in operands]
                    value = law.work_out([r for r in right if r])
                    if value is not None and any(value.meets(v) for v in side.values):
                        return value
    return None


def _unseen(
    working: RightValues, key: Key, steps: int = _UNSEEN, above: frozenset[Key] = frozenset()
) -> Interval | None:
    """What a quantity may come to, in floating point, from everything that is right by way of as
    many values that are not on the page; none of those ``above``, which are worked out of it."""
    exact = working.circuit.value(key)
    if exact is None:
        return None
    circuit = working.circuit
    if above and (key in working.written or circuit.is_given(key) or circuit.is_of_supply(key)):
        known = working.right(key)
        if known is None:
            return None
        is_fraction = key in working.written and known.low == known.high
        return rough(nearly(known) if is_fraction else known)
    found = rough(exactly(exact))
    above = above | {key}
    for law in working.laws_for(key) if steps else ():
        operands = [operand for operand, _power in law.operands]
        if above & set(operands) or (key.kind == "C" and law.form == "product"):
            continue
        if key.kind != "U" and any(o.kind == "U" and o not in working.written for o in operands):
            continue  # nobody goes by way of an energy
        values = [_unseen(working, operand, steps - 1, above) for operand in operands]
        value = law.work_out([v for v in values if v]) if all(values) else None
        far = _LEFT_OVER if law.subtracts else _FAR
        near = value and value.common(Interval(exact / far, exact * far))
        found = found.hull(near) if near else found
    return found
