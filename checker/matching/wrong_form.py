"""Slips that show in which elements are combined, or in the form of an expression."""

from __future__ import annotations

from collections.abc import Iterator

from checker.exact import Fraction
from checker.matching.circuit import Key
from checker.matching.context import ChainResult
from checker.matching.forms import is_result, is_structure
from checker.matching.intervals import Interval, exactly
from checker.matching.laws import Law, total
from checker.matching.slip_case import Case, is_written, number_of, values_of
from checker.notation.tree import Beside, Expression, Number, Product, Quotient, Sum, parts, symbols

_INVERTED = {
    ("Q", "/", "V", "C"), ("Q", "/", "C", "V"), ("V", "/", "C", "Q"), ("V", "·", "C", "Q"),
    ("V", "·", "Q", "C"), ("C", "/", "V", "Q"), ("C", "·", "Q", "V"), ("C", "·", "V", "Q"),
}  # fmt: skip


def misfits(case: Case, result: ChainResult) -> Iterator[tuple[str, float, Interval | None]]:
    """A label that names elements which may not be combined."""
    circuit = case.context.working.circuit
    if case.subject.key.kind == "C" and case.operands and not case.after_right:
        yield from _free_combination(case)
    if case.subject.key.kind == "C" and {key.kind for key in case.keys} == {"C"}:
        mask = 0
        for key in case.keys:
            mask |= key.group
        if not circuit.is_group(mask):
            yield "wrong-elements", 1.0, None
    if result.misfit is None:
        return
    own = [v for name in circuit.elements(result.misfit)
           if (v := circuit.value(Key("C", circuit.mask((name,)))))]  # fmt: skip
    for value in (sum(own, Fraction(0)), 1 / sum((1 / v for v in own), Fraction(0))):
        if any(exactly(value).meets(allowed) for allowed in case.allowed):
            yield "wrong-elements", 1.0, exactly(value)
    yield "wrong-elements", 0.3, None


def _free_combination(case: Case) -> Iterator[tuple[str, float, Interval | None]]:
    """The numbers written are capacitances of elements or groups that may not be combined."""
    working = case.context.working
    circuit = working.circuit
    groups = (*circuit.groups[: 2 * len(circuit.names)], *working.known)
    adds = isinstance(case.expression, Sum) and all(map(is_result, parts(case.expression)))
    used: list[tuple[int, Interval]] = []
    for literal, allowed in case.operands:
        number = number_of(literal)
        operand = adds or (isinstance(number, Number) and number.has_power)
        if is_structure(literal) and not operand:
            continue
        found = next(
            ((g, v) for g in groups for v in values_of(Key("C", g), case)
             if is_written((literal, allowed), Key("C", g), v, case)),
            None,
        )  # fmt: skip
        if found is None:
            return
        if found not in used:
            used.append(found)
    mask = 0
    for group, _value in used:
        mask |= group
    if len(used) < 2 or circuit.is_group(mask):
        return
    keys = tuple(Key("C", group) for group, _value in used)
    for law in (total(keys), Law("reciprocal sum", tuple((key, 1) for key in keys))):
        value = law.work_out([value for _group, value in used])
        if value is not None and any(value.meets(allowed) for allowed in case.allowed):
            yield "wrong-elements", 1.3, value
    if not is_result(case.expression):  # in whatever way they are combined
        yield "wrong-elements", 0.6, None


def _not_in_parallel(case: Case) -> str:
    """The kind of slip when elements that are not in parallel get the parallel sign."""
    mask = 0
    for key in case.keys:
        mask |= key.group
    home = case.context.working.circuit.parts(mask)
    return "wrong-elements" if home is None else "series-combined-as-parallel"


def _inverts_law(expression: Expression, case: Case) -> bool:
    """Q = V/C, V = C/Q and so on, in symbols."""
    if not isinstance(expression, Product | Quotient):
        return False
    kinds = tuple(key.kind for key in case.keys)
    found = (case.subject.key.kind, "/" if isinstance(expression, Quotient) else "·", *kinds)
    return found in _INVERTED and len(symbols(expression)) == 2


def wrong_forms(case: Case) -> Iterator[tuple[str, float, Interval | None]]:
    """Rules that show in the form of an expression, whatever its numbers or symbols are."""
    expression, subject = case.expression, case.subject
    if isinstance(expression, Beside) and case.keys:
        yield _not_in_parallel(case), 2.0, None
    if case.keys and _inverts_law(expression, case):
        yield "law-inverted", 1.0, None
    if subject.key.kind != "C" or subject.inverse or not isinstance(expression, Quotient):
        return
    over, under = expression.over, expression.under
    if isinstance(over, Product) and isinstance(under, Sum):
        if len(over.factors) > 2 and _same_parts(over, under):
            yield "product-over-sum-misused", 1.0, None
    elif isinstance(over, Sum) and isinstance(under, Product) and _same_parts(under, over):
        yield "sum-over-product", 2.0, None


def _same_parts(one: Product, other: Sum) -> bool:
    return sorted(map(repr, parts(one))) == sorted(map(repr, parts(other)))
