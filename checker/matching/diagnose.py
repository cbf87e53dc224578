"""What kind of slip is it?  Every kind predicts a wrong value; those that fit are ranked.

A kind fits better when the numbers written in the line are the ones it would have used, so the
written operands decide between kinds that arithmetic alone cannot separate.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from checker.exact import Fraction
from checker.matching.circuit import Key
from checker.matching.context import ChainResult, Context, Subject
from checker.matching.dimensions import KIND_OF_UNIT
from checker.matching.forms import is_fraction, is_numeric, is_result, without_unit
from checker.matching.intervals import Interval, could_stand_for
from checker.matching.labels import meaning
from checker.matching.slip_case import Case, case_of
from checker.matching.slips import SLIPS
from checker.matching.wrong_form import misfits, wrong_forms
from checker.matching.wrong_number import wrong_operand, wrong_prefix, wrong_unit, wrong_writing
from checker.matching.wrong_rule import wrong_rules
from checker.matching.wrong_step import wrong_steps
from checker.notation.tree import Expression, Measured, Number, Sum, Symbol, numbers, symbols

_MOST_SUBJECTS = 40
_PREFIXES = tuple(Fraction(10) ** exponent for exponent in (-12, -9, -6, -3, 0))
_CERTAIN = 10.0  # makes up for the low weight of "unexplained"


@dataclass(frozen=True)
class Diagnosis:
    """Kinds that explain the slip, best first, and the quantity it is about.  ``value``: the
    value the slip led to, before any rounding, where it is explained."""

    subject: Subject
    kinds: tuple[str, ...]
    score: float
    value: Interval | None


def is_certain(diagnosis: Diagnosis) -> bool:
    """Whether a step is beyond explanation whatever comes after it: C + V."""
    return diagnosis.kinds[0] == "unexplained" and diagnosis.score >= 1


def diagnose(result: ChainResult, place: int, context: Context) -> Diagnosis:
    """Explain the wrong side at ``place`` of a chain."""
    best: Diagnosis | None = None
    for subject in result.subjects[:_MOST_SUBJECTS]:
        found = _explain(result, place, subject, context)
        if best is None or found.score > best.score or (
            found.score == best.score and subject.key.group == _made_of(result, place, context)
        ):  # fmt: skip
            best = found
    assert best is not None  # a chain result has at least one subject
    return best


def _made_of(result: ChainResult, place: int, context: Context) -> int:
    """The elements that the symbols of a side name for certain, or whose given values it has."""
    expression = result.results[place].side.expression
    mask = _groups_in(expression, context) if is_numeric(expression) and expression else 0
    for symbol in symbols(expression) if expression is not None else ():
        its = meaning(context.working.circuit, symbol, context.bound, context.usage)
        if its is not None and its.certain and len(its.groups) == 1:
            mask |= its.groups[0]
    return mask


def _groups_in(expression: Expression, context: Context) -> int:
    """The elements, or groups that the page forms, whose capacitances an expression has."""
    working = context.working
    circuit = working.circuit
    elements = [1 << at for at in range(len(circuit.names))]
    mask = 0
    for literal in numbers(expression):
        number, scales = without_unit(literal), _PREFIXES
        if isinstance(literal, Measured):
            scales = (literal.unit.factor,)
        if not isinstance(number, Number):
            continue
        exact = [number.value * scale for scale in scales]
        groups = [e for e in elements if circuit.value(Key("C", e)) in exact]
        for group in working.known:
            value = working.right(Key("C", group))
            if value and any(could_stand_for(number).scaled(s).meets(value) for s in scales):
                groups.append(group)
        mask |= next((group for group in groups if not mask & group), 0)
    return mask


def _adds_unlike(case: Case) -> bool:
    """Whether quantities of different kinds are added, such as C + V."""
    if not isinstance(case.expression, Sum):
        return False
    kinds = {key.kind for key in case.keys} if symbols(case.expression) else {
        KIND_OF_UNIT.get(term.unit.dimension) for _sign, term in case.expression.terms
        if isinstance(term, Measured)
    }  # fmt: skip
    single = all(isinstance(t, Symbol | Measured) for _sign, t in case.expression.terms)
    return single and len(kinds) > 1


def _explain(result: ChainResult, place: int, subject: Subject, context: Context) -> Diagnosis:
    side = result.results[place]
    case = case_of(side, subject, context, place == 0)
    if case is None:
        return Diagnosis(subject, ("unexplained",), 0.0, None)
    scores: dict[str, float] = {}
    value: Interval | None = None
    best = 0.0
    for kind, fit, its in _candidates(case, result):
        score = SLIPS[kind].weight * fit
        if score > scores.get(kind, 0.0):
            scores[kind] = score
            if score > best:
                best, value = score, its
    if not scores:
        alone = is_result(case.expression) and not case.operands and not case.after_right
        kind = "answer-unsupported" if alone else "unexplained"
        scores[kind] = SLIPS[kind].weight
    ranked = sorted(scores, key=lambda kind: -scores[kind])
    kinds = tuple(kind for kind in ranked if scores[kind] >= 0.2 * scores[ranked[0]])[:3]
    return Diagnosis(subject, kinds, scores[ranked[0]], value)


def _candidates(case: Case, result: ChainResult) -> Iterator[tuple[str, float, Interval | None]]:
    """Kinds that lead to what is written, with how well they fit (0 to 1) and the value."""
    if _adds_unlike(case):  # whatever its number is like
        yield "unexplained", _CERTAIN, None
        return
    if case.alone:
        yield "answer-unsupported", 1.0, None
    yield from wrong_rules(case)
    yield from misfits(case, result)
    yield from wrong_forms(case)
    if is_result(case.expression):
        yield from wrong_writing(case)
    else:
        yield from wrong_operand(case)
        yield from wrong_prefix(case)
    if is_result(case.expression) or is_fraction(case.expression):
        yield from wrong_unit(case)
    yield from wrong_steps(case)
