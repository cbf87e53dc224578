"""One line of working, judged: its statements become findings, and the working goes on from it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction

from checker.markup import plain
from checker.matching.chain import (
    ChainResult,
    Context,
    SideResult,
    Status,
    Subject,
    check,
    is_fraction,
    is_numeric,
    is_result,
    judge_as,
)
from checker.matching.circuit import Circuit, Key
from checker.matching.diagnose import Diagnosis, diagnose
from checker.matching.intervals import Interval
from checker.matching.labels import PLAIN_USAGE, Label, Usage, meaning
from checker.matching.values import Habit
from checker.matching.working import Working
from checker.notation.parse import parse, prepared
from checker.notation.tree import (
    Chain,
    Expression,
    Measured,
    Number,
    Product,
    Several,
    Side,
    Statement,
    Symbol,
    Words,
)

_MOST_MEANINGS = 6  # meanings of a label that its values are written down for
_MOST_SUBJECTS = 40  # that a chain going on with "= …" may be about
_NEAR = Fraction(1, 20)  # roundings of lines that were misread change a value by less
_OPERATOR = re.compile(r"[+×·/^]|\w-\w*\d")
CONFIDENT = 0.45  # a diagnosis with this score explains what is written


@dataclass(frozen=True)
class Finding:
    """A judged statement before anything is decided about the page.

    ``status`` "words" is no working.  ``start`` and ``end`` are offsets in the prepared text.
    ``diagnosis`` explains a wrong one; ``sure`` is False where the label is the student's own and
    nothing explains the value.
    """

    start: int
    end: int
    text: str
    status: Status | str
    keys: tuple[Key, ...] = ()
    result: bool = False  # a plain value is written
    remark: str | None = None
    diagnosis: Diagnosis | None = None
    sure: bool = True
    written: str = ""
    unit: str | None = None
    unitless: bool = False
    chain: int = 0  # where its chain starts
    whole_label: bool = False  # its label is one for the whole
    named: bool = False  # its label names its elements
    misfit: int | None = None  # the elements its label names, which may not be combined
    inverse: bool = False  # it is about one over the quantity
    far: bool = False  # wrong by more than any rounding of lines that were misread


@dataclass(frozen=True)
class State:
    """Everything that one line leaves to the next."""

    working: Working
    bound: dict[Label, tuple[int, ...]]
    subject: tuple[Subject, ...] = ()
    before: Expression | None = None
    before_status: Status = "follows"
    before_hull: Interval | None = None
    pending: Expression | None = None  # "C3 + C4", to be gone on with in the next line
    columns: tuple[Symbol, ...] = ()  # the head of a table
    usage: Usage = PLAIN_USAGE


def read_line(
    text: str, state: State, habit: Habit, explain: bool = True
) -> tuple[tuple[Finding, ...], State]:
    """Judge the statements of one line against the state before it.

    Without ``explain`` wrong findings get no diagnosis, which is quicker.
    """
    findings: list[Finding] = []
    whole = prepared(text)
    statements, state = in_table(parse(text, habit.comma), state)
    for statement in statements:
        shown = plain(whole[statement.start : statement.end])
        if isinstance(statement, Words):
            findings.append(_claim(statement, shown, state))
            if _OPERATOR.search(shown):  # no sentence, but a line that was misread
                state = replace(state, subject=(), before=None, before_hull=None)
            continue
        if not isinstance(statement, Chain):
            findings.append(Finding(statement.start, statement.end, shown, "unclear"))
            state = replace(state, subject=(), before=None)
            continue
        for chain in _unlisted(statement):
            found, state = _read_chain(chain, whole, state, habit, explain)
            findings += found
    return tuple(findings), state


def in_table(
    statements: tuple[Statement, ...], state: State
) -> tuple[tuple[Statement, ...], State]:
    """Read the head of a table, or a row of one as a chain for every cell.

    Either the head names elements and each row a kind ("Q  72 µC  120 µC"), or the other way
    round ("C1  4 µF  72 µC  18 V").
    """
    cells = [s.sides[0] for s in statements if isinstance(s, Chain) and not s.relations]
    if not cells or any(isinstance(s, Chain) and s.relations for s in statements):
        return statements, state
    heads = [_head(cell.expression) for cell in cells]
    if all(heads):
        return statements, replace(state, columns=tuple(h for h in heads if h is not None))
    columns, first = state.columns, heads[0]
    values = cells[1:]
    if first is None or any(heads[1:]) or len(values) != len(columns):
        return statements, state
    chains: list[Statement] = []
    for column, value in zip(columns, values, strict=True):
        symbol = (
            Symbol(first.letter, column.index, column.primes)
            if column.index and not first.index
            else Symbol(column.letter, first.index, first.primes)
        )
        left = Side(symbol, value.start, value.start)
        chains.append(Chain((left, value), ("=",), False, value.start, value.end))
    return tuple(chains), state


def _head(expression: Expression | None) -> Symbol | None:
    """The symbol of a table's head, perhaps with its unit: "C (µF)"."""
    if isinstance(expression, Product) and len(expression.factors) == 2:
        expression = expression.factors[0]
    return expression if isinstance(expression, Symbol) else None


