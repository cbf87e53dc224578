"""What the numbers written in an expression may have been rounded from."""

from __future__ import annotations

from collections.abc import Set
from itertools import combinations

from checker.exact import Fraction, rational
from checker.matching.circuit import Key, Kind
from checker.matching.context import Context
from checker.matching.forms import count_terms, is_numeric, is_structure, is_worked
from checker.matching.habit import Habit
from checker.matching.intervals import (
    Interval,
    could_stand_for,
    exactly,
    rough,
    rounded,
    worked_with,
)
from checker.matching.unrounded import (
    ANY,
    Kinds,
    as_obtained,
    is_given,
    is_written,
    kinds_of,
    may_be_another,
    structure_as_values,
    values_of,
)
from checker.matching.values import OfNumber, bare_value
from checker.matching.writing import is_slip_of_pen
from checker.notation.tree import Expression, Number, every_part


def loose_numbers(
    context: Context, expression: Expression, kind: Kind, givens: bool = False, group: int = 0
) -> OfNumber:
    """Numbers inside an expression as what they may have been rounded from.  A whole number is
    taken as exact if it has one figure or if it is the exact value of something; with ``givens``
    that too may be the rounded value of something else, unless it is the supply voltage or a given
    capacitance of the ``group`` that the expression is about, all of them where it has as many
    terms as elements.  ``kind``: of what it is for."""
    after_working = is_numeric(context.before)
    kinds, ones = kinds_of(expression, kind), structure_as_values(expression, kind)
    about = Key(kind, group) if group else None
    own, wrong = _own(context, group, kind != "C"), _wrong_numbers(context) - context.habit.exact
    all_given = kind == "C" and count_terms(expression) == group.bit_count() > 1

    def is_exact(number: Number, allowed: Interval) -> bool:
        if number.value not in context.habit.exact or not _has_its_kind(number, kinds, context):
            return False
        if _shows_rounding(number) and not is_given(number, kinds, context):
            return False
        if not givens:
            return True
        if _is_own(number, kinds, own):
            its = _only_own(number, kinds, own)
            return all_given or not may_be_another(number, allowed, its, context, about)
        return not (after_working or _has_twin(number, allowed, context.habit))

    def of_number(number: Number) -> Interval:
        allowed = could_stand_for(number)
        if number in ones and not _is_own(number, kinds, own):
            return allowed
        if kind == "U" and ("C", number.value) in own and not is_written(number, kinds, context):
            return exactly(number.value)  # in ½ · 8 · 1.11 the 8 is no charge of 8.88
        formula = is_structure(number) and (kind == "U" or number.value != _HALVES)
        if formula or _is_miscopied(number, context) or number.value in wrong:
            return exactly(number.value)
        if is_exact(number, allowed):
            return as_obtained(number, allowed, kinds, context)
        if number.value in context.habit.exact and len(number.digits.lstrip("0.")) == 1:
            return Interval(number.value * Fraction(9, 10), number.value * Fraction(11, 10))
        its = worked_with(number, context.habit.coarse and not is_on_page(number, context))
        its = _as_on_page(number, its, kinds, context)
        if number.value + number.last_place in context.habit.exact:
            return rounded(number).common(its) or its  # that one would have been written as it is
        return its

    return of_number


_HALVES = 2  # in ½CV² or Q²/2C; elsewhere a 2 is a value
_Own = Set[tuple[Kind, Fraction]]


def _own(context: Context, group: int, beside: bool = False) -> _Own:
    """The given capacitances of a group's elements, and of those ``beside`` it, and the supply
    voltage, as bare numbers in the units of the page."""
    circuit, scales = context.working.circuit, context.habit.scales
    holder = circuit.holder(group) if beside else None
    members = holder.members if holder is not None else ()
    mask = group | sum(m for m in members if circuit.is_element(m) and not m & group)
    keys = [Key("C", 1 << at) for at in range(len(circuit.names)) if mask >> at & 1]
    return {
        (key.kind, value / scale)
        for key in (*keys, Key("V", circuit.total)) for scale in scales[key.kind]
        if circuit.is_given(key) and (value := circuit.value(key)) is not None
    }  # fmt: skip


def _wrong_numbers(context: Context) -> frozenset[Fraction]:
    """The wrong values of a page that it has just so, as bare numbers."""
    scales = context.habit.scales
    return frozenset(
        its.low / scales[key.kind][0]
        for key, values in context.working.wrong.items() for its in values if its.low == its.high
    )  # fmt: skip


def _is_own(number: Number, kinds: Kinds, own: _Own) -> bool:
    """Whether a number is one of a group's ``own`` values, wherever it stands: in
    1/2 · 1.1 µF · (1.1 V)² it is not."""
    if number in kinds:
        its = kinds[number]
        enough = any if isinstance(its, frozenset) else all
        return enough((kind, number.value) in own for kind in its)
    return any(value == number.value for _kind, value in own)


def _only_own(number: Number, kinds: Kinds, own: _Own) -> Kinds:
    """The kinds with those of a number of which it is one of a group's ``own`` values, where it is
    of one of several: what is the supply voltage in 8.7 × 15 is no capacitance."""
    its = kinds.get(number)
    if not isinstance(its, frozenset):
        return kinds
    return {**kinds, number: frozenset(kind for kind in its if (kind, number.value) in own)}


