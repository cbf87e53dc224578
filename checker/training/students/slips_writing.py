"""Slips of the pen: copying, digits, points, powers, units, sums."""

from __future__ import annotations

from checker.problem.network import Element
from checker.training.students.circuits import Circuit
from checker.training.students.fault import Fault, Steps, maker, siblings
from checker.training.students.plan import Step
from checker.training.students.working import Expr, Key, Ref, references, replaced


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


@maker("answer-unsupported")
def _unsupported(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    return _result(steps[i], i, "answer-unsupported", "any", hides=("symbols", "numbers"),
                   equal=frozenset({"unexplained"}))  # fmt: skip


@maker("label-swapped")
def _label_swapped(steps: Steps, i: int, circuit: Circuit) -> list[Fault]:
    step = steps[i]
    same_group = siblings(steps, i) if step.rule in ("law", "divider", "difference") else []
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