def _claim(words: Words, shown: str, state: State) -> Finding:
    """Words; "C1 and C2 in series" can be checked against the network."""
    quiet = Finding(words.start, words.end, shown, "words")
    said = set(words.phrase.words)
    series, parallel = "series" in said, bool(said & {"parallel", "∥"})
    circuit = state.working.circuit
    its = [
        meaning(circuit, s, state.bound, state.usage)
        for s in words.phrase.symbols
        if s.letter == "C"
    ]
    groups = [m.groups[0] for m in its if m is not None and m.certain and len(m.groups) == 1]
    if series is parallel or len(groups) < 2 or len(groups) != len(its):
        return quiet
    mask = 0
    for group in groups:
        mask |= group
    home = circuit.parts(mask)
    if home is None or set(home.members) != set(groups):
        return quiet
    if home.is_series is series:
        return replace(quiet, status="follows", keys=(Key("C", mask),))
    kind = "parallel-combined-as-series" if series else "series-combined-as-parallel"
    diagnosis = Diagnosis(Subject(Key("C", mask)), (kind,), 1.0, None)
    return replace(
        quiet, status="wrong", keys=(Key("C", mask),), diagnosis=diagnosis, written=shown
    )


def _unlisted(chain: Chain) -> tuple[Chain, ...]:
    """Take lists apart: "Q2, Q3 = 16, 32 µC" is two chains, "Q1, Q2 = 48 µC" also."""
    lists = [s.expression.items for s in chain.sides if isinstance(s.expression, Several)]
    if not lists:
        return (chain,)
    count = len(lists[0])
    if any(len(items) != count for items in lists):
        return (chain,)
    chains = []
    for place in range(count):
        sides = []
        for side in chain.sides:
            expression = side.expression
            if isinstance(expression, Several):
                last, its = expression.items[-1], expression.items[place]
                if isinstance(its, Number) and isinstance(last, Measured):
                    its = Measured(its, last.unit, last.power)
                expression = its
            sides.append(Side(expression, side.start, side.end))
        chains.append(replace(chain, sides=tuple(sides)))
    return tuple(chains)