def _as_on_page(number: Number, its: Interval, kinds: Kinds, context: Context) -> Interval:
    """What a number may stand for, without what those values are not that the page has so: 114 is
    113.9 where 230 × 10.2/20.6 is said to be 114."""
    working = context.working
    found: Interval | None = None
    for key in working.written:
        right = working.right(key) if key.kind in kinds.get(number, ANY) else None
        if right is None:
            continue
        for scale in context.habit.scales[key.kind][:2]:
            value = right.scaled(1 / scale)
            common = value.common(its)
            if common is not None and value.low <= number.value <= value.high:
                found = found.hull(common) if found else common
    return found or its


def _has_its_kind(number: Number, kinds: Kinds, context: Context) -> bool:
    """Whether an exact value is one of a kind that the number may be of."""
    return number not in kinds or any(values_of(number, kinds, context))


def _shows_rounding(number: Number) -> bool:
    """Whether a number is written to a place that its value does not need: 250.0."""
    return "." in number.digits and number.digits.endswith("0")


def loose_givens(usual: OfNumber, expression: Expression, context: Context, key: Key) -> OfNumber:
    """As ``usual``, but that a number which is a given value may also be the rounded value
    of something else: 1.8 where C1 = 1.8 nF and the whole is 1.82 nF.  Not in what is about that
    very element, or about the capacitance of a group that it is part of; nor the supply voltage."""
    its_own = key.kind == "C" or context.working.circuit.is_element(key.group)
    own = _own(context, key.group if its_own else 0)
    kinds = kinds_of(expression, key.kind)

    def of_number(number: Number) -> Interval:
        allowed = could_stand_for(number)
        is_given = number.value in context.habit.givens and not _is_own(number, kinds, own)
        is_another = is_given and may_be_another(number, allowed, kinds, context, key)
        return allowed if is_another else usual(number)

    return of_number


_LARGEST = 10**30  # misread powers of ten are too large for a float


def _has_twin(number: Number, allowed: Interval, habit: Habit) -> bool:
    """Whether a number that is one exact value is another one rounded: 0.15 for 0.1473."""
    if (number.whole and len(number.figures) < 2) or number.value > _LARGEST:
        return False
    near, own = rough(worked_with(number) if number.whole else allowed), float(number.value)
    return any(near.low <= value <= near.high and value != own for value in habit.roughly_exact)


def loose_tens(context: Context) -> OfNumber:
    """Numbers that are no exact values as what they may have been rounded from, 250 from 245."""

    def of_number(number: Number) -> Interval:
        if number.value in context.habit.exact or is_structure(number):
            return exactly(number.value)
        return could_stand_for(number)

    return of_number


def _is_miscopied(number: Number, context: Context) -> bool:
    """Whether a number stands for no value of the page but is a given one with one digit changed
    or two exchanged: 4.3 where 4.2 is given is no rounding of anything."""
    habit = context.habit
    if number not in habit.miscopied:
        habit.miscopied[number] = _looks_miscopied(number, habit) and not (
            len(number.figures) > 2 and _is_product(number, context)
        )
    if not habit.miscopied[number] or _is_worked_out_before(number, context):
        return False
    return not is_on_page(number, context)


def is_on_page(number: Number, context: Context) -> bool:
    """Whether a number stands for a value that the page has written."""
    working = context.working
    wrong = [(key, value) for key, its in working.wrong.items() for value in its]
    return any(
        value.scaled(1 / scale).meets(could_stand_for(number))
        for key, value in (*working.written.items(), *wrong)
        for scale in context.habit.scales[key.kind][:2]
    )


def _is_worked_out_before(number: Number, context: Context) -> bool:
    """Whether a number is what part of the side before comes to: 15 after 8.35 · 1.8/10.15."""
    if context.before is None or not is_worked(context.before):
        return False

    def of_number(its: Number) -> Interval:
        return exactly(its.value) if its.value in context.habit.givens else could_stand_for(its)

    allowed = could_stand_for(number)
    worked = (part for part in every_part(context.before) if is_worked(part))
    values = (bare_value(part, of_number) for part in worked)
    return any(value is not None and value.meets(allowed) for value in values)


def _is_product(number: Number, context: Context) -> bool:
    """Whether a number is two capacitances multiplied, as in 10.9 × 9.4/20.3 = 102/20.3."""
    circuit, scale = context.working.circuit, context.habit.scales["C"][0]
    allowed = could_stand_for(number).scaled(scale * scale)
    for home in circuit.homes.values():
        if home.is_series:
            its = [v for m in home.members if (v := circuit.value(Key("C", m))) is not None]
            if any(allowed.low <= a * b <= allowed.high for a, b in combinations(its, 2)):
                return True
    return False


def _looks_miscopied(number: Number, habit: Habit) -> bool:
    """The same, whatever the page has written."""
    digits = number.digits.replace(".", "")
    if (
        len(digits) < 2
        or number.last_place == 0
        or not any(
            _is_slip_of_pen(number, given) for given in habit.givens if given != number.value
        )
    ):
        return False
    allowed = could_stand_for(number)
    return not any(
        allowed.low <= value <= allowed.high or allowed.low * value <= 1 <= allowed.high * value
        for value in habit.exact
    )


def _is_slip_of_pen(number: Number, given: Fraction) -> bool:
    digits = number.digits.rstrip("0").rstrip(".") if "." in number.digits else number.digits
    decimals = len(digits.partition(".")[2])
    power = number.value / rational(number.digits) if rational(number.digits) else Fraction(1)
    meant = given / power * 10**decimals
    if meant.denominator != 1 or (decimals and meant.numerator % 10 == 0):
        return False  # 12 is not copied as 12.7
    return is_slip_of_pen(digits.replace(".", ""), str(meant.numerator).rjust(decimals, "0"))
