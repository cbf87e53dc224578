"""One side of a chain with symbols: is it equal to the quantity for some meaning of them?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice, product

from checker.exact import Fraction
from checker.matching.circuit import Key, Kind
from checker.matching.context import Context, SideResult, Status, Subject, of_key
from checker.matching.forms import is_structure
from checker.matching.intervals import Interval, could_stand_for, exactly, power, rough
from checker.matching.labels import Label, Meaning, meaning
from checker.matching.values import as_written, bare_value, has_units, measured_value
from checker.matching.working import Working
from checker.notation.tree import (
    Beside,
    Expression,
    Number,
    Phrase,
    Several,
    Side,
    Symbol,
    numbers,
    symbols,
)

_MOST_ASSIGNMENTS = 900
_TRIED_AS_A_SIDE = 8  # assignments that take about as long as a side with numbers
_NEAR = Fraction(1, 10**6)
_MOST_COMBINATIONS = 10_000
_MOST_TRIED = 40  # assignments that are tried with the values written on the page


def judge_symbolic(
    side: Side, expression: Expression, subject: Subject, its_label: Label | None, context: Context
) -> tuple[SideResult, Key | None, tuple[Label, tuple[int, ...]] | None]:
    """A side with symbols: is it equal to the subject for some meaning of them?

    Gives also the quantity that a lone symbol is another name of, and the groups that a label of
    the student's own can have, where the side has one such label.  ``its_label``: that of the
    subject, which stands for the same group in the whole chain.
    """
    working = context.working
    found = tuple(dict.fromkeys(symbols(expression)))
    its = [meaning(working.circuit, symbol, context.bound, context.usage) for symbol in found]
    if isinstance(expression, Phrase | Several) or not found or any(m is None for m in its):
        return SideResult(side, "unclear"), None, None
    known = [m for m in its if m is not None]
    choices = [
        _choices(symbol, m, subject, m.label is not None and m.label == its_label)
        for symbol, m in zip(found, known, strict=True)
    ]
    exact = working.circuit.value(subject.key)
    if exact is None:
        return SideResult(side, "unclear"), None, None
    if isinstance(expression, Beside) and not may_stand_beside(known, working):
        value = bare_value(expression, as_written, lambda s: _of_certain(s, context))
        return SideResult(side, "wrong", (value,) if value else ()), None, None
    alias = None
    own = [place for place, m in enumerate(known) if m.label is not None and not m.certain]
    again = id(expression), subject, tuple(map(tuple, choices)), len(own) == 1
    if again not in context.habit.tried:  # the exact values do not depend on what was written
        target = 1 / exact if subject.inverse else exact
        its_tried = _try(expression, found, choices, subject, context, target, len(own) == 1)
        context.habit.tried[again] = expression, its_tried
    exhaustive, values, fitting = context.habit.tried[again][1]
    if fitting:
        if isinstance(expression, Symbol) and known[0].certain:
            alias = fitting[0][0]
        named = None
        if len(own) > 1 and all(known[place].whole for place in own):
            # In Q = C_eq V_s, as far as it is about the whole, V_s is the supply's.
            own = [at for at in own if fitting[0][at] == Key("V", working.circuit.total)]
        if len(own) == 1 and (label := known[own[0]].label) is not None:
            named = label, tuple(dict.fromkeys(keys[own[0]].group for keys in fitting))
        return SideResult(side, "follows"), alias, named
    for steps in (0, 1):
        for _value, keys in values[: 4 if context.crowded else _MOST_TRIED]:
            of = dict(zip(found, keys, strict=True))
            status = _in_working(expression, of, subject, context, steps)
            if status is not None:
                if isinstance(expression, Symbol) and known[0].certain:
                    alias = keys[0]
                return SideResult(side, status), alias, None
    sure = all(m.certain or not (s.index or s.primes) for s, m in zip(found, known, strict=True))
    only_structure = all(
        is_structure(n) or (isinstance(n, Number) and n.whole and len(n.digits) == 1)
        for n in numbers(expression)
    )
    # A formula of the wrong dimensions is wrong whatever its symbols mean.
    misshapen = only_structure and _has_wrong_dimensions(expression, its, found, subject)
    hopeless = exhaustive and 0 < len(own) <= 2  # no group makes it right
    sure = sure or misshapen or hopeless
    status = "wrong" if sure and only_structure and values else "unclear"
    shown = of_key([value for value, _keys in values[:1]], subject)
    if values:  # what the bare numbers of the page would give
        bare = _in_page_units(
            expression, dict(zip(found, values[0][1], strict=True)), subject, context
        )
        shown += of_key([bare] if bare is not None else [], subject)
    return SideResult(side, status, shown), None, None


def _try(
    expression: Expression, found: Sequence[Symbol], choices: Sequence[list[Key]],
    subject: Subject, context: Context, target: Fraction, every: bool,
) -> tuple[bool, list[tuple[Interval, tuple[Key, ...]]], list[tuple[Key, ...]]]:  # fmt: skip
    """The assignments of quantities to symbols: whether all were tried, the values that the first
    ones give, and those (``every`` one, or only the first) that give the target exactly."""
    tried = list(islice(product(*choices), _MOST_ASSIGNMENTS + 1))
    exhaustive = len(tried) <= _MOST_ASSIGNMENTS
    if not exhaustive:
        tried = [*_made_up_of(subject, choices), *tried]
    context.habit.effort.sides += len(tried) // _TRIED_AS_A_SIDE
    values: list[tuple[Interval, tuple[Key, ...]]] = []
    fitting: list[tuple[Key, ...]] = []

    def roughly(key: Key) -> Interval | None:
        exact = context.working.circuit.value(key)
        return rough(exactly(exact)) if exact is not None else None

    near = rough(Interval(target * (1 - _NEAR), target * (1 + _NEAR)))
    for keys in tried:
        of = dict(zip(found, keys, strict=True))
        if len(values) == _MOST_TRIED:  # only those that fit are of use, and few are near
            estimate = _evaluate(expression, of, subject, context, roughly)
            if estimate is None or not rough(estimate).meets(near):
                continue
        value = _evaluate(expression, of, subject, context, context.working.circuit.value)
        if value is None:
            continue
        if len(values) < _MOST_TRIED:
            values.append((value, keys))
        if value.low <= target <= value.high:
            fitting.append(keys)
            if not every:
                break
    return exhaustive, values, fitting


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


def _choices(symbol: Symbol, its: Meaning, subject: Subject, same: bool) -> list[Key]:
    groups: Sequence[int] = its.groups
    if same and not its.whole and subject.key.group in groups:
        groups = (subject.key.group,)
    elif not its.certain and not symbol.index and not symbol.primes:
        groups = tuple(dict.fromkeys((subject.key.group, its.groups[0])))
        if its.kinds == (subject.key.kind,):  # V2 = V·C1/(C1 + C2) is not about V2 itself
            groups = groups[::-1]
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

    if all(is_structure(number) for number in numbers(expression)) or has_units(expression):
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
    """What a number may be rounded from; whole numbers and those of formulas are exact."""
    return (
        exactly(number.value) if is_structure(number) or number.whole else could_stand_for(number)
    )


def _in_working(
    expression: Expression, of: dict[Symbol, Key], subject: Subject, context: Context, steps: int
) -> Status | None:
    """Whether a side with symbols holds for the values the page has given them."""
    working = context.working
    left = working.right(subject.key, steps)
    right = _evaluate(expression, of, subject, context, lambda key: working.right(key, steps))
    mixed = not all(is_structure(number) for number in numbers(expression))
    if mixed and left is not None and right is not None:
        target = power(left, -1) if subject.inverse else left
        if target is not None and target.meets(right):
            return "follows"
    if working.wrong and mixed:
        options = [
            [*working.carried(key, steps), *([r] if (r := working.right(key)) else [])]
            for key in of.values()
        ]
        for chosen in islice(product(*options), 8 if context.crowded else 60):
            values = dict(zip(of.values(), chosen, strict=True))
            value = _evaluate(expression, of, subject, context, values.get)
            if value is None:
                continue
            for target in of_key([value], subject):
                if working.is_carried(subject.key, target):
                    return "carried"
    return None
