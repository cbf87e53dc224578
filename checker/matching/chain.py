"""Does a chain of equals signs follow?  Each side is judged against the student's working so far.

The subject ("C12", "1/C'", "charge on C2") may stand for several quantities; the chain is tried
with each, and what it follows for is what it means.  Only a chain that follows for none is wrong.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import islice, product
from typing import Literal

from checker.matching.circuit import Key, Kind
from checker.matching.intervals import (
    Interval,
    could_stand_for,
    cut_off,
    exactly,
    power,
    rough,
    rounded,
)
from checker.matching.labels import PLAIN_USAGE, Label, Meaning, Usage, meaning, spoken
from checker.matching.values import (
    KIND_DIMS,
    KIND_OF_UNIT,
    Dims,
    Habit,
    OfNumber,
    as_written,
    bare_value,
    has_units,
    is_scale_free,
    measured_value,
    si_values,
)
from checker.matching.working import Working
from checker.notation.tree import (
    Beside,
    Chain,
    Expression,
    Measured,
    Number,
    Phrase,
    Power,
    Product,
    Quotient,
    Several,
    Side,
    Symbol,
    numbers,
    symbols,
)

Status = Literal["follows", "carried", "wrong", "unclear"]
_MOST_ASSIGNMENTS = 900
_MOST_COMBINATIONS = 10_000
_MOST_SUBJECTS = 400
_MOST_CORNERS = 4  # rounded numbers in an expression that are varied one by one
_COST: dict[Status, int] = {"follows": 0, "carried": 1, "unclear": 6, "wrong": 10}
UNNAMED = Meaning((), (), False)  # of a chain without a subject
CUT_OFF = "cut off rather than rounded"


@dataclass(frozen=True)
class Subject:
    """What a chain is about: a quantity or, ``inverse``, one over it."""

    key: Key
    inverse: bool = False

    @property
    def dims(self) -> Dims:
        a, b = KIND_DIMS[self.key.kind]
        return (-a, -b) if self.inverse else (a, b)


@dataclass(frozen=True)
class Context:
    """What is known when a chain is read."""

    working: Working
    habit: Habit
    bound: dict[Label, tuple[int, ...]]
    subject: tuple[Subject, ...] = ()  # of the chain before, for one that goes on with "= …"
    before: Expression | None = None  # its last numeric side
    before_status: Status = "follows"
    before_hull: Interval | None = None  # what that side was taken for
    usage: Usage = PLAIN_USAGE
    quick: bool = False  # only what follows at first sight


@dataclass(frozen=True)
class SideResult:
    """The verdict on one side.  ``values``: the SI values of the key it may mean (already
    inverted for an inverse subject); ``before``: the side it should equal, where numeric."""

    side: Side
    status: Status
    values: tuple[Interval, ...] = ()
    hull: Interval | None = None
    before: Expression | None = None
    before_status: Status | None = None
    remark: str | None = None
    rounded: Interval | None = None  # what a rounded result stands for


@dataclass(frozen=True)
class ChainResult:
    subjects: tuple[Subject, ...]  # every meaning that fits equally well; first is the likeliest
    results: tuple[SideResult, ...]  # one per side that is judged
    certain: bool
    label: Label | None = None
    aliases: tuple[Key, ...] = ()
    named: tuple[tuple[Label, tuple[int, ...]], ...] = ()  # labels whose group the chain shows
    misfit: int | None = None
    whole: bool = False  # its label is one for the whole

    @property
    def cost(self) -> int:
        """The less the better; a chain that starts rightly is better than one that ends so."""
        last = len(self.results)
        return sum(
            _COST[result.status] * (100 + last - place) for place, result in enumerate(self.results)
        )


def is_result(expression: Expression | None) -> bool:
    """A plain number, with its unit or without."""
    return isinstance(expression, Number) or (
        isinstance(expression, Measured) and isinstance(expression.amount, Number)
    )


def is_fraction(expression: Expression) -> bool:
    """A fraction of two whole numbers, perhaps with a unit: an exact result."""
    if isinstance(expression, Measured):
        expression = expression.amount
    return isinstance(expression, Quotient) and all(
        isinstance(part, Number) and part.whole for part in (expression.over, expression.under)
    )


def is_numeric(expression: Expression | None) -> bool:
    return (
        expression is not None
        and not isinstance(expression, Phrase | Several)
        and not symbols(expression)
    )


def inverted(expression: Expression) -> Expression | None:
    """X of 1/X or X⁻¹."""
    if isinstance(expression, Power) and expression.exponent == -1:
        return expression.base
    if isinstance(expression, Quotient) and isinstance(expression.over, Number):
        return expression.under if expression.over.value == 1 else None
    return None


def check(chain: Chain, context: Context) -> ChainResult | None:
    """Judge a chain; None where it is about nothing that can be related to the problem."""
    chain = _solved(chain)
    place, options = _subject(chain, context)
    if place is None and not options:
        return None
    sides = [side for number, side in enumerate(chain.sides) if number != place]
    if not sides:
        return None
    wanted = list(islice(options, _MOST_SUBJECTS))
    best = _best(wanted, sides, chain, replace(context, quick=True)) if len(wanted) > 1 else []
    if not best or best[0].cost > 0:
        best = _best(wanted, sides, chain, context)
    if not best:
        return None
    first = best[0]
    if first.whole and first.subjects[0].key.group == context.working.circuit.total:
        return first
    subjects = tuple(dict.fromkeys(r.subjects[0] for r in best))
    return replace(first, subjects=subjects, named=_named_by_all(best))


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
    for subject, its in wanted:
        result = _with_subject(subject, sides, chain, context)
        if result is None:
            continue
        result = _labelled(result, its)
        if not best or result.cost < best[0].cost:
            best = [result]
        elif result.cost == best[0].cost:
            best.append(result)
    return best


def judge_as(chain: Chain, subject: Subject, context: Context) -> ChainResult | None:
    """Judge a chain as being about one quantity."""
    chain = _solved(chain)
    place, options = _subject(chain, context)
    sides = [side for number, side in enumerate(chain.sides) if number != place]
    result = _with_subject(subject, sides, chain, context)
    option = next(options, None)
    if result is None or option is None:
        return result
    return _labelled(result, option[1])


def _solved(chain: Chain) -> Chain:
    """Turn an equation such as 3 = Q/24 into Q = 3 × 24, so that it has a subject."""
    if len(chain.sides) != 2 or chain.continued:
        return chain
    for here, there in ((0, 1), (1, 0)):
        number, other = chain.sides[here].expression, chain.sides[there].expression
        if number is None or not is_numeric(number) or not isinstance(other, Quotient):
            continue
        new: tuple[Expression, Expression] | None = None
        if isinstance(other.over, Symbol) and is_numeric(other.under):
            new = other.over, Product((number, other.under))
        elif isinstance(other.under, Symbol) and is_numeric(other.over) and not (
            isinstance(other.over, Number) and other.over.value == 1
        ):  # fmt: skip
            new = other.under, Quotient(other.over, number)
        if new is not None:
            left = replace(chain.sides[0], expression=new[0])
            right = replace(chain.sides[1], expression=new[1])
            return replace(chain, sides=(left, right))
    return chain


Option = tuple[Subject, Meaning | None]


def _subject(chain: Chain, context: Context) -> tuple[int | None, Iterator[Option]]:
    """The side that names the subject, and everything it may mean."""
    for place, side in enumerate(chain.sides):
        named = _named(side.expression, context)
        if named is not None:
            its, inverse = named
            return place, _options(chain, its, inverse, context, place)
    if chain.continued and context.subject:
        return None, ((subject, None) for subject in context.subject)
    if len(chain.sides) > 1:
        kinds = _kinds_by_unit(chain) or _kind_of_formula(chain, context) or ("C",)
        everything = context.working.circuit.groups
        return None, ((Subject(Key(k, g)), UNNAMED) for k in kinds for g in everything)
    return None, iter(())


def _named(expression: Expression | None, context: Context) -> tuple[Meaning, bool] | None:
    if expression is None:
        return None
    circuit = context.working.circuit
    if isinstance(expression, Phrase):
        its = spoken(circuit, expression, context.bound, context.usage)
        return (its, False) if its else None
    inside = inverted(expression)
    symbol = inside if inside is not None else expression
    if not isinstance(symbol, Symbol):
        return None
    its = meaning(circuit, symbol, context.bound, context.usage)
    return (its, inside is not None) if its else None


def _kind_of_formula(chain: Chain, context: Context) -> tuple[Kind, ...]:
    """The kind that a first side such as C1C2/(C1 + C2) has by its symbols."""
    one = exactly(Fraction(1))

    def found(which: int) -> Iterator[Kind]:
        def any_value(symbol: Symbol) -> tuple[Interval, Kind] | None:
            its = meaning(context.working.circuit, symbol, context.bound, context.usage)
            return (one, its.kinds[which]) if its else None

        first = chain.sides[0].expression
        value = measured_value(first, as_written, any_value) if first is not None else None
        yield from (kind for kind, dims in KIND_DIMS.items() if value and value[1] == dims)

    return tuple(dict.fromkeys((*found(0), *found(-1))))


def _kinds_by_unit(chain: Chain) -> tuple[Kind, ...]:
    """The kind that the unit of a plain result in the chain speaks for."""
    for side in reversed(chain.sides):
        expression = side.expression
        if isinstance(expression, Measured):
            kind = KIND_OF_UNIT.get(expression.unit.dimension)
            if kind:
                return (kind,)
    return ()


def _options(
    chain: Chain, its: Meaning, inverse: bool, context: Context, place: int
) -> Iterator[Option]:
    spoken_for = _kinds_by_unit(chain)
    kinds = its.kinds
    if len(kinds) > 1 and spoken_for and spoken_for[0] in kinds:
        kinds = spoken_for
    for kind in kinds:
        for group in its.groups:
            yield Subject(Key(kind, group), inverse), its


def _labelled(result: ChainResult, its: Meaning | None) -> ChainResult:
    if its is None:
        return result
    return replace(result, certain=its.certain, label=its.label, misfit=its.misfit, whole=its.whole)


def _with_subject(
    subject: Subject, sides: Sequence[Side], chain: Chain, context: Context
) -> ChainResult | None:
    working = context.working
    if working.circuit.value(subject.key) is None:
        return None
    results: list[SideResult] = []
    aliases: list[Key] = []
    named: list[tuple[Label, tuple[int, ...]]] = []
    before: Expression | None = context.before if chain.continued else None
    before_status: Status = context.before_status if chain.continued else "follows"
    before_hull = context.before_hull if chain.continued else None
    trailing = _trailing(sides, subject)
    for side in sides:
        expression = side.expression
        if expression is None:
            results.append(SideResult(side, "unclear"))
            continue
        if is_numeric(expression):
            then = replace(
                context, before=before, before_status=before_status, before_hull=before_hull
            )
            result = _numeric(side, expression, subject, trailing, then)
            if result.status == "wrong" and results and _repeats(results[-1], result):
                result = replace(result, status="carried", hull=results[-1].values[0])
            before, before_status, before_hull = expression, result.status, result.hull
        else:
            result, alias, label = _symbolic(side, expression, subject, context)
            named += [label] if label is not None else []
            if alias is not None and result.status != "wrong":
                aliases.append(alias)
            if result.status in ("wrong", "carried"):
                before, before_status, before_hull = expression, result.status, None
        results.append(result)
    _allow_scale_free(results, subject, context)
    return ChainResult((subject,), tuple(results), True, aliases=tuple(aliases), named=tuple(named))


def _allow_scale_free(results: list[SideResult], subject: Subject, context: Context) -> None:
    """1.07/4.00 = 267 V for 1.07 nC over 4.00 pF is no slip, whatever prefixes the writer had in
    mind, as long as the result is right."""
    for place in range(len(results) - 1):
        side, after = results[place], results[place + 1]
        expression = side.side.expression
        if side.status != "wrong" or after.status != "follows" or expression is None:
            continue
        bare = bare_value(expression, loose_numbers(context)) if is_scale_free(expression) else None
        if bare is None:
            continue
        for exponent in (3, -3, 6, -6, 9, -9):
            scale = context.habit.of(subject.dims)[0] * Fraction(10) ** exponent
            for value in _of_key([bare.scaled(scale)], subject):
                if context.working.follows(subject.key, value):
                    results[place] = replace(side, status="follows")


def _repeats(wrong: SideResult, result: SideResult) -> bool:
    """Whether a side only works out the wrong formula before it."""
    return wrong.status == "wrong" and any(a.meets(b) for a in wrong.values for b in result.values)


def _trailing(sides: Sequence[Side], subject: Subject) -> tuple[Fraction, ...]:
    for side in reversed(sides):
        expression = side.expression
        if isinstance(expression, Measured) and (
            KIND_OF_UNIT.get(expression.unit.dimension) == subject.key.kind
        ):
            factor = expression.unit.factor
            return (1 / factor if subject.inverse else factor,)
    return ()


def _of_key(values: list[Interval], subject: Subject) -> tuple[Interval, ...]:
    if not subject.inverse:
        return tuple(values)
    return tuple(v for value in values if (v := power(value, -1)) is not None)


def _numeric(
    side: Side,
    expression: Expression,
    subject: Subject,
    trailing: tuple[Fraction, ...],
    context: Context,
) -> SideResult:
    working, habit, key = context.working, context.habit, subject.key
    before, before_status = context.before, context.before_status

    def values(of_number=as_written) -> tuple[Interval, ...]:  # type: ignore[no-untyped-def]
        return _of_key(si_values(expression, subject.dims, habit, of_number, trailing), subject)

    exact = values()
    made = SideResult(side, "wrong", exact, None, before, before_status if before else None)
    if is_result(expression):
        ways = ((rounded, None), (cut_off, CUT_OFF))
        # A result written after its working comes out of that, not by some other route.
        worked_out = before is not None and is_numeric(before) and not is_result(before)
        follows = working.is_known if worked_out else working.follows
        for way, remark in ways:
            for allowed in values(way):
                support = follows(key, allowed)
                if support:
                    stands_for = None if support.hull in exact else allowed
                    return replace(
                        made, status="follows", hull=support.hull, remark=remark,
                        rounded=stands_for,
                    )  # fmt: skip
        equal = _equals_before(subject, trailing, context, values(could_stand_for))
        if equal is not None:
            status: Status = "follows" if before_status == "follows" else "carried"
            return replace(made, status=status, hull=equal)
        for way, remark in ways if not context.quick else ():
            for allowed in values(way):
                support = working.is_carried(key, allowed)
                if support:
                    return replace(made, status="carried", hull=support.hull, remark=remark)
        return made
    for allowed in exact:
        if support := working.follows(key, allowed):
            return replace(made, status="follows", hull=support.hull)
    if context.quick:
        return made
    loose: tuple[Interval, ...] = ()
    for givens in (False, True) if is_numeric(before) else (False,):
        way = loose_numbers(context, givens)
        loose = _of_key(_at_corners(expression, subject, habit, way, trailing), subject)
        for allowed in loose:
            if support := working.follows(key, allowed):
                return replace(made, status="follows", hull=support.hull)
    if before is not None:
        equal = _equals_before(subject, trailing, context, loose)
        if equal is not None:
            return replace(
                made, status="follows" if before_status == "follows" else "carried", hull=equal
            )
    for allowed in loose:
        if any(allowed.meets(wrong) for wrong in working.wrong.get(key, ())):
            return replace(made, status="carried", hull=allowed)  # the same slip, said again
    if working.wrong and (is_fraction(expression) or _uses_wrong(expression, context)):
        for allowed in (*exact, *loose):
            if support := working.is_carried(key, allowed):
                return replace(made, status="carried", hull=support.hull)
    implied = _with_operands(expression, key, context)
    if implied is not working:
        for allowed in (*exact, *loose):
            if support := implied.follows(key, allowed):
                return replace(made, status="follows", hull=support.hull)
            if support := implied.is_carried(key, allowed):
                return replace(made, status="carried", hull=support.hull)
    return made


def _at_corners(
    expression: Expression, subject: Subject, habit: Habit, of_number: OfNumber,
    trailing: tuple[Fraction, ...],
) -> list[Interval]:  # fmt: skip
    """The values of an expression whose numbers are intervals, each number the same wherever it
    stands: the laws are monotone in every number, so the extremes are at the ends."""
    its = {n: of_number(n) for m in numbers(expression) if isinstance(n := _bare(m), Number)}
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


def _bare(number: Number | Measured) -> Expression:
    return number.amount if isinstance(number, Measured) else number


def _with_operands(expression: Expression, key: Key, context: Context) -> Working:
    """The working with those numbers of an expression taken as written which follow as values of
    what the quantity is worked out from: 0.71 V in 8.9 × 0.71, for 12 V - 11.29 V."""
    working = context.working
    operands = {k for law in working.laws_for(key) for k, _power in law.operands if k != key}
    for literal in numbers(expression):
        number = literal.amount if isinstance(literal, Measured) else literal
        if not isinstance(number, Number) or len(number.digits) < 2:
            continue
        for operand in operands:
            if isinstance(literal, Measured):
                if KIND_OF_UNIT.get(literal.unit.dimension) != operand.kind:
                    continue
                scale = literal.unit.factor
            else:
                scale = context.habit.scales[operand.kind][0]
            right = context.working.right(operand)
            allowed = could_stand_for(number).scaled(scale)
            if right is None or right.meets(allowed):
                continue
            value = exactly(number.value * scale)
            if support := context.working.follows(operand, allowed):
                working = working.with_right(operand, value.hull(support.hull))
            elif support := context.working.is_carried(operand, allowed):
                working = working.with_wrong(operand, value.hull(support.hull))
    return working


def _equals_before(
    subject: Subject,
    trailing: tuple[Fraction, ...],
    context: Context,
    allowed: Sequence[Interval],
) -> Interval | None:
    """The value of the numeric side before, where it is among the allowed ones.

    The side before counts only in the units in which it was found to follow.
    """
    before, hull = context.before, context.before_hull
    if before is None or not is_numeric(before):
        return None
    for of_number in (as_written, could_stand_for if is_result(before) else loose_numbers(context)):
        for value in si_values(before, subject.dims, context.habit, of_number, trailing):
            for its in _of_key([value], subject):
                if hull is not None and not _same_scale(its, hull):
                    continue
                for other in allowed:
                    if common := its.common(other):
                        return common
    return None


def _same_scale(one: Interval, other: Interval) -> bool:
    return one.low < 3 * other.high and other.low < 3 * one.high


def loose_numbers(context: Context, givens: bool = False):  # type: ignore[no-untyped-def]
    """Numbers inside an expression as what they may have been rounded from.  A whole number is
    taken as exact if it has one figure or if it is the exact value of something."""
    exact = frozenset() if givens else context.habit.exact

    def of_number(number: Number) -> Interval:
        allowed = could_stand_for(number)
        if number.value in exact or _is_structure(number):
            return exactly(number.value)
        if number.value + number.last_place in context.habit.exact:
            allowed = rounded(number)  # that one would have been written as it is
        if not number.whole or number.has_power:
            return allowed
        if len(number.digits) == 3:  # 260 among operands is 26 × 10 rather than 258 rounded
            half = min(number.last_place, Fraction(1)) / 2
            return Interval(number.value - half, number.value + half)
        return allowed

    return of_number


def _uses_wrong(expression: Expression, context: Context) -> bool:
    """Whether a wrong value, or one over it, is among the numbers of an expression."""
    literals: list[tuple[Kind | None, Interval]] = []
    for literal in numbers(expression):
        kind: Kind | None = None
        scale, number = Fraction(1), _bare(literal)
        if isinstance(literal, Measured):
            kind = KIND_OF_UNIT.get(literal.unit.dimension)
            scale = literal.unit.factor
        if isinstance(number, Number) and number.digits not in ("1", "2"):
            literals.append((kind, rough(could_stand_for(number).scaled(scale))))
    scales = {kind: [float(s) for s in its] for kind, its in context.habit.scales.items()}
    for key, value in context.working.wrong_values():
        if value.low <= 0:
            continue
        for kind, allowed in literals:
            if kind is not None:
                if kind == key.kind and value.meets(allowed):
                    return True
                continue
            for unit in scales[key.kind]:
                low, high = value.low / unit, value.high / unit
                if (low <= allowed.high and allowed.low <= high) or (
                    1 / high <= allowed.high and allowed.low <= 1 / low
                ):
                    return True
    return False


def _symbolic(
    side: Side, expression: Expression, subject: Subject, context: Context
) -> tuple[SideResult, Key | None, tuple[Label, tuple[int, ...]] | None]:
    """A side with symbols: is it equal to the subject for some meaning of them?

    Gives also the quantity that a lone symbol is another name of, and the groups that a label of
    the student's own can have, where the side has one such label.
    """
    working = context.working
    found = tuple(dict.fromkeys(symbols(expression)))
    its = [meaning(working.circuit, symbol, context.bound, context.usage) for symbol in found]
    if isinstance(expression, Phrase | Several) or not found or any(m is None for m in its):
        return SideResult(side, "unclear"), None, None
    known = [m for m in its if m is not None]
    choices = [_choices(symbol, m, subject) for symbol, m in zip(found, known, strict=True)]
    exact = working.circuit.value(subject.key)
    if exact is None:
        return SideResult(side, "unclear"), None, None
    if isinstance(expression, Beside) and not may_stand_beside(known, working):
        value = bare_value(expression, as_written, lambda s: _of_certain(s, context))
        return SideResult(side, "wrong", (value,) if value else ()), None, None
    target = 1 / exact if subject.inverse else exact
    alias = None
    tried = list(islice(product(*choices), _MOST_ASSIGNMENTS + 1))
    exhaustive = len(tried) <= _MOST_ASSIGNMENTS
    if not exhaustive:
        tried = [*_made_up_of(subject, choices), *tried]
    values: list[tuple[Interval, tuple[Key, ...]]] = []
    own = [place for place, m in enumerate(known) if m.label is not None and not m.certain]
    fitting: list[tuple[Key, ...]] = []
    for keys in tried:
        of = dict(zip(found, keys, strict=True))
        value = _evaluate(expression, of, subject, context, lambda key: working.circuit.value(key))
        if value is None:
            continue
        values.append((value, keys))
        if value.low <= target <= value.high:
            fitting.append(keys)
            if len(own) != 1:
                break
    if fitting:
        if isinstance(expression, Symbol) and known[0].certain:
            alias = fitting[0][0]
        named = None
        if len(own) == 1 and (label := known[own[0]].label) is not None:
            named = label, tuple(dict.fromkeys(keys[own[0]].group for keys in fitting))
        return SideResult(side, "follows"), alias, named
    for steps in (0, 1):
        for _value, keys in values[:40]:
            of = dict(zip(found, keys, strict=True))
            status = _in_working(expression, of, subject, context, steps)
            if status is not None:
                if isinstance(expression, Symbol) and known[0].certain:
                    alias = keys[0]
                return SideResult(side, status), alias, None
    sure = all(m.certain or not (s.index or s.primes) for s, m in zip(found, known, strict=True))
    only_structure = all(
        _is_structure(n) or (isinstance(n, Number) and n.whole and len(n.digits) == 1)
        for n in numbers(expression)
    )
    # A formula of the wrong dimensions is wrong whatever its symbols mean.
    misshapen = only_structure and _has_wrong_dimensions(expression, its, found, subject)
    hopeless = exhaustive and 0 < len(own) <= 2  # no group makes it right
    sure = sure or misshapen or hopeless
    status = "wrong" if sure and only_structure and values else "unclear"
    shown = _of_key([value for value, _keys in values[:1]], subject)
    if values:  # what the bare numbers of the page would give
        bare = _in_page_units(
            expression, dict(zip(found, values[0][1], strict=True)), subject, context
        )
        shown += _of_key([bare] if bare is not None else [], subject)
    return SideResult(side, status, shown), None, None


def _made_up_of(subject: Subject, choices: Sequence[list[Key]]) -> Iterator[tuple[Key, ...]]:
    """The choices of capacitances that make up a group and do not overlap."""
    kinds = {key.kind for keys in choices for key in keys} | {subject.key.kind}
    if kinds != {"C"}:
        return
    inside = [[k for k in keys if not k.group & ~subject.key.group] for keys in choices]
    for keys in islice(product(*inside), _MOST_COMBINATIONS):
        if sum(k.group for k in keys) == subject.key.group:
            yield keys


def may_stand_beside(members: Sequence[Meaning], working: Working) -> bool:
    """Whether elements written with the parallel sign between them are in parallel, as far as
    their labels are certain."""
    if not all(m.certain and len(m.groups) == 1 and m.kinds == ("C",) for m in members):
        return True
    mask = 0
    for m in members:
        mask |= m.groups[0]
    home = working.circuit.parts(mask)
    return home is not None and not home.is_series


def _of_certain(symbol: Symbol, context: Context) -> tuple[Interval, Kind] | None:
    its = meaning(context.working.circuit, symbol, context.bound, context.usage)
    value = context.working.right(Key("C", its.groups[0])) if its else None
    return (value, "C") if value is not None else None


def _has_wrong_dimensions(
    expression: Expression,
    its: Sequence[Meaning | None],
    found: Sequence[Symbol],
    subject: Subject,
) -> bool:
    kinds = {s: m.kinds[0] for s, m in zip(found, its, strict=True) if m and len(m.kinds) == 1}
    one = exactly(Fraction(1))
    value = measured_value(
        expression, as_written, lambda s: (one, kinds[s]) if s in kinds else None
    )
    return value is not None and value[1] != subject.dims


def _is_structure(number: Number | Measured) -> bool:
    return isinstance(number, Number) and number.digits in ("1", "2", "0.5", ".5", "½")


def _choices(symbol: Symbol, its: Meaning, subject: Subject) -> list[Key]:
    groups: Sequence[int] = its.groups
    if not its.certain and not symbol.index and not symbol.primes:
        groups = tuple(dict.fromkeys((subject.key.group, its.groups[0])))
    return [Key(kind, group) for kind in its.kinds for group in groups[:40]]


def _evaluate(  # type: ignore[no-untyped-def]
    expression: Expression, of: dict[Symbol, Key], subject: Subject, context: Context, value_of,
) -> Interval | None:  # fmt: skip
    """A symbolic side with given values, in SI; bare numbers in it are in the page's units."""

    def si(symbol: Symbol) -> tuple[Interval, Kind] | None:
        value = value_of(of[symbol])
        if value is None:
            return None
        return (value if isinstance(value, Interval) else exactly(value)), of[symbol].kind

    if all(_is_structure(number) for number in numbers(expression)) or has_units(expression):
        measured = measured_value(expression, could_stand_for_unless_structure, si)
        if measured is not None and measured[1] == subject.dims:
            return measured[0]
        return bare_value(expression, as_written, si, prefixes=True)

    def bare(symbol: Symbol) -> tuple[Interval, Kind] | None:
        known = si(symbol)
        if known is None:
            return None
        return known[0].scaled(1 / context.habit.scales[known[1]][0]), known[1]

    value = bare_value(expression, could_stand_for_unless_structure, bare)
    return value.scaled(context.habit.of(subject.dims)[0]) if value is not None else None