def _read_chain(
    chain: Chain, whole: str, state: State, habit: Habit, explain: bool
) -> tuple[list[Finding], State]:
    if chain.continued and not state.subject and state.pending is not None:
        first = Side(state.pending, chain.start, chain.start)
        sides = (first, *chain.sides)
        chain = replace(chain, sides=sides, relations=("=", *chain.relations), continued=False)
    context = Context(
        state.working, habit, state.bound, state.subject, state.before, state.before_status,
        state.before_hull, state.usage,
    )  # fmt: skip
    result = check(chain, context)
    if result is None:
        shown = plain(whole[chain.start : chain.end])
        says_nothing = not chain.relations and not chain.continued
        expression = chain.sides[0].expression
        starts = says_nothing and not is_result(expression) and not isinstance(expression, Symbol)
        state = replace(
            state, subject=(), before=None, before_hull=None,
            pending=expression if starts else None,
        )  # fmt: skip
        status = "words" if says_nothing else "unclear"
        return [Finding(chain.start, chain.end, shown, status)], state
    diagnoses = _diagnoses(result, context, explain)
    meant = result.subjects if 0 not in diagnoses else ()
    if diagnoses and explain and len(result.subjects) > 1:
        chosen = max(diagnoses.values(), key=lambda d: d.score).subject
        context = replace(context, subject=(chosen,))
        result = judge_as(chain, chosen, context) or result
        diagnoses = _diagnoses(result, context, explain)
    findings = _findings(chain, whole, result, diagnoses, state.working.circuit)
    return findings, _after(chain, result, diagnoses, state, meant)


def _diagnoses(result: ChainResult, context: Context, explain: bool) -> dict[int, Diagnosis]:
    """A diagnosis for every wrong side.  The first takes over what explains a later one better:
    in V2 = V3 = V = 12 V the last side tells what was meant."""
    places = [place for place, side in enumerate(result.results) if side.status == "wrong"]
    if not explain:
        nothing = Diagnosis(result.subjects[0], ("unexplained",), 0.0, None)
        return dict.fromkeys(places, nothing)
    found = {place: diagnose(result, place, context) for place in places}
    if len(places) > 1:
        first = found[places[0]]
        best = max(found.values(), key=lambda diagnosis: diagnosis.score)
        last = result.results[places[-1]].side.expression
        if isinstance(result.results[places[0]].side.expression, Symbol) and is_result(last):
            best = found[places[-1]]
        if best.score > 1.5 * first.score or (best.score > 0.4 and best is found[places[-1]]):
            found[places[0]] = replace(best, value=first.value)
    return found


def _findings(
    chain: Chain,
    whole: str,
    result: ChainResult,
    diagnoses: dict[int, Diagnosis],
    circuit: Circuit,
) -> list[Finding]:
    findings = []
    keys = tuple(dict.fromkeys(s.key for s in result.subjects))[:_MOST_MEANINGS]
    last_end = chain.start
    seen_right = False
    for place, side in enumerate(result.results):
        first = place == 0
        end = chain.end if place + 1 == len(result.results) else side.side.end
        start = chain.start if first else last_end
        text = plain(whole[start:end])
        diagnosis = diagnoses.get(place)
        expression = side.side.expression
        sure = diagnosis is None or diagnosis.score >= CONFIDENT or seen_right
        sure = sure or result.certain or result.whole
        sure = sure or not is_numeric(expression)  # a formula that holds for no group at all
        if side.status == "follows" and is_numeric(expression):
            seen_right = True
        findings.append(
            Finding(
                start, end, text, side.status,
                (diagnosis.subject.key,) if diagnosis else keys,
                _is_value(expression) and not result.subjects[0].inverse,
                side.remark, diagnosis, sure, _written(result.results[place:], whole),
                expression.unit.symbol if isinstance(expression, Measured) else None,
                isinstance(expression, Number),
                chain.start,
                result.whole,
                result.certain,
                result.misfit,
                result.subjects[0].inverse,
                diagnosis is not None and _is_far(side, diagnosis, circuit),
            )
        )  # fmt: skip
        last_end = end
    if len(findings) > 1 and not findings[0].text:  # the side that stands in the line before
        if findings[0].status in ("follows", "words"):
            return findings[1:]
        findings[0] = replace(findings[0], text=findings[1].text, end=findings[1].end)
    return findings


