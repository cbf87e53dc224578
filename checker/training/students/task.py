"""The steps of a plan as tasks, and faults put into them."""

from __future__ import annotations

from dataclasses import dataclass, replace

from checker.exact import Fraction
from checker.training.students.fault import Fault
from checker.training.students.numbers import Written
from checker.training.students.plan import Step
from checker.training.students.working import Expr
from checker.training.students.writing import Show


@dataclass
class Task:
    """A step to be written and what goes wrong with it.

    ``planned``: the step as the plan has it; ``step``: as it is done.  ``exact``: the result of
    the working shown, ``written``: as it stands on the page.
    """

    planned: Step
    step: Step
    fault: Fault | None = None
    second: bool = False  # the fault is a further, independent one
    belief: bool = False  # wrong by the same belief as another step
    show: Show | None = None
    written: Written | None = None
    exact: Fraction = Fraction(0)

    @property
    def right(self) -> Expr:
        """The formula that should be used."""
        return self.planned.formula

    @property
    def open(self) -> bool:
        """Whether it stands on the page as a working of its own."""
        return not self.step.silent and self.step.rule != "same"


def place(tasks: list[Task], fault: Fault) -> list[Task]:
    """The tasks with a fault in them."""
    task = tasks[fault.index]
    task.fault = fault
    step = replace(task.step, silent=False)
    if fault.formula is not None:
        step = replace(step, formula=fault.formula)
    if fault.form == "same":  # V1 = V2 = V, in one statement
        others = {k for k, _ in fault.also}
        more = tuple(tasks[k].step.key for k in sorted(others))
        task.step = replace(step, rule="same", more=more, form="")
        return [t for k, t in enumerate(tasks) if k not in others]
    if fault.form == "split":  # each member on its own, instead of Q1 = Q2 = Q
        formulas = [fault.formula, *(f for _, f in fault.also)]
        parts = []
        for key, formula in zip((step.key, *step.more), formulas, strict=True):
            part = replace(step, key=key, formula=formula or step.formula, more=(), rule="law")
            parts.append(Task(task.planned, part, belief=True))
        parts[0].fault, parts[0].belief = fault, False
        return [*tasks[: fault.index], *parts, *tasks[fault.index + 1 :]]
    if fault.form is not None and not fault.form.startswith("added"):
        step = replace(step, form=fault.form)
    task.step = step
    for k, formula in fault.also:
        other = tasks[k]
        other.step = replace(other.step, formula=formula, silent=False)
        other.belief = True
        if fault.kind == "label-swapped":
            other.show = Show(False, False, False)
    return tasks