def _in_page_units(
    expression: Expression, of: dict[Symbol, Key], subject: Subject, context: Context
) -> Interval | None:
    scales = context.habit.scales

    def bare(symbol: Symbol) -> tuple[Interval, Kind] | None:
        value = context.working.right(of[symbol])
        kind = of[symbol].kind
        return (value.scaled(1 / scales[kind][0]), kind) if value is not None else None

    value = bare_value(expression, as_written, bare)
    return value.scaled(context.habit.of(subject.dims)[0]) if value is not None else None


def could_stand_for_unless_structure(number: Number) -> Interval:
    return (
        exactly(number.value) if _is_structure(number) or number.whole else could_stand_for(number)
    )


def _in_working(
    expression: Expression, of: dict[Symbol, Key], subject: Subject, context: Context, steps: int
) -> Status | None:
    """Whether a side with symbols holds for the values the page has given them."""
    working = context.working
    left = working.right(subject.key, steps)
    right = _evaluate(expression, of, subject, context, lambda key: working.right(key, steps))
    mixed = not all(_is_structure(number) for number in numbers(expression))
    if mixed and left is not None and right is not None:
        target = power(left, -1) if subject.inverse else left
        if target is not None and target.meets(right):
            return "follows"
    if working.wrong and mixed:
        options = [
            [*working.carried(key, steps), *([r] if (r := working.right(key)) else [])]
            for key in of.values()
        ]
        for chosen in islice(product(*options), 60):
            values = dict(zip(of.values(), chosen, strict=True))
            value = _evaluate(expression, of, subject, context, values.get)
            if value is None:
                continue
            for target in _of_key([value], subject):
                if working.is_carried(subject.key, target):
                    return "carried"
    return None
