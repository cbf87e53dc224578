"""The written solution, against published values and its own reference."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checker.problem.given import make_problem
from checker.problem.labels import labels
from checker.problem.network import Element, elements
from checker.problem.problem_file import Problem
from checker.problem.reduction import solve
from checker.problem.solution_text import write_solution
from tests.problem.random_networks import random_problem


def _solution(connection: str, supply: str | None, values: str, **more) -> str:
    *numbers, unit = values.split()
    capacitors = {f"C{n}": f"{number} {unit}" for n, number in enumerate(numbers, start=1)}
    return write_solution(solve(make_problem("A circuit", supply, connection, capacitors, **more)))


def test_a_published_example_written_out():
    """Network and values: University Physics Volume 2 (OpenStax), sections 8.2 and 8.3."""
    text = _solution(
        "series(C1, parallel(C2, C3))", "12.0 V", "12.0 2.0 4.0 µF", find=["charge", "energy"]
    )
    assert (
        text
        == """\
A circuit

Given: V = 12 V, C1 = 12 µF, C2 = 2 µF, C3 = 4 µF

Reduction
1.  C2 and C3 are in parallel:
    C23 = C2 + C3 = 2 µF + 4 µF = 6 µF
2.  C1 and C23 are in series:
    Ceq = 1/(1/C1 + 1/C23) = 1/(1/12 µF + 1/6 µF) = 4 µF

Walk back
3.  The whole network is across the supply: Q = Ceq V = 4 µF × 12 V = 48 µC
4.  C1 and C23 are in series: same charge Q1 = Q23 = Q = 48 µC
    V1 = Q1/C1 = 48 µC / 12 µF = 4 V
    V23 = Q23/C23 = 48 µC / 6 µF = 8 V
5.  C2 and C3 are in parallel: same voltage V2 = V3 = V23 = 8 V
    Q2 = C2 V2 = 2 µF × 8 V = 16 µC
    Q3 = C3 V3 = 4 µF × 8 V = 32 µC

Stored energy
U1 = ½ C1 V1² = ½ × 12 µF × (4 V)² = 96 µJ
U2 = ½ C2 V2² = ½ × 2 µF × (8 V)² = 64 µJ
U3 = ½ C3 V3² = ½ × 4 µF × (8 V)² = 128 µJ
U = ½ Ceq V² = ½ × 4 µF × (12 V)² = 288 µJ

     C      Q      ΔV    U
C1   12 µF  48 µC  4 V   96 µJ
C2   2 µF   16 µC  8 V   64 µJ
C3   4 µF   32 µC  8 V   128 µJ
C23  6 µF   48 µC  8 V   192 µJ
Ceq  4 µF   48 µC  12 V  288 µJ
"""
    )


def test_rounded_values_are_marked_and_no_supply_means_no_walk_back():
    """0.833 and 8.833 µF: College Physics 2e (OpenStax), section 19.6."""
    text = _solution(
        "parallel(series(C1, C2), C3)", None, "1.000 5.000 8.000 µF",
        find=["equivalent capacitance"], significant_figures=4,
    )  # fmt: skip
    assert (
        text
        == """\
A circuit

Given: C1 = 1 µF, C2 = 5 µF, C3 = 8 µF

Reduction
1.  C1 and C2 are in series:
    C12 = 1/(1/C1 + 1/C2) = 1/(1/1 µF + 1/5 µF) ≈ 0.8333 µF
2.  C12 and C3 are in parallel:
    Ceq = C12 + C3 = 0.8333 µF + 8 µF ≈ 8.833 µF

     C
C1   1 µF
C2   5 µF
C3   8 µF
C12  0.8333 µF
Ceq  8.833 µF

≈ marks a value rounded to 4 significant figures for writing; the working keeps the exact one.
"""
    )


def test_what_is_given_is_never_rounded():
    text = _solution("series(C1, C2)", "12.34567 V", "4.70125 4.7 µF", significant_figures=2)
    assert "1/(1/4.70125 µF + 1/4.7 µF) ≈ 2.4 µF" in text
    assert "2.4 µF × 12.34567 V ≈ 29 µC" in text


def test_one_capacitor_needs_no_reduction():
    text = _solution("C1", "5 V", "2 µF")
    assert "Reduction" not in text
    assert "The whole network is across the supply: Q1 = C1 V1 = 2 µF × 5 V = 10 µC" in text


def test_a_caution_ends_the_solution_where_one_is_due():
    """350 V: Bird, Electrical Circuit Theory and Technology, chapter 6, example 13."""
    assert (
        _solution("series(C1, C2, C3)", "350 V", "3 6 12 µF")
        .splitlines()[-1]
        .startswith("Caution: 350 V ")
    )


@settings(max_examples=60, deadline=None)
@given(st.integers(min_value=0, max_value=10**9))
def test_every_step_and_every_element_is_in_the_text(seed):
    problem = random_problem(Random(seed), largest=14)
    reference = solve(problem)
    lines = write_solution(reference).splitlines()
    table = lines[next(n for n, line in enumerate(lines) if line.split()[:1] == ["C"]) :]
    assert [row.split()[0] for row in table[1 : len(problem.capacitors) + 1]] == list(
        problem.capacitors
    )
    steps = [line for line in lines if " are in series" in line or " are in parallel" in line]
    assert len(steps) == 2 * len(reference.stages)


@pytest.mark.parametrize(
    ("names", "indices"),
    [
        (("C1", "C2", "C3"), ["23", "123"]),
        (("C_a", "Cb", "C_c"), ["bc", "abc"]),
        (("C1", "C2", "C10"), ["A", "B"]),  # "210" would be taken for more elements
        (("C1", "C2", "C12"), ["A", "B"]),
        (("CA", "C2", "C10"), ["B", "D"]),  # A is taken, C would read as a capacitance
        (("X", "C", "Y"), ["A", "B"]),
    ],
)
def test_groups_are_labelled_after_their_elements_or_by_letters(names, indices):
    problem = _problem(names)
    found = labels(problem.network)
    assert [found[stage.node] for stage in solve(problem).stages] == indices


def _problem(names: tuple[str, ...]) -> Problem:
    first, second, third = names
    values = dict.fromkeys(names, "1 µF")
    return make_problem("labels", "1 V", f"series({first}, parallel({second}, {third}))", values)


@settings(max_examples=60, deadline=None)
@given(st.integers(min_value=0, max_value=10**9))
def test_no_two_labels_are_alike(seed):
    network = random_problem(Random(seed), largest=14).network
    found = labels(network)
    assert len(set(found.values())) == len(found)
    assert all(found[Element(name)] == name[1:] for name in elements(network))
