"""Slips that a wrong law predicts, ranked by whether the written operands are those of the law."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import reduce
from itertools import islice, product

from checker.exact import Fraction
from checker.matching.circuit import Key
from checker.matching.context import Context
from checker.matching.forms import is_result, is_structure
from checker.matching.intervals import Interval, add, could_stand_for, exactly, rough
from checker.matching.laws import Law
from checker.matching.slip_case import Case, is_written, number_of
from checker.matching.slips import SLIPS
from checker.matching.values import bare_value
from checker.notation.tree import Expression, Measured, Number, Power, Product, Quotient, Sum, parts

# After a side that is right, only a step in working it out can be wrong.
_OF_WORKING_OUT = {
    "arithmetic", "decimal-point", "power-of-ten", "prefix", "digits-swapped", "unit-kind",
    "reciprocal-not-inverted", "reciprocals-added-wrongly", "prefixes-mixed", "rounded-too-early",
}  # fmt: skip


def wrong_rules(case: Case) -> Iterator[tuple[str, float, Interval | None]]:
    context, key = case.context, case.subject.key
    working = context.working
    for kind in SLIPS.values():
        if kind.predict is None:
            continue
        for law in islice(kind.predict(working.circuit, key, working.known), 400):
            for values in _matching_operands(law, case):
                value = next(
                    (v for v in _worked_out(law, values, key, context)
                     if any(v.meets(allowed) for allowed in case.allowed)),
                    None,
                )  # fmt: skip
                if value is None:
                    continue
                fit = _fit(law, values, case)
                if case.after_right and kind.name not in _OF_WORKING_OUT:
                    fit *= 0.1
                if kind.name == "reciprocals-added-wrongly":
                    adds = _adds_reciprocals(case)
                    fit = max(fit, 0.9) if adds and case.after_right else fit if adds else 0.1 * fit
                if kind.name == "label-swapped" and case.alone and _is_sibling(law, case):
                    fit = 0.9
                if kind.name == "wrong-equivalent-used" and case.alone:
                    fit *= 0.2  # nothing shows that it was used
                if kind.name == "reciprocal-not-inverted" and case.subject.inverse:
                    fit *= 0.1
                elif kind.name == "reciprocal-not-inverted" and _is_left_standing(case):
                    fit = 1.0
                yield kind.name, fit, value


def _is_left_standing(case: Case) -> bool:
    """Whether a result is what one was to be divided by in the side before: 20/60 = 0.333, from
    1/C = 20/60."""
    before, number = case.side.before, number_of(case.expression)  # type: ignore[arg-type]
    if not isinstance(before, Quotient) or not isinstance(number, Number):
        return False
    over, under = bare_value(before.over), bare_value(before.under)
    return over == exactly(Fraction(1)) and under is not None and (
        under.meets(could_stand_for(number))
    )  # fmt: skip


def _matching_operands(law: Law, case: Case) -> Iterator[tuple[Interval, ...]]:
    """Values of the operands with which a law gives what is written, at least roughly."""
    working, context = case.context.working, case.context
    allowed = [rough(value) for value in case.allowed]
    options = [working.rough_options(key) for key, _exponent in law.operands]
    for choice in islice(product(*options), 12):
        estimates = _worked_out(
            law, [roughly for roughly, _exact in choice], case.subject.key, context
        )
        if any(estimate.meets(value) for estimate in estimates for value in allowed):
            yield tuple(exact for _roughly, exact in choice)


def _is_sibling(law: Law, case: Case) -> bool:
    """Whether the one operand of a law is about another member of the same group."""
    holder = case.context.working.circuit.holder(case.subject.key.group)
    return holder is not None and law.operands[0][0].group in holder.members


def _worked_out(
    law: Law, values: Sequence[Interval], key: Key, context: Context
) -> Iterable[Interval]:
    """What a law gives; with the bare numbers of the page, in the unit the page uses for the
    result and in the one that goes with those of the operands."""
    if law.in_page_units:
        return _in_page_units(law, values, key, context)
    value = law.work_out(values)
    return (value,) if value is not None else ()


def _in_page_units(
    law: Law, values: Sequence[Interval], key: Key, context: Context
) -> Iterator[Interval]:
    scales = context.habit.scales
    tried: set[tuple[Fraction, Fraction]] = set()
    for farads in scales["C"]:
        of = {"C": farads, "V": scales["V"][0], "Q": scales["Q"][0], "U": scales["U"][0]}
        for volts in scales["V"] if any(k.kind == "C" for k, _e in law.operands) else ():
            natural = {"C": farads, "V": volts, "Q": farads * volts, "U": farads * volts**2}
            for units in (of, natural):
                bare = [
                    value.scaled(1 / units[operand.kind])
                    for (operand, _exponent), value in zip(law.operands, values, strict=True)
                ]
                value = law.work_out(bare)
                for scale in dict.fromkeys((scales[key.kind][0], units[key.kind])):
                    if value is not None and (value.high, scale) not in tried:
                        tried.add((value.high, scale))
                        yield value.scaled(scale)


def _fit(law: Law, values: Sequence[Interval], case: Case) -> float:
    """How well the written operands are those of the law: 1 when all are, 0.5 unknown."""
    if case.keys:
        wanted = [key for key, _exponent in law.operands]
        share = sum(key in wanted for key in case.keys) / len(case.keys)
        share += sum(key in case.keys for key in wanted) / len(wanted)
        return 0.03 + 0.97 * (share / 2) ** 3
    written = [o for o in case.operands if not is_structure(o[0])]
    of_formula = [o for o in case.operands if is_structure(o[0])]  # or a value: 1/1 + 1/5.6 + 1/1
    if not written:
        written, of_formula = of_formula, []
    if not written:
        return 0.5
    used = 0
    left = list(written)
    missing = []
    for (key, exponent), value in zip(law.operands, values, strict=True):
        for _repeat in range(1 if law.form in ("sum", "reciprocal sum") else abs(exponent)):
            its = next((i for i in left + of_formula if is_written(i, key, value, case)), None)
            if its is not None:
                used += 1
                (left if its in left else of_formula).remove(its)
                break
        else:
            missing.append((key, value))
    if len(missing) == 1 and len(left) > 1 and _is_sum_of(left, *missing[0], case):
        used, left = used + 1, []
    needed = len(law.operands)
    explained = (len(written) - len(left)) / len(written)
    agreement = (used / needed + explained) / 2
    shape = 1.0 if _same_shape(law, case) else 0.6
    # That a wrong rule gives just this value of an expression is itself no coincidence.
    least = 0.03 if is_result(case.expression) else 0.2
    return (least + (1 - least) * agreement**3) * shape


def _is_sum_of(
    operands: Sequence[tuple[Number | Measured, Interval]], key: Key, value: Interval, case: Case
) -> bool:
    """Whether numbers that are written come together to a value of a quantity."""
    literal = operands[0][0]
    if any(isinstance(one, Measured) != isinstance(literal, Measured) for one, _its in operands):
        return False
    together = reduce(add, (its for _one, its in operands))
    return is_written((literal, together), key, value, case)


def _same_shape(law: Law, case: Case) -> bool:
    """Whether the expression has the outer form of the law: a sum, a quotient or a product."""
    source = case.expression
    if (is_result(source) or case.after_right) and case.side.before is not None:
        source = case.side.before
    if is_result(source):
        return True
    quotient = isinstance(source, Quotient)
    if law.form == "sum":
        return isinstance(source, Sum) is not (law.inverted or case.subject.inverse)
    if law.form == "reciprocal sum":
        return isinstance(source, Sum) if case.subject.inverse or law.inverted else quotient
    if law.form in ("product over sum", "share"):
        return quotient or isinstance(source, Product)
    divides = any(exponent < 0 for _key, exponent in law.operands)
    return quotient if divides else isinstance(source, Product | Power)


def _adds_reciprocals(case: Case) -> bool:
    """Whether the page adds reciprocals here: the side before does, or the subject is one."""

    def sums(expression: Expression | None) -> bool:
        return isinstance(expression, Sum) and any(
            isinstance(part, Quotient) for part in parts(expression)
        )

    before = case.side.before
    return case.subject.inverse or sums(before) or (
        isinstance(before, Quotient) and sums(before.under)
    ) or (isinstance(case.expression, Quotient) and sums(case.expression.under))  # fmt: skip
