"""Does a chain of equals signs follow?  Each side is judged against the student's working so far.

The subject ("C12", "1/C'", "charge on C2") may stand for several quantities; the chain is tried
with each, and what it follows for is what it means.  Only a chain that follows for none is wrong.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import islice

from checker.exact import Fraction
from checker.matching.circuit import Key
from checker.matching.context import ChainResult, Context, SideResult, Status, Subject, of_key
from checker.matching.forms import is_numeric, is_result, is_worked, of_energy, other_strokes
from checker.matching.intervals import Interval
from checker.matching.labels import Label, Meaning, meaning
from checker.matching.loose_numbers import loose_numbers
from checker.matching.numeric_side import judge_numeric, trailing_units
from checker.matching.subject import Option, solved, subject_of
from checker.matching.symbolic_side import judge_symbolic
from checker.matching.values import bare_value, is_bare_working
from checker.notation.tree import ONE, Chain, Expression, Phrase, Quotient, Side, Symbol, symbols

_MOST_SUBJECTS = 400
_CROWD = 24


def check(chain: Chain, context: Context) -> ChainResult | None:
    """Judge a chain; None where it is about nothing that can be related to the problem."""
    chain = solved(chain)
    place, options = subject_of(chain, context)
    if place is None and not options:
        return None
    sides = [side for number, side in enumerate(chain.sides) if number != place]
    if not sides:
        return None
    wanted = list(islice(options, _MOST_SUBJECTS))
    context = replace(context, crowded=len(wanted) > _CROWD)
    best = _best(wanted, sides, chain, replace(context, quick=True)) if len(wanted) > 1 else []
    if not best or best[0].cost > 0:
        best = _best(wanted, sides, chain, context)
    elif len(best) < len(wanted):
        best = [*best, *_of_equal_value(best, wanted, sides, chain, context)]
    if best and _combines_misfit(best[0], context):  # whatever its numbers may be rounded from
        best = _best(wanted, sides, chain, replace(context, quick=True))
    if not best:
        return None
    first = best[0]
    is_total = first.subjects[0].key.group == context.working.circuit.total
    if first.whole and is_total and not _is_of_group(chain, place):
        return first
    subjects = tuple(dict.fromkeys(r.subjects[0] for r in best))
    return replace(first, subjects=subjects, named=_named_by_all(best))


def _of_equal_value(
    best: Sequence[ChainResult], wanted: Sequence[Option], sides: Sequence[Side], chain: Chain,
    context: Context,
) -> list[ChainResult]:  # fmt: skip
    """The chain judged in full with other quantities that have the same value as those it fits at
    first sight, as far as it fits them as well."""
    value = context.working.circuit.value
    found = {result.subjects[0] for result in best}
    values = {(subject.key.kind, subject.inverse, value(subject.key)) for subject in found}
    judged = (
        _with_subject(subject, its, sides, chain, context)
        for subject, its in wanted
        if subject not in found
        and (subject.key.kind, subject.inverse, value(subject.key)) in values
    )
    return [result for result in judged if result is not None and result.cost == 0]


def _combines_misfit(result: ChainResult, context: Context) -> bool:
    """Whether a chain adds up the elements that its label names, which may not be combined."""
    circuit = context.working.circuit
    if result.misfit is None or result.subjects[0].key.kind != "C":
        return False
    own = [circuit.value(Key("C", circuit.mask((n,)))) for n in circuit.elements(result.misfit)]
    total = sum((v for v in own if v), Fraction(0))
    series = 1 / sum((1 / v for v in own if v), Fraction(0))
    return any(
        value.low == value.high and value.low in (total, series)
        for side in result.results if not is_result(side.side.expression)
        for value in side.values
    )  # fmt: skip


def _is_of_group(chain: Chain, place: int | None) -> bool:
    """Whether a label such as B, which may be the battery's, is that of a group: V_B = Q/C_B."""
    name = chain.sides[place].expression if place is not None else None
    if isinstance(name, Phrase) and len(name.symbols) == 1:  # "now V_B"
        name = name.symbols[0]
    return isinstance(name, Symbol) and bool(name.index) and any(
        symbol.letter == "C" and symbol.index == name.index and name.letter != "C"
        for side in chain.sides if side.expression is not None
        for symbol in symbols(side.expression)
    )  # fmt: skip


def _named_by_all(best: Sequence[ChainResult]) -> tuple[tuple[Label, tuple[int, ...]], ...]:
    """The groups that labels have in any meaning of a chain, for those that all of them show."""
    each = [dict(result.named) for result in best]
    return tuple(
        (label, tuple(dict.fromkeys(group for named in each for group in named[label])))
        for label in each[0]
        if all(label in named for named in each)
    )


def _best(
    wanted: Sequence[Option], sides: Sequence[Side], chain: Chain, context: Context
) -> list[ChainResult]:
    """The chain judged with every subject; those that fit best."""
    best: list[ChainResult] = []
    context.habit.effort.sides += len(wanted) * len(sides)
    for subject, its in wanted:
        result = _with_subject(subject, its, sides, chain, context)
        if result is None:
            continue
        if not best or result.cost < best[0].cost:
            best = [result]
        elif result.cost == best[0].cost:
            best.append(result)
    return best


def judge_as(chain: Chain, subject: Subject, context: Context) -> ChainResult | None:
    """Judge a chain as being about one quantity."""
    chain = solved(chain)
    place, options = subject_of(chain, context)
    sides = [side for number, side in enumerate(chain.sides) if number != place]
    option = next(options, None)
    return _with_subject(subject, option[1] if option else None, sides, chain, context)


