"""Every kind of slip, made on purpose: which step it strikes and what is done instead.

Each maker looks at one step of a plan and offers faults of its kind.  All kinds are taken as
equally common and so are the variants of a kind: an assumption, no source.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from checker.problem.network import Element, Node, Parallel, Series, elements
from checker.training.students.circuits import Circuit
from checker.training.students.plan import Step, c, q, rest, series_formula, v
from checker.training.students.working import (
    HALF,
    ONE,
    Expr,
    Key,
    Less,
    Num,
    Over,
    Ref,
    Square,
    Sum,
    Times,
    references,
    replaced,
)


@dataclass(frozen=True)
class Fault:
    """What goes wrong at step ``index``.

    ``formula``: the wrong one, believed in; ``also``: the same belief at further steps.
    ``form``: how a combination is then written.  ``edit``: a slip in the result alone, by name.
    ``copy``: an operand copied wrongly (its key); ``stage``: first part of the line that is wrong.
    ``needs``: parts of the line that must be on paper; ``hides``: parts that must not.
    """

    kind: str
    index: int
    formula: Expr | None = None
    also: tuple[tuple[int, Expr], ...] = ()
    form: str | None = None
    edit: str = ""
    copy: Key | None = None
    stage: str = "symbols"
    needs: tuple[str, ...] = ()
    hides: tuple[str, ...] = ()
    equal: frozenset[str] = field(default_factory=frozenset)


Steps = Sequence[Step]
Maker = Callable[[Steps, int, Circuit], list[Fault]]
MAKERS: dict[str, Maker] = {}


def maker(*kinds: str) -> Callable[[Maker], Maker]:
    """Register a maker under the kinds it makes."""

    def register(function: Maker) -> Maker:
        for kind in kinds:
            MAKERS[kind] = function
        return function

    return register


def _members(step: Step) -> tuple[Expr, ...]:
    """The operands of a combination, as the step combines them."""
    formula = step.formula
    if step.rule == "parallel" and isinstance(formula, Sum):
        return formula.terms
    if isinstance(formula, Over) and isinstance(formula.bottom, Sum):
        if isinstance(formula.top, Times):
            return formula.bottom.terms
        return tuple(t.bottom for t in formula.bottom.terms if isinstance(t, Over))
    return ()


def _is_network(step: Step, circuit: Circuit) -> bool:
    return step.key[1] == circuit.network


@maker("series-combined-as-parallel")
def _series_as_parallel(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    if steps[i].rule != "series":
        return []
    return [Fault("series-combined-as-parallel", i, Sum(_members(steps[i])), form="")]


@maker("parallel-combined-as-series")
def _parallel_as_series(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    if steps[i].rule != "parallel":
        return []
    members = _members(steps[i])
    forms = ["reciprocal", "inverse"] + (["product"] if len(members) == 2 else [])
    return [
        Fault("parallel-combined-as-series", i, series_formula(members, form), form=form)
        for form in forms
    ]


@maker("reciprocal-not-inverted")
def _not_inverted(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = steps[i]
    if step.rule != "series":
        return []
    reciprocals = Sum(tuple(Over(ONE, m) for m in _members(step)))
    out = [Fault("reciprocal-not-inverted", i, reciprocals, form="")]
    if step.form == "reciprocal":
        out.append(
            Fault("reciprocal-not-inverted", i, step.formula, edit="not inverted", stage="value",
                  form="reciprocal", needs=("numbers",))
        )  # fmt: skip
    return out


@maker("reciprocals-added-wrongly")
def _added_wrongly(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = steps[i]
    if step.rule != "series" or step.form == "product":
        return []
    members = _members(step)
    out = []
    # 1/a + 1/b taken for 1/(a + b), or for 2/(a + b): numerators and denominators added.
    for top in (1, len(members)):
        wrong = Over(Sum(members), Num(Fraction(top))) if top > 1 else Sum(members)
        out.append(
            Fault("reciprocals-added-wrongly", i, wrong, form=f"added {top}", stage="middle",
                  needs=("numbers",))
        )  # fmt: skip
    return out


@maker("product-over-sum-misused")
def _product_over_sum(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    members = _members(steps[i])
    if steps[i].rule != "series" or len(members) < 3:
        return []
    return [Fault("product-over-sum-misused", i, Over(Times(members), Sum(members)), form="")]


@maker("sum-over-product")
def _sum_over_product(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    members = _members(steps[i])
    if steps[i].rule != "series" or len(members) != 2:
        return []
    return [Fault("sum-over-product", i, Over(Sum(members), Times(members)), form="")]


@maker("element-left-out")
def _left_out(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = steps[i]
    members = _members(step)
    # A group of fewer members is a right partial result unless its label claims the whole.
    if len(members) < 3 and not _is_network(step, circuit):
        return []
    out = []
    for gone in range(len(members)):
        left = members[:gone] + members[gone + 1 :]
        if len(left) == 1:
            out.append(Fault("element-left-out", i, left[0], form=""))
        elif step.rule == "parallel":
            out.append(Fault("element-left-out", i, Sum(left)))
        elif len(left) >= 2:
            form = step.form if len(left) == 2 or step.form != "product" else "reciprocal"
            out.append(Fault("element-left-out", i, series_formula(left, form), form=form))
    return out


@maker("element-used-twice")
def _used_twice(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = steps[i]
    members = _members(step)
    if not members:
        return []
    extra: list[Expr] = list(members[:1])
    for member in members:
        if isinstance(member, Ref) and not isinstance(member.key[1], Element):
            extra += [c(m) for m in member.key[1].members]
    out = []
    for again in extra:
        more = (*members, again)
        if step.rule == "parallel":
            out.append(Fault("element-used-twice", i, Sum(more)))
        else:
            form = "reciprocal" if step.form == "product" else step.form
            out.append(Fault("element-used-twice", i, series_formula(more, form), form=form))
    return out


@maker("given-miscopied")
def _miscopied(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    return _copied(steps[i], i, "given-miscopied", "digit", given=True)


@maker("digits-swapped")
def _swapped(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    out = _result(steps[i], i, "digits-swapped", "swap")
    out += _copied(steps[i], i, "digits-swapped", "swap", given=True)
    out += _copied(steps[i], i, "digits-swapped", "swap", given=False)
    return out


def _copied(step: Step, i: int, kind: str, edit: str, given: bool) -> list[Fault]:
    if step.rule == "same":
        return []
    keys = {r.key for r in references(step.formula)}
    equal = (
        frozenset({"given-miscopied", "digits-swapped"})
        if edit == "swap" and given
        else frozenset()
    )
    out = []
    for key in sorted(keys, key=str):
        if (key[0] == "C" and isinstance(key[1], Element)) == given:
            wrong = _with_copy(step.formula, key)
            out.append(
                Fault(kind, i, wrong, form=step.form, copy=key, edit=edit, stage="numbers",
                      needs=("numbers",), equal=equal)
            )  # fmt: skip
    return out


def _with_copy(formula: Expr, key: Key) -> Expr:
    """The formula with one operand taken from a wrong copy."""
    return replaced(formula, lambda r: Ref(r.key, "copied") if r.key == key else r)


def _result(step: Step, i: int, kind: str, edit: str, **more: object) -> list[Fault]:
    if step.rule == "same":
        return []
    return [Fault(kind, i, edit=edit, stage="value", **more)]  # type: ignore[arg-type]


@maker("decimal-point")
def _decimal_point(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    return _result(steps[i], i, "decimal-point", "point")


@maker("power-of-ten")
def _power_of_ten(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    return _result(steps[i], i, "power-of-ten", "power")


@maker("prefix")
def _prefix(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    return _result(steps[i], i, "prefix", "prefix") if steps[i].key[0] != "V" else []


@maker("unit-kind")
def _unit_kind(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    return _result(steps[i], i, "unit-kind", "unit")


@maker("arithmetic")
def _arithmetic(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    return _result(steps[i], i, "arithmetic", "arithmetic", needs=("numbers",))


@maker("prefixes-mixed")
def _prefixes_mixed(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = steps[i]
    out = []
    for ref in references(step.formula):
        datum = (
            circuit.capacitors.get(getattr(ref.key[1], "name", "")) if ref.key[0] == "C" else None
        )
        if datum and datum.unit[:-1] != circuit.prefix:
            wrong = _with_copy(step.formula, ref.key)
            out.append(
                Fault("prefixes-mixed", i, wrong, form=step.form, copy=ref.key, edit="raw",
                      stage="numbers", needs=("numbers",))
            )  # fmt: skip
    return out


def _wrongly_shared(steps: Steps, i: int, symbol: str, kind: type) -> Step | None:
    """The step if it finds ``symbol`` of a member of a group of ``kind`` from elsewhere."""
    step = steps[i]
    if step.key[0] != symbol or not isinstance(step.group, kind) or step.key[1] == step.group:
        return None
    return step if step.rule in ("law", "divider", "difference") else None


def _siblings(steps: Steps, i: int) -> list[int]:
    """The steps that find the same symbol of the members of the same group, from step i on."""
    step = steps[i]
    return [
        k
        for k, other in enumerate(steps)
        if other.group == step.group
        and other.key[0] == step.key[0]
        and other.key[1] != step.group
        and other.rule in ("law", "divider", "difference")
    ]


def _voltage_into_series(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = _wrongly_shared(steps, i, "V", Series)
    if (
        step is None
        or _siblings(steps, i)[0] != i
        or not _voltage_known(steps, i, step.group, circuit)
    ):
        return []
    wrong = v(step.group)
    also = tuple((k, wrong) for k in _siblings(steps, i)[1:])
    equal = frozenset(
        {"supply-voltage-on-every-element"} if at_supply(step.group, circuit.network) else ()
    )
    return [Fault("voltage-carried-into-series", i, wrong, also, form="same", equal=equal)]


def at_supply(node: Node, network: Node) -> bool:
    """Whether a group lies across the supply: all of the network, or one of its branches."""
    return node == network or (isinstance(network, Parallel) and node in network.members)


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
    if step is None or _siblings(steps, i)[0] != i or not _charge_known(steps, i, step.group):
        return []
    wrong = q(step.group)
    also = tuple((k, wrong) for k in _siblings(steps, i)[1:])
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
    if step is None or step.rule == "difference" or _siblings(steps, i)[0] != i:
        return []
    if not _voltage_known(steps, i, step.group, circuit):
        return []
    members = step.group.members  # type: ignore[union-attr]
    total = Sum(tuple(c(m) for m in members))

    def share(node: Node) -> Expr:
        return Times((v(step.group), Over(c(node), total)))

    also = tuple(
        (k, share(steps[k].key[1]))
        for k in _siblings(steps, i)[1:]
        if steps[k].rule != "difference"
    )
    return [Fault("voltage-divided-the-wrong-way", i, share(step.key[1]), also)]


@maker("charge-divided-the-wrong-way")
def _charge_wrong_way(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = _wrongly_shared(steps, i, "Q", Parallel)
    if step is None or step.rule == "difference" or _siblings(steps, i)[0] != i:
        return []
    members = step.group.members  # type: ignore[union-attr]
    if len(members) != 2 or not _charge_known(steps, i, step.group):
        return []
    total = Sum(tuple(c(m) for m in members))

    def share(node: Node) -> Expr:
        return Times((q(step.group), Over(c(rest(step.group, node)[0]), total)))  # type: ignore[arg-type]

    also = tuple(
        (k, share(steps[k].key[1]))
        for k in _siblings(steps, i)[1:]
        if steps[k].rule != "difference"
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


@maker("label-swapped")
def _label_swapped(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = steps[i]
    same_group = _siblings(steps, i) if step.rule in ("law", "divider", "difference") else []
    if i not in same_group:
        return []
    after = [k for k in same_group if k > i and isinstance(steps[k].key[1], Element)]
    if not after or not isinstance(step.key[1], Element):
        return []
    k = after[0]
    if any(step.key == r.key for r in references(steps[k].formula)):
        return []
    if any(s.key == r.key for s in steps[i + 1 : k + 1] for r in references(steps[k].formula)):
        return []
    hides = ("symbols", "numbers")
    return [Fault("label-swapped", i, steps[k].formula, ((k, step.formula),), hides=hides)]


@maker("answer-unsupported")
def _unsupported(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    return _result(steps[i], i, "answer-unsupported", "any", hides=("symbols", "numbers"),
                   equal=frozenset({"unexplained"}))  # fmt: skip


@maker("unexplained")
def _unexplained(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = steps[i]
    if step.rule in ("series", "parallel"):
        members = _members(step)
        if len(members) == 2:
            return [
                Fault("unexplained", i, f, form="", needs=("symbols or numbers",))
                for f in (Less(*members), Less(*members[::-1]))
            ]
    if step.rule == "law":
        a, b = references(step.formula)
        return [Fault("unexplained", i, Sum((a, b)), needs=("symbols or numbers",))]
    return []


def misread(circuit: Circuit, rng: random.Random) -> tuple[Circuit, Key] | None:
    """Wrong elements combined: another tree over the same elements, and its first wrong group.

    A member outside a group is drawn into it: s(a, p(b, c)) becomes p(s(a, b), c) or s(p(a, b), c).
    """
    choices: list[tuple[Node, Key]] = []
    for outer in _groups(circuit.network):
        for inner in outer.members:
            if isinstance(inner, Element):
                continue
            for lone in outer.members:
                if not isinstance(lone, Element):
                    continue
                for drawn in inner.members:
                    if not isinstance(drawn, Element):
                        continue
                    left = rest(inner, drawn)
                    others = tuple(m for m in outer.members if m not in (inner, lone))
                    # the lone element combined with the drawn one as the outer group combines
                    pair = type(outer)(tuple(sorted((lone, drawn), key=lambda e: elements(e))))
                    new = type(inner)((pair, *left))
                    whole = type(outer)((new, *others)) if others else new
                    choices.append((_with(circuit.network, outer, whole), ("C", pair)))
                    # … or as the inner group combines
                    pair2 = type(inner)(tuple(sorted((lone, drawn), key=lambda e: elements(e))))
                    remaining = left[0] if len(left) == 1 else type(inner)(left)
                    flat = remaining.members if isinstance(remaining, type(outer)) else (remaining,)
                    whole = type(outer)((pair2, *flat, *others))
                    choices.append((_with(circuit.network, outer, whole), ("C", pair2)))
    if not choices:
        return None
    network, key = rng.choice(choices)
    return replace(circuit, network=network), key


def _groups(node: Node) -> list[Series | Parallel]:
    if isinstance(node, Element):
        return []
    return [node, *(g for m in node.members for g in _groups(m))]


def _with(node: Node, old: Node, new: Node) -> Node:
    """The tree with ``old`` replaced, inner groups of one kind merged."""
    if node == old:
        return new
    if isinstance(node, Element):
        return node
    members: list[Node] = []
    for member in node.members:
        changed = _with(member, old, new)
        members.extend(changed.members if isinstance(changed, type(node)) else [changed])
    return type(node)(tuple(members))


KINDS: tuple[str, ...] = (*MAKERS, "wrong-elements")