def _is_value(expression: Expression | None) -> bool:
    return is_result(expression) or (expression is not None and is_fraction(expression))


def _is_far(side: SideResult, diagnosis: Diagnosis, circuit: Circuit) -> bool:
    exact = circuit.value(diagnosis.subject.key)
    return exact is not None and not any(
        value.low < exact * (1 + _NEAR) and value.high > exact * (1 - _NEAR)
        for value in side.values
    )


def _written(sides: tuple[SideResult, ...], whole: str) -> str:
    """What to quote: the value that the wrong side leads to, where the chain works it out."""
    shown = sides[0].side
    for later in sides[1:]:
        if later.status == "carried" and is_result(later.side.expression):
            shown = later.side
    return plain(whole[shown.start : shown.end])


def _after(
    chain: Chain,
    result: ChainResult,
    diagnoses: dict[int, Diagnosis],
    state: State,
    meant: tuple[Subject, ...],
) -> State:
    """The state that a chain leaves.  ``meant``: all that it may be about, where its first side
    follows."""
    working, bound = state.working, state.bound
    keys = tuple(dict.fromkeys(s.key for s in result.subjects))[:_MOST_MEANINGS]
    last = len(result.results) - 1
    for place, side in enumerate(result.results):
        diagnosis = diagnoses.get(place)
        value = _value(side, diagnosis)
        expression = side.side.expression
        if side.status == "follows" and value is not None and side.rounded is not None:
            value = value.hull(side.rounded)
        plain_value = is_result(expression) or (place == last and is_numeric(expression))
        if side.status == "follows" and value is not None and plain_value:
            for key in (*keys, *result.aliases):
                working = working.with_right(key, value)
        elif side.status in ("wrong", "carried") and value is not None:
            about = (diagnosis.subject.key,) if diagnosis else keys[:1]
            for key in (*about, *result.aliases):
                working = working.with_wrong(key, value)
    for key in keys[:1]:
        working = working.knowing(key.group)
    means_whole = result.whole and result.subjects[0].key.group == working.circuit.total
    for label, its in result.named:
        if (
            label not in bound and len(its) <= 24 and (result.certain or means_whole)
            and not diagnoses
        ):  # fmt: skip
            bound = {**bound, label: its}
    if result.label is not None and not means_whole:
        groups = tuple(dict.fromkeys(s.key.group for s in meant or result.subjects))
        if diagnoses and not meant:
            groups = (max(diagnoses.values(), key=lambda d: d.score).subject.key.group,)
        if len(groups) <= 24:
            bound = {**bound, result.label: groups}
    numeric = [side for side in result.results if is_numeric(side.side.expression)]
    before = numeric[-1].side.expression if numeric else None
    status = numeric[-1].status if numeric else "follows"
    if chain.continued and not numeric:
        before, status = state.before, state.before_status
    hull = numeric[-1].hull if numeric else None
    lost = not result.certain and any(s.status == "unclear" for s in result.results)
    return replace(
        state,
        working=working,
        bound=bound,
        subject=() if lost else result.subjects[:_MOST_SUBJECTS],
        before=before,
        before_status=status,
        before_hull=hull,
        pending=None,
    )


def _value(side: SideResult, diagnosis: Diagnosis | None) -> Interval | None:
    """The values a side may have had: as written and, where known, before it was rounded."""
    if not side.values:
        return diagnosis.value if diagnosis is not None else None
    if diagnosis is not None:
        known = diagnosis.value
        return side.values[0] if known is None else _nearest(side.values, known).hull(known)
    if side.hull is None:
        return None
    return _nearest(side.values, side.hull).hull(side.hull)


def _nearest(values: tuple[Interval, ...], hull: Interval) -> Interval:
    return min(values, key=lambda v: max(v.high, hull.high) - min(v.low, hull.low))


def start(circuit: Circuit, usage: Usage) -> State:
    return State(Working(circuit), {}, usage=usage)
