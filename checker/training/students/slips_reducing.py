"""Slips in the reduction: how capacitances are combined."""

from __future__ import annotations

from checker.exact import Fraction
from checker.problem.network import Element
from checker.training.students.circuits import Circuit
from checker.training.students.fault import Fault, Steps, is_whole, maker, members_of
from checker.training.students.plan import c, series_formula
from checker.training.students.working import (
    ONE,
    Expr,
    Less,
    Num,
    Over,
    Ref,
    Sum,
    Times,
    references,
)


@maker("series-combined-as-parallel")
def _series_as_parallel(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    if steps[i].rule != "series":
        return []
    return [Fault("series-combined-as-parallel", i, Sum(members_of(steps[i])), form="")]


@maker("parallel-combined-as-series")
def _parallel_as_series(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    if steps[i].rule != "parallel":
        return []
    members = members_of(steps[i])
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
    reciprocals = Sum(tuple(Over(ONE, m) for m in members_of(step)))
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
    members = members_of(step)
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
    members = members_of(steps[i])
    if steps[i].rule != "series" or len(members) < 3:
        return []
    return [Fault("product-over-sum-misused", i, Over(Times(members), Sum(members)), form="")]


@maker("sum-over-product")
def _sum_over_product(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    members = members_of(steps[i])
    if steps[i].rule != "series" or len(members) != 2:
        return []
    return [Fault("sum-over-product", i, Over(Sum(members), Times(members)), form="")]


@maker("element-left-out")
def _left_out(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = steps[i]
    members = members_of(step)
    # A group of fewer members is a right partial result unless its label claims the whole.
    if len(members) < 3 and not is_whole(step, circuit):
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
    members = members_of(step)
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


@maker("unexplained")
def _unexplained(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = steps[i]
    if step.rule in ("series", "parallel"):
        members = members_of(step)
        if len(members) == 2:
            return [
                Fault("unexplained", i, f, form="", needs=("symbols or numbers",))
                for f in (Less(*members), Less(*members[::-1]))
            ]
    if step.rule == "law":
        a, b = references(step.formula)
        return [Fault("unexplained", i, Sum((a, b)), needs=("symbols or numbers",))]
    return []