def _with_subject(
    subject: Subject, its: Meaning | None, sides: Sequence[Side], chain: Chain, context: Context
) -> ChainResult | None:
    working = context.working
    if working.circuit.value(subject.key) is None:
        return None
    results: list[SideResult] = []
    aliases: list[Key] = []
    equated: list[Key] = []
    named: list[tuple[Label, tuple[int, ...]]] = []
    goes_on = chain.continued or _comes_out(sides[0].expression, subject, context)
    before: Expression | None = context.before if goes_on else None
    before_status: Status = context.before_status if goes_on else "follows"
    before_hull = context.before_hull if goes_on else None
    trailing = trailing_units(sides, subject)
    earlier = context.earlier if before is not None else None
    earlier_hull: Interval | None = None
    for side in sides:
        expression = side.expression
        if expression is None:
            results.append(SideResult(side, "unclear"))
            continue
        if subject.key.kind == "U":
            expression = of_energy(expression)
            side = replace(side, expression=expression)
        if is_numeric(expression):
            then = replace(
                context, before=before, before_status=before_status, before_hull=before_hull,
                after_formula=bool(results) and _is_formula(results[-1]),
            )  # fmt: skip
            result = judge_numeric(side, expression, subject, trailing, then)
            other = other_strokes(expression) if result.status == "wrong" else None
            if other is not None:
                again = judge_numeric(side, other, subject, trailing, then)
                if again.status != "wrong":
                    result, expression = again, other
            if result.status == "wrong" and earlier is not None and is_result(expression):
                # 350 × 1.1/2.1 = 385/2.1 = 190 was worked out with more figures than are shown.
                then = replace(then, before=earlier, before_hull=earlier_hull or before_hull)
                again = judge_numeric(side, expression, subject, trailing, then)
                result = again if again.status == "follows" else replace(result, earlier=earlier)
            if result.status == "wrong" and results and _repeats(results[-1], result):
                result = replace(result, status="carried", hull=results[-1].values[0])
            worked = before_status == "follows" and is_worked(before)
            earlier, earlier_hull = (before, before_hull) if worked else (None, None)
            before, before_status, before_hull = expression, result.status, result.hull
        else:
            own = its.label if its is not None else None
            result, alias, label = judge_symbolic(side, expression, subject, own, context)
            equated += _names(expression, subject, context)
            named += [label] if label is not None else []
            if alias is not None and result.status != "wrong":
                aliases.append(alias)
            if result.status in ("wrong", "carried"):
                before, before_status, before_hull = expression, result.status, None
        results.append(result)
    _allow_scale_free(results, subject, context)
    if results and not goes_on:
        results[0] = _with_line_before(results[0], subject, context)
    judged = ChainResult(
        (subject,), tuple(results), True, aliases=tuple(aliases), equated=tuple(equated),
        named=tuple(named),
    )  # fmt: skip
    if its is None:
        return judged
    return replace(judged, certain=its.certain, label=its.label, misfit=its.misfit, whole=its.whole)


def _comes_out(expression: Expression | None, subject: Subject, context: Context) -> bool:
    """Whether a result stands right after working for the same quantity."""
    return is_result(expression) and subject in context.subject and is_worked(context.before)


def _is_formula(result: SideResult) -> bool:
    """Whether a side is a right formula of symbols, Q/C."""
    expression = result.side.expression
    return result.status == "follows" and not (
        expression is None or is_numeric(expression) or isinstance(expression, Symbol)
    )


def _names(expression: Expression, subject: Subject, context: Context) -> list[Key]:
    """The quantity that a lone symbol with a certain label names as equal to the subject."""
    if not isinstance(expression, Symbol) or subject.inverse:
        return []
    its = meaning(context.working.circuit, expression, context.bound, context.usage)
    if its is None or not its.certain or len(its.groups) != 1 or subject.key.kind not in its.kinds:
        return []
    return [Key(subject.key.kind, its.groups[0])]


def _with_line_before(result: SideResult, subject: Subject, context: Context) -> SideResult:
    """A wrong result right after the working for the same quantity, in the line before, is taken
    to come from there."""
    before = context.before
    expression = result.side.expression
    plain = is_result(expression) or (
        isinstance(expression, Quotient) and is_result(expression.over)
        and is_result(expression.under)
    )  # fmt: skip
    wrong = result.status == "wrong" and result.before is None
    if not wrong or not plain or before is None or is_result(before):
        return result
    if Subject(subject.key, not subject.inverse) in context.subject:
        before = Quotient(ONE, before)
    elif subject not in context.subject:
        return result
    elif expression is not None:
        again = judge_numeric(result.side, expression, subject, (), context)
        if again.status == "follows":
            return again
    return replace(result, before=before, before_status=context.before_status)


def _allow_scale_free(results: list[SideResult], subject: Subject, context: Context) -> None:
    """1.07/4.00 = 267 V for 1.07 nC over 4.00 pF is no slip, nor is 42300 + 1350 = 43.7 µC for nC,
    whatever prefixes the writer had in mind, as long as the result is right."""
    for place in range(len(results) - 1):
        side, after = results[place], results[place + 1]
        expression = side.side.expression
        if side.status != "wrong" or after.status != "follows" or expression is None:
            continue
        if not is_bare_working(expression):
            continue
        bare = bare_value(expression, loose_numbers(context, expression, subject.key.kind))
        if bare is None:
            continue
        for exponent in (3, -3, 6, -6, 9, -9):
            scale = context.habit.of(subject.dims)[0] * Fraction(10) ** exponent
            for value in of_key([bare.scaled(scale)], subject):
                if context.working.without_differences.follows(subject.key, value):
                    results[place] = replace(side, status="follows")


def _repeats(wrong: SideResult, result: SideResult) -> bool:
    """Whether a side only works out the wrong formula before it."""
    return wrong.status == "wrong" and any(a.meets(b) for a in wrong.values for b in result.values)
