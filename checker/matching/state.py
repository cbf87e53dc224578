"""What one line leaves to the next."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from checker.matching.circuit import Circuit, Key
from checker.matching.context import ChainResult, SideResult, Status, Subject
from checker.matching.diagnose import Diagnosis
from checker.matching.finding import MOST_MEANINGS, nearest
from checker.matching.forms import is_fraction, is_numeric, is_result, is_worked
from checker.matching.intervals import Interval
from checker.matching.labels import PLAIN_USAGE, Label, Usage
from checker.matching.numeric_side import CUT_OFF
from checker.matching.slips import SLIPS
from checker.matching.working import Working
from checker.notation.tree import Chain, Expression, Symbol

_MOST_SUBJECTS = 40  # that a chain going on with "= …" may be about


@dataclass(frozen=True)
class Table:
    """The head of a table and what its rows have named so far.  ``guessed``: the column whose head
    was misread.  ``rows``: the groups that the rows are about, None for one that was guessed."""

    columns: tuple[Symbol, ...] = ()
    guessed: int | None = None
    rows: tuple[int | None, ...] = ()


@dataclass(frozen=True)
class State:
    """Everything that one line leaves to the next."""

    working: Working
    bound: dict[Label, tuple[int, ...]]
    subject: tuple[Subject, ...] = ()
    before: Expression | None = None
    before_status: Status = "follows"
    before_hull: Interval | None = None
    earlier: Expression | None = None  # numbers worked with in the side before that one
    pending: Expression | None = None  # "C3 + C4", to be gone on with in the next line
    table: Table = Table()
    usage: Usage = PLAIN_USAGE
    label: Label | None = None  # the student's own, under which the chain before stands
    aliases: tuple[Key, ...] = ()  # what else the chain before was about: Q2 in "Q1 = Q2"
    cuts_off: bool = False  # a value was cut off rather than rounded


def state_after(
    chain: Chain,
    result: ChainResult,
    diagnoses: dict[int, Diagnosis],
    state: State,
    meant: tuple[Subject, ...],
    implied: Iterable[tuple[Key, Interval]] = (),
) -> State:
    """The state that a chain leaves.  ``meant``: all that it may be about, where its first side
    follows; ``implied``: values that stand only among its numbers."""
    working, bound = state.working, state.bound
    for key, its_value in implied:
        working = working.with_right(key, its_value)
    keys = tuple(dict.fromkeys(s.key for s in result.subjects))[:MOST_MEANINGS]
    before = (*_gone_on_from(keys, state), *state.aliases) if chain.continued else ()
    aliases = (*before, *result.aliases)
    last = len(result.results) - 1
    for place, side in enumerate(result.results):
        diagnosis = diagnoses.get(place)
        value = _value(side, diagnosis)
        expression = side.side.expression
        if side.status == "follows" and value is not None and side.rounded is not None:
            value = value.hull(side.rounded)
        plain_value = expression is not None and (
            is_result(expression) or is_fraction(expression)
            or (place == last and is_numeric(expression))
        )  # fmt: skip
        if side.status == "follows" and value is not None and plain_value:
            for key in (*keys, *aliases):
                if result.certain or not working.circuit.is_given(key):
                    working = working.with_right(key, value, side.span)
        elif side.status in ("wrong", "carried") and value is not None:
            about = (diagnosis.subject.key,) if diagnosis else keys[:1]
            for key in (*about, *aliases):
                working = working.with_wrong(key, value)
            for key in result.equated:
                right = working.right(key, 1)
                if right is not None and not right.meets(value):
                    working = working.with_wrong(key, value)
    for key in keys[:1]:
        working = working.knowing(key.group)
    total = working.circuit.total
    means_whole = result.whole and result.subjects[0].key.group == total
    for label, its in result.named:
        if (
            label not in bound and len(its) <= 24 and (result.certain or means_whole)
            and not diagnoses
        ):  # fmt: skip
            bound = {**bound, label: _of_no_other(label, its, bound, state)}
    if result.label is not None and means_whole:
        if not diagnoses and any(is_worked(side.side.expression) for side in result.results):
            bound = {**bound, result.label: (total,)}  # once worked out it is no group any more
    elif result.label is not None:
        groups = tuple(dict.fromkeys(s.key.group for s in meant or result.subjects))
        if _is_open(result, diagnoses, bound):
            groups = ()
        elif diagnoses and not meant:
            groups = (max(diagnoses.values(), key=lambda d: d.score).subject.key.group,)
        if 0 < len(groups) <= 24:
            bound = {**bound, result.label: _of_no_other(result.label, groups, bound, state)}
    over = state.label if chain.continued else result.label
    if chain.continued and over is not None and not diagnoses:
        bound = _told_apart(over, bound, result, working)
    numeric = [side for side in result.results if is_numeric(side.side.expression)]
    last_side = numeric[-1].side.expression if numeric else None
    status = numeric[-1].status if numeric else "follows"
    if chain.continued and not numeric:
        last_side, status = state.before, state.before_status
    hull = numeric[-1].hull if numeric else None
    ahead = [(side.status, side.side.expression) for side in numeric[:-1]]
    same = chain.continued or (len(result.subjects) == 1 and result.subjects == state.subject)
    if same and numeric and not ahead:
        ahead = [(state.before_status, state.before)]
    earlier = ahead[-1][1] if ahead and ahead[-1][0] == "follows" else None
    lost = not result.certain and any(s.status == "unclear" for s in result.results)
    return replace(
        state,
        working=working,
        bound=bound,
        subject=() if lost else result.subjects[:_MOST_SUBJECTS],
        before=last_side,
        before_status=status,
        before_hull=hull,
        earlier=earlier if is_worked(earlier) else None,
        pending=None,
        label=over,
        aliases=aliases,
        cuts_off=state.cuts_off or any(side.remark == CUT_OFF for side in result.results),
    )


def _told_apart(
    label: Label, bound: dict[Label, tuple[int, ...]], result: ChainResult, working: Working
) -> dict[Label, tuple[int, ...]]:
    """What labels may stand for after a value in the next line told which groups one does."""
    kind, value = result.subjects[0].key.kind, working.circuit.value
    values = {(s.key.kind, value(s.key)) for s in result.subjects}
    groups = tuple(g for g in bound.get(label, ()) if (kind, value(Key(kind, g))) in values)
    return {**bound, label: groups} if groups else bound


def _of_no_other(
    label: Label, groups: tuple[int, ...], bound: dict[Label, tuple[int, ...]], state: State
) -> tuple[int, ...]:
    """The groups that a label may stand for, without those that another one is known to name; the
    whole has several names, any group may where no other is left or labels may be misread."""
    if state.usage.in_doubt:
        return groups
    named = {its[0] for other, its in bound.items() if other != label and len(its) == 1}
    named -= {state.working.circuit.total}
    return tuple(group for group in groups if group not in named) or groups


def _gone_on_from(keys: Sequence[Key], state: State) -> tuple[Key, ...]:
    """What the chain before is about, where one that goes on from it, "= 16.7 µC = Q3", is about
    something else that is equal to it."""
    its = [subject.key for subject in state.subject if not subject.inverse]
    alike = len(its) == 1 and its[0] not in keys and its[0].kind in {key.kind for key in keys}
    return tuple(its) if alike else ()


def _is_open(
    result: ChainResult, diagnoses: dict[int, Diagnosis], bound: dict[Label, tuple[int, ...]]
) -> bool:
    """Whether a bare wrong value says nothing about the group that its label stands for."""
    bare = len(result.results) == 1 and is_result(result.results[0].side.expression)
    settled = result.certain and (result.label is None or len(bound.get(result.label, (0,))) == 1)
    return bare and not settled and 0 in diagnoses and (
        SLIPS[diagnoses[0].kinds[0]].predict is None
    )  # fmt: skip


def _value(side: SideResult, diagnosis: Diagnosis | None) -> Interval | None:
    """The values a side may have had: as written and, where known, before it was rounded."""
    if not side.values:
        return diagnosis.value if diagnosis is not None else None
    if diagnosis is not None:
        known = diagnosis.value
        return side.values[0] if known is None else nearest(side.values, known).hull(known)
    if side.hull is None:
        return None
    return nearest(side.values, side.hull).hull(side.hull)


def start(circuit: Circuit, usage: Usage) -> State:
    """The state before the first line."""
    return State(Working(circuit), {}, usage=usage)
