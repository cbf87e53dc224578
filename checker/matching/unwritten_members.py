"""The working of a capacitance from its members, of which some are not on the page."""

from __future__ import annotations

from collections.abc import Set

from checker.exact import Fraction
from checker.matching.circuit import Circuit, Key
from checker.matching.context import Context, SideResult, Subject, of_key
from checker.matching.forms import without_unit
from checker.matching.implied import scales_of
from checker.matching.intervals import Interval, could_stand_for, exactly
from checker.matching.laws import laws
from checker.matching.numeric_side import at_corners
from checker.matching.unrounded import structure_as_values
from checker.matching.values import OfNumber
from checker.notation.tree import Expression, Number, numbers


def from_unwritten(
    side: SideResult, expression: Expression, subject: Subject, trailing: tuple[Fraction, ...],
    context: Context,
) -> Interval | None:  # fmt: skip
    """What the working of a capacitance may stand for whose numbers are those of the members of
    its group, of which some stand nowhere else and may be rounded to tens: 170 µF for 168 µF."""
    key, working = subject.key, context.working
    right = working.right(key, 1)
    if key.kind != "C" or side.before is not None or right is None:
        return None
    ones = structure_as_values(expression, "C")
    wide: dict[Number, Interval] = {}  # every number as a capacitance
    plain: dict[Number, Interval] = {}
    for literal in numbers(expression):
        number, scales = without_unit(literal), scales_of(literal, "C", context)
        if isinstance(number, Number) and (number.value != 1 or number in ones):
            if not scales:
                return None  # it is of another kind
            wide[number] = could_stand_for(number).scaled(scales[0])
            plain[number] = exactly(number.value * scales[0])
    for law in laws(working.circuit, key, frozenset(working.circuit.groups)):
        if law.form == "product" or len(law.operands) != len(wide):
            continue
        members = [working.right(operand, 1) for operand, _power in law.operands]
        known = sorted(member for member in members if member is not None)
        pairs = list(zip(known, sorted(wide, key=lambda n: wide[n]), strict=False))
        if len(known) == len(wide) and all(m.meets(wide[n]) for m, n in pairs):
            own = own_capacitances(working.circuit, key)
            loose = {n for member, n in pairs if plain[n] != member and plain[n].low not in own}
            values = at_corners(expression, subject, context.habit, _loose_only(loose), trailing)
            return next((v for v in of_key(values, subject) if v.meets(right)), None)
    return None


def _loose_only(loose: Set[Number]) -> OfNumber:
    """These numbers as what they may be rounded or cut off from, perhaps to tens."""
    return lambda n: could_stand_for(n) if n in loose else exactly(n.value)


def own_capacitances(circuit: Circuit, key: Key) -> Set[Fraction]:
    """The given capacitances from which a quantity is worked out: of an element its own and those
    beside it, for the capacitance of a group those of its members."""
    home = circuit.parts(key.group) if key.kind == "C" else circuit.holder(key.group)
    members = (key.group, *(home.members if home is not None else ()))
    keys = (Key("C", member) for member in members if circuit.is_element(member))
    return {value for its in keys if (value := circuit.value(its)) is not None}
