"""Slips on the way back: charges, voltages, the law Q = CV, energies."""

from __future__ import annotations

from checker.exact import Fraction
from checker.problem.network import Element, Node, Parallel, Series
from checker.training.students.circuits import Circuit
from checker.training.students.fault import Fault, Steps, at_supply, maker, siblings
from checker.training.students.plan import Step, c, q, rest, v
from checker.training.students.working import (
    HALF,
    Expr,
    Key,
    Num,
    Over,
    Ref,
    Square,
    Sum,
    Times,
    references,
    replaced,
)


def _wrongly_shared(steps: Steps, i: int, symbol: str, kind: type) -> Step | None:
    """The step if it finds ``symbol`` of a member of a group of ``kind`` from elsewhere."""
    step = steps[i]
    if step.key[0] != symbol or not isinstance(step.group, kind) or step.key[1] == step.group:
        return None
    return step if step.rule in ("law", "divider", "difference") else None


def _voltage_into_series(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = _wrongly_shared(steps, i, "V", Series)
    if (
        step is None
        or siblings(steps, i)[0] != i
        or not _voltage_known(steps, i, step.group, circuit)
    ):
        return []
    wrong = v(step.group)
    also = tuple((k, wrong) for k in siblings(steps, i)[1:])
    equal = frozenset(
        {"supply-voltage-on-every-element"} if at_supply(step.group, circuit.network) else ()
    )
    return [Fault("voltage-carried-into-series", i, wrong, also, form="same", equal=equal)]


def _voltage_known(steps: Steps, i: int, node: Node, circuit: Circuit) -> bool:
    return node == circuit.network or any(("V", node) in (s.key, *s.more) for s in steps[:i])


def _charge_known(steps: Steps, i: int, node: Node) -> bool:
    return any(("Q", node) in (s.key, *s.more) for s in steps[:i])


@maker("supply-voltage-on-every-element")
def _supply_everywhere(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = _wrongly_shared(steps, i, "V", Series)
    if step is None:
        return []
    every = [
        k
        for k, s in enumerate(steps)
        if s.key[0] == "V" and s.rule in ("law", "divider", "difference")
    ]
    if every[0] != i:
        return []
    wrong = v(circuit.network)
    equal = frozenset(
        {"voltage-carried-into-series"} if at_supply(step.group, circuit.network) else ()
    )
    return [
        Fault("supply-voltage-on-every-element", i, wrong, tuple((k, wrong) for k in every[1:]),
              form="same", equal=equal)
    ]  # fmt: skip


@maker("charge-carried-into-parallel")
def _charge_into_parallel(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = _wrongly_shared(steps, i, "Q", Parallel)
    if step is None or siblings(steps, i)[0] != i or not _charge_known(steps, i, step.group):
        return []
    wrong = q(step.group)
    also = tuple((k, wrong) for k in siblings(steps, i)[1:])
    return [Fault("charge-carried-into-parallel", i, wrong, also, form="same")]


def straight(node: Node, group: Node) -> Expr:
    """Q = C V with the voltage of a whole group."""
    return Times((c(node), v(group)))


@maker("voltage-carried-into-series")
def _into_series(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    """V1 = V for a member, or straight Q1 = C1 V."""
    step = steps[i]
    out = _voltage_into_series(steps, i, circuit)
    group = step.group
    if step.key[0] != "Q" or step.rule != "same" or not isinstance(group, Series):
        return out
    if not _voltage_known(steps, i, group, circuit):
        return out
    equal = frozenset(
        {"supply-voltage-on-every-element"} if at_supply(group, circuit.network) else ()
    )
    first, *more = (straight(k[1], group) for k in (step.key, *step.more))
    also = tuple((-1 - n, f) for n, f in enumerate(more))
    return [
        *out,
        Fault("voltage-carried-into-series", i, first, also, form="split", equal=equal),
    ]


@maker("charge-split-in-series")
def _charge_split(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = steps[i]
    if step.key[0] != "Q" or step.rule != "same" or not isinstance(step.group, Series):
        return []
    members = step.group.members
    total, group = Sum(tuple(c(m) for m in members)), q(step.group)
    out = []
    by_share: list[Expr] = [Times((group, Over(c(m), total))) for m in members]
    equally: list[Expr] = [Over(group, Num(Fraction(len(members)))) for _ in members]
    keys = (step.key, *step.more)
    for shares in (by_share, equally):
        wrong: dict[Key, Expr] = {("Q", m): f for m, f in zip(members, shares, strict=True)}
        out.append(
            Fault("charge-split-in-series", i, wrong[step.key], form="split",
                  also=tuple((-1 - n, wrong[k]) for n, k in enumerate(keys[1:])))
        )  # fmt: skip
    return out


@maker("voltage-split-in-parallel")
def _voltage_split(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = steps[i]
    if step.key[0] != "V" or step.rule != "same" or not isinstance(step.group, Parallel):
        return []
    members = step.group.members
    group, total = v(step.group), Sum(tuple(c(m) for m in members))
    keys = (step.key, *step.more)
    out = []
    equally: list[Expr] = [Over(group, Num(Fraction(len(members)))) for _ in members]
    by_share: list[Expr] = [Times((group, Over(c(m), total))) for m in members]
    for shares in (equally, by_share):
        wrong: dict[Key, Expr] = {("V", m): f for m, f in zip(members, shares, strict=True)}
        out.append(
            Fault("voltage-split-in-parallel", i, wrong[step.key], form="split",
                  also=tuple((-1 - n, wrong[k]) for n, k in enumerate(keys[1:])))
        )  # fmt: skip
    return out


@maker("voltage-divided-the-wrong-way")
def _voltage_wrong_way(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = _wrongly_shared(steps, i, "V", Series)
    if step is None or step.rule == "difference" or siblings(steps, i)[0] != i:
        return []
    if not _voltage_known(steps, i, step.group, circuit):
        return []
    members = step.group.members  # type: ignore[union-attr]
    total = Sum(tuple(c(m) for m in members))

    def share(node: Node) -> Expr:
        return Times((v(step.group), Over(c(node), total)))

    also = tuple(
        (k, share(steps[k].key[1])) for k in siblings(steps, i)[1:] if steps[k].rule != "difference"
    )
    return [Fault("voltage-divided-the-wrong-way", i, share(step.key[1]), also)]


@maker("charge-divided-the-wrong-way")
def _charge_wrong_way(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = _wrongly_shared(steps, i, "Q", Parallel)
    if step is None or step.rule == "difference" or siblings(steps, i)[0] != i:
        return []
    members = step.group.members  # type: ignore[union-attr]
    if len(members) != 2 or not _charge_known(steps, i, step.group):
        return []
    total = Sum(tuple(c(m) for m in members))

    def share(node: Node) -> Expr:
        return Times((q(step.group), Over(c(rest(step.group, node)[0]), total)))  # type: ignore[arg-type]

    also = tuple(
        (k, share(steps[k].key[1])) for k in siblings(steps, i)[1:] if steps[k].rule != "difference"
    )
    return [Fault("charge-divided-the-wrong-way", i, share(step.key[1]), also)]


@maker("law-inverted")
def _law_inverted(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = steps[i]
    if step.rule != "law":
        return []
    if isinstance(step.formula, Times):  # Q = C V
        cap, volts = step.formula.factors
        return [Fault("law-inverted", i, f) for f in (Over(volts, cap), Over(cap, volts))]
    assert isinstance(step.formula, Over)  # V = Q/C
    return [Fault("law-inverted", i, Over(step.formula.bottom, step.formula.top))]


def _with_other(formula: Expr, right: Key, other: Key) -> Expr:
    return replaced(formula, lambda r: Ref(other) if r.key == right else r)


@maker("wrong-equivalent-used")
def _wrong_equivalent(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = steps[i]
    if step.rule != "law":
        return []
    right = next((r.key for r in references(step.formula) if r.key[0] == "C"), None)
    if right is None:
        return []
    known = {s.key for s in steps[:i] if s.key[0] == "C" and not s.silent}
    known |= {("C", Element(name)) for name in circuit.capacitors}
    known.discard(right)
    out = []
    for other in sorted(known, key=str):
        if isinstance(other[1], Element) and isinstance(right[1], Element):
            continue  # another element's value under this label is rather a miscopied datum
        wrong = _with_other(step.formula, right, other)
        out.append(Fault("wrong-equivalent-used", i, wrong, needs=("symbols or numbers",)))
    return out


@maker("energy-half-missing")
def _half_missing(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = steps[i]
    if step.rule != "energy":
        return []
    formula = step.formula
    if isinstance(formula, Over):
        assert isinstance(formula.bottom, Times)
        wrong: Expr = Over(formula.top, formula.bottom.factors[1])
    else:
        assert isinstance(formula, Times)
        wrong = Times(formula.factors[1:])
    return [Fault("energy-half-missing", i, wrong)]


@maker("energy-not-squared")
def _not_squared(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = steps[i]
    if step.rule != "energy":
        return []
    formula = step.formula
    if isinstance(formula, Over) and isinstance(formula.top, Square):
        return [Fault("energy-not-squared", i, Over(formula.top.base, formula.bottom))]
    if isinstance(formula, Times) and isinstance(formula.factors[-1], Square):
        factors = (HALF, formula.factors[1], formula.factors[2].base)  # type: ignore[union-attr]
        return [Fault("energy-not-squared", i, Times(factors))]
    return []
