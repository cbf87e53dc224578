"""Properties of following, over random networks, students and roundings.

Right values come from the exact reference, itself checked elsewhere against a nodal solve and
published examples; the invented students know nothing of the matcher.
"""

from __future__ import annotations

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from checker.exact import Fraction
from checker.matching import judge
from checker.problem.given import make_problem
from checker.problem.network import elements
from checker.problem.reduction import solve
from checker.training.students import page
from checker.training.students.misreading import exact
from tests.matching.pages import judged, slip_line

SEEDS = st.integers(1, 9_999)
GROUPS = ("series({0}, {1})", "parallel({0}, {1})")
UNITS = {"C": ("µF", 6), "Q": ("µC", 6), "V": ("V", 0), "U": ("µJ", 6)}


@st.composite
def circuits(draw: st.DrawFn):  # type: ignore[no-untyped-def]
    """A random network of 2 to 6 elements, solved."""
    count = draw(st.integers(2, 6))
    parts = [f"C{n + 1}" for n in range(count)]
    values = draw(st.lists(st.integers(2, 99), min_size=count, max_size=count, unique=True))
    given = {name: f"{value} µF" for name, value in zip(parts, values, strict=True)}
    while len(parts) > 1:
        at = draw(st.integers(0, len(parts) - 2))
        parts[at : at + 2] = [draw(st.sampled_from(GROUPS)).format(*parts[at : at + 2])]
    return solve(make_problem("random", f"{draw(st.integers(3, 400))} V", parts[0], given))


def written(value: Fraction, figures: int, cut: bool, up: int = 0) -> str:
    """A value to so many figures, ``up`` units of the last figure too large."""
    exponent = 0
    while value >= Fraction(10) ** (exponent + 1):
        exponent += 1
    while value < Fraction(10) ** exponent:
        exponent -= 1
    step = Fraction(10) ** (exponent - figures + 1)
    number = ((value / step) + (0 if cut else Fraction(1, 2))).__floor__() + up
    places = max(0, figures - 1 - exponent)
    digits = str(number * step * 10**places // 1).rjust(places + 1, "0")
    return f"{digits[:-places]}.{digits[-places:]}" if places else digits


@st.composite
def values(draw: st.DrawFn):  # type: ignore[no-untyped-def]
    """A circuit, the label of a quantity in it, its bare value and its unit."""
    of = draw(circuits())
    node, state = draw(st.sampled_from(list(of.states.items())))
    kind = draw(st.sampled_from("CQVU"))
    names = elements(node)
    whole = len(names) == len(of.problem.capacitors)
    label = "tot" if whole else "".join(name[1:] for name in names)
    value = {"C": state.capacitance, "Q": state.charge, "V": state.voltage, "U": state.energy}[kind]
    unit, power = UNITS[kind]
    return of, f"{kind}_{{{label}}}", value * 10**power, unit


@given(values(), st.integers(2, 6), st.booleans())
@settings(max_examples=150, deadline=None)
def test_a_right_value_follows_however_it_is_rounded(case, figures: int, cut: bool) -> None:  # type: ignore[no-untyped-def]
    of, label, value, unit = case
    judgement = judged(of, f"{label} = {written(value, figures, cut)} {unit}")
    assert judgement.outcome == "all follows"


@given(values(), st.integers(4, 6), st.booleans(), st.sampled_from((-9, -4, -2, 2, 5, 11)))
@settings(max_examples=150, deadline=None)
def test_a_value_outside_every_rounding_is_found(case, figures: int, cut: bool, up: int) -> None:  # type: ignore[no-untyped-def]
    of, label, value, unit = case
    digits = written(value, figures, cut, up)
    assume("." in digits or not digits.endswith("0"))  # 3920 may stand for 3924
    line = f"{label} = {digits} {unit}"
    assert slip_line(judged(of, line)) == 0, line


@given(SEEDS)
@settings(max_examples=60, deadline=None)
def test_no_route_or_habit_of_right_work_is_accused(seed: int) -> None:
    student = page(seed, None)
    judgement = judge(solve(student.problem), exact(student, seed % 4 == 3))
    assert judgement.first_slip is None
    assert not judgement.later_slips
