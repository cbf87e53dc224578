"""Whether an expression has the numbers that a quantity is worked out from."""

from __future__ import annotations

from checker.exact import Fraction
from checker.matching.circuit import Key, Kind
from checker.matching.context import Context, Subject
from checker.matching.forms import count_terms, without_unit
from checker.matching.intervals import Interval, could_stand_for
from checker.matching.named_members import may_be_members
from checker.notation.tree import Expression, Number, Quotient, Sum, numbers

_OFF = Fraction(3, 100)  # by how much an unwritten value may be


def has_terms_for(expression: Expression, subject: Subject, context: Context) -> bool:
    """Whether rounded numbers may make a quantity: nobody works out a given capacitance, the sum
    for another has no more terms than elements, and in parallel nothing is divided by a sum; nor
    is a charge or a voltage a sum of others that it is not the whole of."""
    circuit, key = context.working.circuit, subject.key
    if key.kind != "C":
        bare = without_unit(expression)
        adds_up = isinstance(bare, Sum) and all(sign > 0 for sign, _term in bare.terms)
        if key.kind == "V" and _is_inverted(bare, context):
            return False
        return not adds_up or key.kind == "U" or circuit.is_whole(key)
    elements, home = circuit.elements(key.group), circuit.parts(key.group)
    if home is None or (not home.is_series and not subject.inverse and _is_over_sum(expression)):
        return False
    return count_terms(expression) <= len(elements) and may_be_members(expression, key, context)


def _is_inverted(bare: Expression, context: Context) -> bool:
    """Whether a charge stands below and a capacitance above, 9/8.82: then nothing in it is a
    rounded value of Q/C."""
    if not isinstance(bare, Quotient):
        return False
    over, under = bare.over, bare.under
    return (
        _is_a("Q", under, context) and not _is_a("C", under, context, _OFF)
        and _is_a("C", over, context) and not _is_a("Q", over, context, _OFF)
    )  # fmt: skip


def _is_over_sum(expression: Expression) -> bool:
    """Whether an expression is divided by a sum, as 2 × 3/(2 + 3) is."""
    bare = without_unit(expression)
    return isinstance(bare, Quotient) and isinstance(without_unit(bare.under), Sum)


def divides_charge(expression: Expression, key: Key, context: Context) -> bool:
    """Whether a fraction for a voltage has a charge of the page above and a capacitance below:
    816/810 is Q/C, and no value that happens to be a fraction."""
    two = [without_unit(number) for number in numbers(expression)]
    if key.kind != "V" or len(two) < 2 or not _is_a("Q", two[0], context):
        return False
    return _is_a("C", two[1], context) or _is_written_charge(two[0], context)


def _is_written_charge(number: Expression, context: Context) -> bool:
    """Whether a number stands on the page as a charge."""
    working, scale = context.working, context.habit.scales["Q"][0]
    return isinstance(number, Number) and any(
        working.has_written(key, number.value * scale) for key in working.written if key.kind == "Q"
    )


def _is_a(kind: Kind, number: Expression, context: Context, off: Fraction = Fraction(0)) -> bool:
    """Whether a number may be a value of a ``kind`` of quantity, perhaps by so much ``off``."""
    if not isinstance(number, Number):
        return False
    allowed = could_stand_for(number).scaled(context.habit.scales[kind][0])
    wide = Interval(allowed.low * (1 - off), allowed.high * (1 + off))
    working = context.working
    return any(
        value.meets(wide)
        for group in working.circuit.groups
        if (value := working.right(Key(kind, group))) is not None
    )
