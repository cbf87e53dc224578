"""The reference against independent methods, and laws every reduction must keep."""

from __future__ import annotations

from random import Random

import networkx
import numpy as np
import pytest
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st

from checker.problem.given import make_problem
from checker.problem.network import Element, Series, elements, nodes
from checker.problem.reduction import equivalent, solve
from tests.problem.random_networks import branches_of, random_problem

TOLERANCE = 1e-9


def _node_voltages(problem) -> dict[str, float]:
    """Nodal analysis: the charge on every inner node is zero.  Terminal b is at 0 V."""
    branches = branches_of(problem.network)
    names = sorted({node for ends in branches.values() for node in ends} - {"a", "b"})
    row = {name: index for index, name in enumerate(names)}
    matrix, right = np.zeros((len(names), len(names))), np.zeros(len(names))
    known = {"a": float(problem.supply.value), "b": 0.0}
    for element, ends in branches.items():
        capacitance = float(problem.capacitors[element].value)
        for here, there in (ends, ends[::-1]):
            if here in row:
                matrix[row[here], row[here]] += capacitance
                if there in row:
                    matrix[row[here], row[there]] -= capacitance
                else:
                    right[row[here]] += capacitance * known[there]
    # Rows are scaled, since the capacitances of one network span many powers of ten.
    scale = np.diag(matrix) if names else np.ones(0)
    solved = np.linalg.solve(matrix / scale[:, None], right / scale) if names else []
    return known | dict(zip(names, map(float, solved), strict=True))


@pytest.mark.parametrize("block", range(10))
def test_a_thousand_random_networks_agree_with_resistance_distance_and_nodal_analysis(block):
    """Capacitances combine as conductances do: networkx resistance distance, numpy nodal solve."""
    rng = Random(block)
    for _ in range(100):
        problem = random_problem(rng)
        reference = solve(problem)
        whole = reference.states[problem.network]

        graph = networkx.MultiGraph()
        branches = branches_of(problem.network)
        for name, ends in branches.items():
            graph.add_edge(*ends, weight=float(problem.capacitors[name].value))
        distance = networkx.resistance_distance(graph, "a", "b", "weight", invert_weight=False)
        assert float(whole.capacitance) == pytest.approx(1 / distance, rel=TOLERANCE)

        voltages = _node_voltages(problem)
        for name, (start, end) in branches.items():
            state = reference.states[Element(name)]
            voltage = voltages[start] - voltages[end]
            charge = float(problem.capacitors[name].value) * voltage
            # Relative to the supply: a difference of two node voltages loses figures.
            assert abs(float(state.voltage) - voltage) <= TOLERANCE * float(problem.supply.value)
            assert abs(float(state.charge) - charge) <= TOLERANCE * float(whole.charge)


@pytest.mark.parametrize("seed", range(8))
def test_the_element_voltages_solve_the_nodal_equations_exactly(seed):
    """Sympy's rationals, an exact arithmetic that is not ours, solve the same nodal equations."""
    problem = random_problem(Random(1000 + seed), largest=8)
    branches = branches_of(problem.network)
    symbols = {node: sympy.Symbol(node) for ends in branches.values() for node in ends}
    balance = {node: sympy.Integer(0) for node in symbols if node not in ("a", "b")}
    for name, (start, end) in branches.items():
        value = problem.capacitors[name].value
        charge = sympy.Rational(value.numerator, value.denominator) * (
            symbols[start] - symbols[end]
        )
        for node, sign in ((start, 1), (end, -1)):
            if node in balance:
                balance[node] += sign * charge
    supply = problem.supply.value
    fixed = {
        symbols["a"]: sympy.Rational(supply.numerator, supply.denominator),
        symbols["b"]: sympy.Integer(0),
    }
    equations = [equation.subs(fixed) for equation in balance.values()]
    solution = fixed | dict(sympy.solve(equations, [symbols[node] for node in balance]))
    reference = solve(problem)
    for name, (start, end) in branches.items():
        exact = solution[symbols[start]] - solution[symbols[end]]
        found = reference.states[Element(name)].voltage
        assert sympy.Rational(found.numerator, found.denominator) == exact


@settings(max_examples=150, deadline=None)
@given(st.integers(min_value=0, max_value=10**9))
def test_laws_of_series_and_parallel_groups(seed):
    problem = random_problem(Random(seed))
    reference = solve(problem)
    states = reference.states
    for group in nodes(problem.network):
        if isinstance(group, Element):
            continue
        whole, parts = states[group], [states[member] for member in group.members]
        if isinstance(group, Series):
            assert whole.capacitance < min(part.capacitance for part in parts)
            assert {part.charge for part in parts} == {whole.charge}
            assert sum(part.voltage for part in parts) == whole.voltage
        else:
            assert whole.capacitance == sum(part.capacitance for part in parts)
            assert {part.voltage for part in parts} == {whole.voltage}
            assert sum(part.charge for part in parts) == whole.charge
    whole = states[problem.network]
    singles = [states[Element(name)] for name in problem.capacitors]
    assert whole.voltage == problem.supply.value
    assert sum(state.energy for state in singles) == whole.capacitance * whole.voltage**2 / 2


@settings(max_examples=100, deadline=None)
@given(st.integers(min_value=0, max_value=10**9))
def test_stages_build_only_on_what_is_there(seed):
    problem = random_problem(Random(seed))
    reference = solve(problem)
    there = {Element(name) for name in problem.capacitors}
    values = {name: quantity.value for name, quantity in problem.capacitors.items()}
    for number, stage in enumerate(reference.stages, start=1):
        assert stage.number == number
        assert set(stage.parts) <= there
        there = (there - set(stage.parts)) | {stage.node}
        assert stage.capacitance == equivalent(stage.node, values)
    assert there == {problem.network}
    assert set(reference.states) == set(nodes(problem.network))


def test_deepest_groups_come_first():
    """The order in which the textbooks reduce: innermost group first (common practice)."""
    problem = make_problem(
        "two sides",
        "10 V",
        "parallel(series(C1, C2), series(C3, parallel(C4, C5)))",
        {f"C{n}": "1 µF" for n in range(1, 6)},
    )
    order = [elements(stage.node) for stage in solve(problem).stages]
    assert order == [
        ("C4", "C5"),
        ("C1", "C2"),
        ("C3", "C4", "C5"),
        ("C1", "C2", "C3", "C4", "C5"),
    ]


def test_without_a_supply_only_capacitances_are_known():
    problem = make_problem("no supply", None, "series(C1, C2)", {"C1": "1 µF", "C2": "1 µF"},
                           find=["equivalent capacitance"])  # fmt: skip
    for state in solve(problem).states.values():
        assert state.capacitance > 0
        assert (state.charge, state.voltage, state.energy) == (None, None, None)
