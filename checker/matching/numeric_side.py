"""One side of a chain that is numbers only: does it follow for a quantity?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import product
from math import inf

from checker.exact import Fraction
from checker.matching.circuit import Key
from checker.matching.context import Context, SideResult, Status, Subject, of_key
from checker.matching.dimensions import KIND_OF_UNIT
from checker.matching.fitting_terms import divides_charge, has_terms_for
from checker.matching.forms import (
    inverted,
    is_fraction,
    is_result,
    is_worked,
    ones_apart,
    takes_away,
    without_unit,
)
from checker.matching.from_wrong import uses_wrong, widened
from checker.matching.habit import Habit
from checker.matching.implied import judge_implied
from checker.matching.intervals import Interval, could_stand_for, cut_off, exactly, rounded
from checker.matching.loose_numbers import loose_numbers
from checker.matching.only_given import only_given
from checker.matching.side_before import as_worked_out, equals_before, nearly, wrong_again
from checker.matching.unrounded import in_fractions
from checker.matching.values import OfNumber, as_written, si_values, si_values_again
from checker.matching.working import STEPS, UNSEEN_STEPS, Working
from checker.notation.tree import Expression, Measured, Number, Side, numbers

LEAST_FIGURES = 2  # that anybody rounds to
_OPEN = 10  # times a value, up to which a difference whose roundings reach zero may stand for it
_MOST_CORNERS = 4  # rounded numbers in an expression that are varied one by one
CUT_OFF = "cut off rather than rounded"


def trailing_units(sides: Sequence[Side], subject: Subject) -> tuple[Fraction, ...]:
    """The unit, as a factor to SI, that a later side of the chain gives for all of them."""
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
        its = si_values_again(expression, subject.dims, habit, of_number, trailing)
        return of_key(its, subject)

    def in_page_habit(allowed: Interval) -> Interval:
        """What a result may stand for: who has cut off before may have cut off again."""
        if not context.cuts_off:
            return allowed
        return next((its for its in values(could_stand_for) if its.meets(allowed)), allowed)

    exact, right = values(), working.circuit.value(key) or Fraction(0)
    made = SideResult(side, "wrong", exact, None, before, before_status if before else None)
    if (is_result(expression) or is_fraction(expression)) and is_worked(before):
        its_values = values(rounded) if is_result(expression) else [nearly(v) for v in exact]
        if (again := wrong_again(subject, trailing, context, its_values)) is not None:
            return replace(made, status="carried", hull=again)
    if is_result(expression):
        ways, number = ((rounded, None), (cut_off, CUT_OFF)), without_unit(expression)
        # A result written after its working comes out of that, not by some other route.
        follows = working.before(key).is_known if is_worked(before) else working.follows_bare
        for way, remark in ways:
            for allowed in values(way):
                support = follows(key, allowed)
                if support and not _goes_on_from_wrong(key, allowed, context):
                    is_exact = support.hull in exact or exactly(right) in exact
                    stands_for = None if is_exact else in_page_habit(allowed)
                    hull = support.hull
                    if is_worked(before):  # 11.08 may be 11.089 cut off, though 11.076 is exact
                        any_way = next(v for v in values(could_stand_for) if v.meets(allowed))
                        hull = as_worked_out(hull, subject, trailing, context, any_way)
                    if remark and is_worked(before):  # 44/0.47 = 94 is 93.6, though 94.6 is exact
                        equal = equals_before(subject, trailing, context, values(rounded))
                        hull = hull.hull(equal) if equal else hull
                    return replace(
                        made, status="follows", hull=hull, remark=remark, rounded=stands_for,
                        span=allowed,
                    )  # fmt: skip
        equal = equals_before(subject, trailing, context, values(could_stand_for))
        if equal is not None:
            status: Status = "follows" if before_status == "follows" else "carried"
            near = next((its for its in values(rounded) if its.meets(equal)), None)
            stands_for = near and in_page_habit(near)
            return replace(made, status=status, hull=equal, rounded=stands_for)
        for way, remark in ways if not context.quick else ():
            for allowed in values(way):
                support = working.is_carried(key, allowed)
                if support:
                    return replace(made, status="carried", hull=support.hull, remark=remark)
        if working.wrong and not context.quick:
            wide = [widened(allowed) for allowed in values(rounded)]
            if before_status != "follows":
                equal = equals_before(subject, trailing, context, wide)
            if equal is not None:
                return replace(made, status="carried", hull=equal)
            if found := _carried_unseen(made, key, wide, working):
                return found
        if context.after_formula and not context.quick and isinstance(number, Number):
            figures = max(len(number.figures), LEAST_FIGURES)
            for way, remark in ways:
                for allowed in values(way):
                    if support := working.follows_unseen(key, allowed, figures):
                        return replace(made, status="follows", hull=support.hull, remark=remark)
        return made
    may_be_difference = takes_away(expression) or (
        is_fraction(expression) and not divides_charge(expression, key, context)
    )
    values_of = (working if may_be_difference else working.without_differences).before(key)
    # A fraction written after its working comes out of that, not by some other route.
    is_after = (
        is_fraction(expression) and inverted(expression) is None
        and is_worked(before) and before_status == "follows" and not context.quick
    )  # fmt: skip
    follows = values_of.is_known if is_after else values_of.follows
    as_given = not is_fraction(expression) and only_given(expression, key.kind, context)
    for allowed in _likeliest_first(exact, working.circuit.value(key)):
        if as_given and not allowed.low == allowed.high == working.circuit.value(key):
            continue  # nothing in it was rounded
        if support := follows(key, allowed):
            return replace(made, status="follows", hull=support.hull)
    if context.quick:
        return made
    expression = ones_apart(expression)
    loose: tuple[Interval, ...] = ()
    may_be_rounded = not as_given and has_terms_for(expression, subject, context)
    ways_of_givens = (False,) if is_after else (False, True)
    for givens in ways_of_givens if may_be_rounded else ():
        usual = _rounded_to_ones if is_after else (
            loose_numbers(context, expression, key.kind, givens, key.group)
        )  # fmt: skip
        of_number = in_fractions(expression, usual, context)
        loose = of_key(at_corners(expression, subject, habit, of_number, trailing), subject)
        loose = tuple(value for value in loose if not _is_open(value, right))
        for allowed in loose:
            if support := follows(key, allowed):
                return replace(made, status="follows", hull=support.hull)
    if before is not None:
        equal = equals_before(subject, trailing, context, loose)
        if equal is not None:
            if is_after and context.before_hull is not None:
                equal = equal.hull(context.before_hull)
            return replace(
                made, status="follows" if before_status == "follows" else "carried", hull=equal
            )
    for allowed in loose:
        if any(allowed.meets(wrong) for wrong in working.wrong.get(key, ())):
            return replace(made, status="carried", hull=allowed)  # the same slip, said again
    if working.wrong and (is_fraction(expression) or uses_wrong(expression, context)):
        for allowed in (*exact, *loose):
            if support := working.is_carried(key, allowed):
                return replace(made, status="carried", hull=support.hull)
        for allowed in exact:
            if support := working.is_carried(key, widened(allowed)):
                return replace(made, status="carried", hull=support.hull)
    implied = None if as_given else judge_implied(expression, key, (*exact, *loose), context)
    if implied is not None:
        return replace(made, status=implied[0], hull=implied[1])
    if working.wrong:
        wide = [widened(allowed) for allowed in (*exact, *loose)]
        return _carried_unseen(made, key, wide, working) or made
    return made


def _rounded_to_ones(number: Number) -> Interval:
    """A number of a fraction that comes out of working: 401/45 after 33.4 × 12/45."""
    half = Fraction(1, 2) if len(number.figures) >= LEAST_FIGURES else Fraction(0)
    return Interval(number.value - half, number.value + half)


def _carried_unseen(
    made: SideResult, key: Key, wide: Sequence[Interval], working: Working
) -> SideResult | None:
    """The side carried forward from wrong values with roundings, or even steps, that are not on
    the page; None where it is not."""
    for steps in (STEPS, UNSEEN_STEPS):
        for allowed in wide:
            if support := working.is_carried(key, allowed, steps):
                return replace(
                    made, status="carried", hull=support.hull, unseen=steps == UNSEEN_STEPS
                )
    return None


def _goes_on_from_wrong(key: Key, allowed: Interval, context: Context) -> bool:
    """Whether wrong values lead to a result that only unseen roundings would make right."""
    working, exact = context.working, context.working.circuit.value(key)
    if not working.wrong:
        return False
    is_exact = exact is not None and allowed.low <= exact <= allowed.high
    if key in working.wrong:  # with another value, it is put right
        return not is_exact and any(value.meets(allowed) for value in working.wrong[key])
    return (
        working.is_changed(key)
        and not working.is_from_written(key, allowed)
        and working.is_carried(key, allowed) is not None
    )


def _likeliest_first(values: tuple[Interval, ...], right: Fraction | None) -> list[Interval]:
    """Readings of an expression in several units, those nearest in size to the right value
    first: rounding may have left that so open that a wrong unit would do."""
    if right is None or right <= 0:
        return list(values)
    return sorted(values, key=lambda v: max(v.high / right, right / v.high) if v.high > 0 else inf)


def _is_open(value: Interval, right: Fraction) -> bool:
    """Whether a difference is lost in its roundings: then it may be anything, in any unit."""
    return value.low <= 0 and value.high > _OPEN * right


def at_corners(
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
