"""The reference: successive reduction of a network, then the walk back.

Every value is an exact ``Fraction`` in SI units.  (Sympy's rationals are the same numbers; they
are left to the tests, because importing sympy takes longer than everything done here.)
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from checker.exact import Fraction
from checker.problem.given import Problem
from checker.problem.network import Element, Node, Parallel, Series, groups

Kind = Literal["series", "parallel"]


@dataclass(frozen=True)
class State:
    """What one element or group has at the end: F, C, V, J.

    ``charge``, ``voltage`` and ``energy`` are None where the problem gives no supply.
    """

    capacitance: Fraction
    charge: Fraction | None = None
    voltage: Fraction | None = None
    energy: Fraction | None = None


@dataclass(frozen=True)
class Stage:
    """One step of the reduction: ``parts``, the members of ``node``, become one capacitance."""

    number: int
    node: Series | Parallel
    kind: Kind
    parts: tuple[Node, ...]
    capacitance: Fraction


@dataclass(frozen=True)
class Reference:
    """A solved problem.

    ``states`` has the elements in the problem's order, then the groups as they are reduced.
    """

    problem: Problem
    stages: tuple[Stage, ...]
    states: Mapping[Node, State]


def equivalent(node: Node, values: Mapping[str, Fraction]) -> Fraction:
    """The equivalent capacitance of ``node`` from its elements' capacitances.

    In parallel capacitances add, in series their reciprocals do (University Physics 2, section
    8.2, OpenStax).
    """
    if isinstance(node, Element):
        return values[node.name]
    return _combined(node, [equivalent(member, values) for member in node.members])


def solve(problem: Problem) -> Reference:
    """Reduce the network group by group, innermost groups first, and walk back."""
    capacitances: dict[Node, Fraction] = {
        Element(name): quantity.value for name, quantity in problem.capacitors.items()
    }
    stages = []
    for number, group in enumerate(groups(problem.network), start=1):
        capacitance = _combined(group, [capacitances[member] for member in group.members])
        capacitances[group] = capacitance
        kind: Kind = "series" if isinstance(group, Series) else "parallel"
        stages.append(Stage(number, group, kind, group.members, capacitance))
    voltages = _voltages(problem, capacitances)
    states = {node: _state(capacitances[node], voltages.get(node)) for node in capacitances}
    return Reference(problem, tuple(stages), states)


def _combined(group: Series | Parallel, capacitances: list[Fraction]) -> Fraction:
    if isinstance(group, Series):
        return 1 / sum((1 / c for c in capacitances), Fraction(0))
    return sum(capacitances, Fraction(0))


def _voltages(problem: Problem, capacitances: Mapping[Node, Fraction]) -> dict[Node, Fraction]:
    """Series members share the charge, V = Q/C each; parallel members share the voltage."""
    voltages: dict[Node, Fraction] = {}

    def walk_back(node: Node, voltage: Fraction) -> None:
        voltages[node] = voltage
        if isinstance(node, Element):
            return
        charge = capacitances[node] * voltage
        for member in node.members:
            in_series = isinstance(node, Series)
            walk_back(member, charge / capacitances[member] if in_series else voltage)

    if problem.supply is not None:
        walk_back(problem.network, problem.supply.value)
    return voltages


def _state(capacitance: Fraction, voltage: Fraction | None) -> State:
    """Q = C V and U = C V²/2 (University Physics 2, sections 8.1 and 8.3, OpenStax)."""
    if voltage is None:
        return State(capacitance)
    return State(capacitance, capacitance * voltage, voltage, capacitance * voltage**2 / 2)
