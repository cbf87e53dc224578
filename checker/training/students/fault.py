"""What can go wrong at a step, and the register of those who make it go wrong.

Each maker looks at one step of a plan and offers faults of its kind.  All kinds are taken as
equally common and so are the variants of a kind: an assumption, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from checker.problem.network import Node, Parallel
from checker.training.students.circuits import Circuit
from checker.training.students.plan import Step
from checker.training.students.working import Expr, Key, Over, Sum, Times


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


def members_of(step: Step) -> tuple[Expr, ...]:
    """The operands of a combination, as the step combines them."""
    formula = step.formula
    if step.rule == "parallel" and isinstance(formula, Sum):
        return formula.terms
    if isinstance(formula, Over) and isinstance(formula.bottom, Sum):
        if isinstance(formula.top, Times):
            return formula.bottom.terms
        return tuple(t.bottom for t in formula.bottom.terms if isinstance(t, Over))
    return ()


def is_whole(step: Step, circuit: Circuit) -> bool:
    return step.key[1] == circuit.network


def siblings(steps: Steps, i: int) -> list[int]:
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


def at_supply(node: Node, network: Node) -> bool:
    """Whether a group lies across the supply: all of the network, or one of its branches."""
    return node == network or (isinstance(network, Parallel) and node in network.members)
