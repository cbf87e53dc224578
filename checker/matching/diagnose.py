"""What kind of slip is it?  Every kind predicts a wrong value; those that fit are ranked.

A kind fits better when the numbers written in the line are the ones it would have used, so the
written operands decide between kinds that arithmetic alone cannot separate.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import islice, product

from checker.matching.chain import (
    ChainResult,
    Context,
    SideResult,
    Subject,
    is_numeric,
    is_result,
    loose_numbers,
)
from checker.matching.circuit import KINDS, Circuit, Key
from checker.matching.intervals import Interval, could_stand_for, exactly, power, rough
from checker.matching.labels import meaning
from checker.matching.laws import Law, total
from checker.matching.slips import SLIPS
from checker.matching.values import (
    KIND_DIMS,
    KIND_OF_UNIT,
    as_written,
    bare_value,
    si_values,
)
from checker.matching.writing import differences
from checker.notation.tree import (
    Beside,
    Expression,
    Measured,
    Number,
    Power,
    Product,
    Quotient,
    Sum,
    numbers,
    parts,
    symbols,
)

# After a side that is right, only a step in working it out can be wrong.
_OF_WORKING_OUT = {
    "arithmetic", "decimal-point", "power-of-ten", "prefix", "digits-swapped", "unit-kind",
    "reciprocal-not-inverted", "reciprocals-added-wrongly", "prefixes-mixed", "rounded-too-early",
}  # fmt: skip
_MOST_SUBJECTS = 40
_INVERTED = {
    ("Q", "/", "V", "C"), ("Q", "/", "C", "V"), ("V", "/", "C", "Q"), ("V", "·", "C", "Q"),
    ("V", "·", "Q", "C"), ("C", "/", "V", "Q"), ("C", "·", "Q", "V"), ("C", "·", "V", "Q"),
}  # fmt: skip


@dataclass(frozen=True)
class Diagnosis:
    """Kinds that explain the slip, best first, and the quantity it is about.  ``value``: the
    value the slip led to, before any rounding, where it is explained."""

    subject: Subject
    kinds: tuple[str, ...]
    score: float
    value: Interval | None


@dataclass(frozen=True)
class _Case:
    """A wrong side with what is needed to explain it."""

    side: SideResult
    expression: Expression
    subject: Subject
    context: Context
    allowed: tuple[Interval, ...]  # what the quantity may be, as written
    operands: tuple[tuple[Number | Measured, Interval], ...]  # numbers, as bare values
    after_right: bool  # the side before is right and numeric
    keys: tuple[Key, ...] = ()  # what the symbols of a formula stand for


def diagnose(result: ChainResult, place: int, context: Context) -> Diagnosis:
    """Explain the wrong side at ``place`` of a chain."""
    best: Diagnosis | None = None
    for subject in result.subjects[:_MOST_SUBJECTS]:
        found = _explain(result, place, subject, context)
        if best is None or found.score > best.score:
            best = found
    assert best is not None  # a chain result has at least one subject
    return best


def _explain(result: ChainResult, place: int, subject: Subject, context: Context) -> Diagnosis:
    side = result.results[place]
    case = _case(side, subject, context)
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


def _case(side: SideResult, subject: Subject, context: Context) -> _Case | None:
    expression = side.side.expression
    if expression is None:
        return None
    if is_numeric(expression):
        loosely = loose_numbers(context)
        ways = (could_stand_for,) if is_result(expression) else (as_written, loosely)
        allowed = tuple(
            inverted
            for way in ways
            for value in si_values(expression, subject.dims, context.habit, way)
            if (inverted := power(value, -1 if subject.inverse else 1)) is not None
        )
    else:
        allowed = side.values
    operands: tuple[tuple[Number | Measured, Interval], ...] = ()
    after_right = (
        side.before is not None and side.before_status == "follows" and is_numeric(side.before)
    )
    source = expression
    if side.before is not None and (is_result(expression) or after_right):
        source = side.before
    if not is_result(source):
        operands = tuple(
            (literal, could_stand_for(number))
            for literal in numbers(source)
            if isinstance(number := _number(literal), Number)
        )
    keys = tuple(
        Key(its.kinds[0], subject.key.group if not (s.index or s.primes) else its.groups[0])
        for s in symbols(expression)
        if (its := meaning(context.working.circuit, s, context.bound, context.usage))
    )
    return _Case(side, expression, subject, context, allowed, operands, after_right, keys)


def _number(literal: Number | Measured) -> Expression:
    return literal.amount if isinstance(literal, Measured) else literal


def _candidates(case: _Case, result: ChainResult) -> Iterator[tuple[str, float, Interval | None]]:
    """Kinds that lead to what is written, with how well they fit (0 to 1) and the value."""
    yield from _wrong_rules(case)
    yield from _misfit(case, result)
    yield from _wrong_form(case)
    if is_result(case.expression):
        yield from _wrong_writing(case)
        yield from _wrong_unit(case)
    else:
        yield from _wrong_operand(case)
    yield from _wrong_step(case)


def _wrong_rules(case: _Case) -> Iterator[tuple[str, float, Interval | None]]:
    context, key = case.context, case.subject.key
    working = context.working
    for kind in SLIPS.values():
        if kind.predict is None:
            continue
        for law in islice(kind.predict(working.circuit, key, working.known), 400):
            for values in _matching_operands(law, case):
                value = _worked_out(law, values, key, context)
                if value is None or not any(value.meets(allowed) for allowed in case.allowed):
                    continue
                fit = _fit(law, values, case)
                if case.after_right and kind.name not in _OF_WORKING_OUT:
                    fit *= 0.1
                if kind.name == "reciprocals-added-wrongly":
                    adds = _adds_reciprocals(case)
                    fit = max(fit, 0.9) if adds and case.after_right else fit if adds else 0.1 * fit
                if kind.name == "label-swapped" and not case.operands and not case.keys:
                    fit = 0.9
                if kind.name == "reciprocal-not-inverted" and case.subject.inverse:
                    fit *= 0.1
                yield kind.name, fit, value


def _matching_operands(law: Law, case: _Case) -> Iterator[tuple[Interval, ...]]:
    """Values of the operands with which a law gives what is written, at least roughly."""
    working, context = case.context.working, case.context
    allowed = [rough(value) for value in case.allowed]
    options = [working.rough_options(key) for key, _exponent in law.operands]
    for choice in islice(product(*options), 12):
        estimate = _worked_out(
            law, [roughly for roughly, _exact in choice], case.subject.key, context
        )
        if estimate is not None and any(estimate.meets(value) for value in allowed):
            yield tuple(exact for _roughly, exact in choice)


def _worked_out(
    law: Law, values: Sequence[Interval], key: Key, context: Context
) -> Interval | None:
    if not law.in_page_units:
        return law.work_out(values)
    scales = context.habit.scales
    bare = [
        value.scaled(1 / scales[operand.kind][0])
        for (operand, _exponent), value in zip(law.operands, values, strict=True)
    ]
    value = law.work_out(bare)
    return value.scaled(scales[key.kind][0]) if value is not None else None


def _fit(law: Law, values: Sequence[Interval], case: _Case) -> float:
    """How well the written operands are those of the law: 1 when all are, 0.5 unknown."""
    if case.keys:
        wanted = [key for key, _exponent in law.operands]
        share = sum(key in wanted for key in case.keys) / len(case.keys)
        share += sum(key in case.keys for key in wanted) / len(wanted)
        return 0.03 + 0.97 * (share / 2) ** 3
    written = [o for o in case.operands if _number(o[0]).digits not in ("1", "2", "0.5")]  # type: ignore[union-attr]
    if not written:
        written = list(case.operands)
    if not written:
        return 0.5
    used = 0
    left = list(written)
    for (key, exponent), value in zip(law.operands, values, strict=True):
        for _repeat in range(1 if law.form in ("sum", "reciprocal sum") else abs(exponent)):
            place = next((i for i, o in enumerate(left) if _is_written(o, key, value, case)), None)
            if place is not None:
                used += 1
                del left[place]
                break
    needed = len(law.operands)
    explained = (len(written) - len(left)) / len(written)
    agreement = (used / needed + explained) / 2
    shape = 1.0 if _same_shape(law, case) else 0.6
    # That a wrong rule gives just this value of an expression is itself no coincidence.
    least = 0.03 if is_result(case.expression) else 0.2
    return (least + (1 - least) * agreement**3) * shape


def _is_written(
    operand: tuple[Number | Measured, Interval], key: Key, value: Interval, case: _Case
) -> bool:
    literal, allowed = operand
    if isinstance(literal, Measured):
        if KIND_OF_UNIT.get(literal.unit.dimension) != key.kind:
            return False
        return value.scaled(1 / literal.unit.factor).meets(allowed)
    return any(
        value.scaled(1 / scale).meets(allowed) for scale in case.context.habit.scales[key.kind][:2]
    )


def _same_shape(law: Law, case: _Case) -> bool:
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


def _adds_reciprocals(case: _Case) -> bool:
    """Whether the page adds reciprocals here: the side before does, or the subject is one."""

    def sums(expression: Expression | None) -> bool:
        return isinstance(expression, Sum) and any(
            isinstance(part, Quotient) for part in parts(expression)
        )

    before = case.side.before
    return case.subject.inverse or sums(before) or (
        isinstance(before, Quotient) and sums(before.under)
    ) or (isinstance(case.expression, Quotient) and sums(case.expression.under))  # fmt: skip


def _misfit(case: _Case, result: ChainResult) -> Iterator[tuple[str, float, Interval | None]]:
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


def _free_combination(case: _Case) -> Iterator[tuple[str, float, Interval | None]]:
    """The numbers written are capacitances of elements or groups that may not be combined."""
    working = case.context.working
    circuit = working.circuit
    groups = (*circuit.groups[: 2 * len(circuit.names)], *working.known)
    used: list[tuple[int, Interval]] = []
    for literal, allowed in case.operands:
        if _number(literal).digits in ("1", "2"):  # type: ignore[union-attr]
            continue
        found = next(
            ((g, v) for g in groups for v in _values_of(Key("C", g), case)
             if _is_written((literal, allowed), Key("C", g), v, case)),
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


def _values_of(key: Key, case: _Case) -> tuple[Interval, ...]:
    right = case.context.working.right(key)
    return (*((right,) if right is not None else ()), *case.context.working.wrong.get(key, ()))


def _meant(case: _Case) -> Iterator[Interval]:
    """What the quantity should be: right, from earlier wrong values, as the side before says."""
    working, key = case.context.working, case.subject.key
    before = case.side.before
    if before is not None and is_numeric(before):
        for value in si_values(before, case.subject.dims, case.context.habit):
            turned = power(value, -1 if case.subject.inverse else 1)
            if turned is not None:
                yield turned
    right = working.right(key, 1)
    if right is not None:
        yield right
    yield from working.by_laws(key)
    yield from working.carried(key, 1)


def _wrong_writing(case: _Case) -> Iterator[tuple[str, float, Interval | None]]:
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
    for meant in _meant(case):
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


def _wrong_unit(case: _Case) -> Iterator[tuple[str, float, Interval | None]]:
    expression, key = case.expression, case.subject.key
    if not isinstance(expression, Measured):
        return
    if KIND_OF_UNIT.get(expression.unit.dimension) == key.kind:
        return
    number = expression.amount
    assert isinstance(number, Number)
    allowed = could_stand_for(number)
    for meant in _meant(case):
        for scale in (*case.context.habit.scales[key.kind], expression.unit.factor):
            if meant.scaled(1 / scale).meets(allowed):
                yield "unit-kind", 1.0, exactly(number.value * scale)
                return
    yield "unit-kind", 0.2, None


def _wrong_operand(case: _Case) -> Iterator[tuple[str, float, Interval | None]]:
    """One number in the expression changed: it follows with the number that was meant."""
    context = case.context
    working = context.working
    circuit = working.circuit
    if not is_numeric(case.expression):
        return
    groups = dict.fromkeys((*circuit.groups[: 2 * len(circuit.names)], *working.known))
    tried: set[tuple[Number, Fraction]] = set()
    for literal in numbers(case.expression):
        number = _number(literal)
        if not isinstance(number, Number) or number.digits in ("1", "2", "0.5"):
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
                for meant in _values_of(key, case):
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


def _is_known(literal: Number | Measured, number: Number, case: _Case) -> bool:
    """Whether a number is, as it stands, the value of a given element or the supply."""
    circuit = case.context.working.circuit
    keys = [Key("C", 1 << place) for place in range(len(circuit.names))]
    exact = exactly(number.value)
    return any(
        (value := circuit.value(key)) is not None
        and _is_written((literal, exact), key, exactly(value), case)
        for key in (*keys, Key("V", circuit.total))
    )


def _not_in_parallel(case: _Case) -> str:
    """The kind of slip when elements that are not in parallel get the parallel sign."""
    mask = 0
    for key in case.keys:
        mask |= key.group
    home = case.context.working.circuit.parts(mask)
    return "wrong-elements" if home is None else "series-combined-as-parallel"


def _inverts_law(expression: Expression, case: _Case) -> bool:
    """Q = V/C, V = C/Q and so on, in symbols."""
    kinds = tuple(key.kind for key in case.keys)
    found = (case.subject.key.kind, "/" if isinstance(expression, Quotient) else "·", *kinds)
    return found in _INVERTED and len(symbols(expression)) == 2


def _is_other_prefix(number: Number, key: Key, case: _Case) -> bool:
    """Whether a bare number is a given capacitance in the prefix it would have by itself."""
    circuit = case.context.working.circuit
    value = circuit.value(key)
    if key.kind != "C" or not circuit.is_element(key.group) or value is None:
        return False
    shift = value / number.value if number.value else Fraction(0)
    return shift in (Fraction(1, 10**n) for n in (12, 9, 6, 3)) and 1 <= number.value < 1000


def _wrong_form(case: _Case) -> Iterator[tuple[str, float, Interval | None]]:
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


def _follows_with(number: Number, meant: Interval, case: _Case) -> bool:
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


def _wrong_step(case: _Case) -> Iterator[tuple[str, float, Interval | None]]:
    """The side before is right, so this one was worked out of it wrongly."""
    context, subject = case.context, case.subject
    source = case.side.before if is_result(case.expression) else case.expression
    if source is not None and is_numeric(source) and not is_result(source):
        units = {literal.unit for literal in numbers(source) if isinstance(literal, Measured)}
        factors = {unit.factor for unit in units}
        mixed = len(units) > len({unit.dimension for unit in units})
        mixed = mixed or _bare_of_other_prefix(source, case)
        if mixed:
            bare = bare_value(source)
            for scale in (*factors, *context.habit.scales[subject.key.kind]):
                if bare is not None:
                    value = power(bare.scaled(1 / scale if subject.inverse else scale),
                                  -1 if subject.inverse else 1)  # fmt: skip
                    if value is not None and any(value.meets(a) for a in case.allowed):
                        yield "prefixes-mixed", 1.0, value
    if case.after_right:
        yield "arithmetic", 0.6, None
        yield from _rounded_early(case)
    elif case.operands and is_result(case.expression):
        yield "arithmetic", 0.25, None


def _bare_of_other_prefix(source: Expression, case: _Case) -> bool:
    """Whether bare numbers are given values in different prefixes (4 µF and 500 nF)."""
    circuit: Circuit = case.context.working.circuit
    found: set[Fraction] = set()
    for literal in numbers(source):
        if isinstance(literal, Number):
            for scale in case.context.habit.scales["C"][:-1]:
                if any(
                    circuit.value(Key("C", 1 << place)) == literal.value * scale
                    for place in range(len(circuit.names))
                ):
                    found.add(scale)
    return len(found) > 1


def _rounded_early(case: _Case) -> Iterator[tuple[str, float, Interval | None]]:
    """The result of the side before with its numbers, or their reciprocals, rounded first."""
    source = case.side.before
    if source is None or not is_numeric(source) or is_result(source):
        return
    for figures in (1, 2, 3):
        value = _with_rounded_parts(source, figures)
        if value is None:
            continue
        for scale in case.context.habit.of(KIND_DIMS[case.subject.key.kind]):
            its = value.scaled(1 / scale if case.subject.inverse else scale)
            turned = power(its, -1 if case.subject.inverse else 1)
            if turned is not None and any(turned.meets(allowed) for allowed in case.allowed):
                yield "rounded-too-early", 0.8, turned


def _with_rounded_parts(expression: Expression, figures: int) -> Interval | None:
    from checker.matching.values import combined

    inside = parts(expression)
    if not inside or isinstance(expression, Measured):
        return bare_value(expression)
    values = []
    for part in inside:
        value = _with_rounded_parts(part, figures)
        if value is None:
            return None
        if not is_result(part) and value.low == value.high and value.low > 0:
            value = exactly(round_to(value.low, figures))
        values.append(value)
    return combined(expression, values)


def round_to(value: Fraction, figures: int) -> Fraction:
    """A positive value rounded half up to significant figures."""
    exponent = len(str(value.numerator)) - len(str(value.denominator))
    while Fraction(10) ** exponent > value:
        exponent -= 1
    while Fraction(10) ** (exponent + 1) <= value:
        exponent += 1
    unit = Fraction(10) ** (exponent - figures + 1)
    return (value / unit + Fraction(1, 2)).__floor__() * unit
