"""The marking scheme of a problem file, and one sentence for everything wrong with it."""

from __future__ import annotations

import pytest

from checker.errors import ProblemError
from checker.exact import Fraction
from checker.problem.marking import MarkingScheme
from checker.problem.problem_file import parse_problem, problem_to_toml
from tests.problem.test_problem_file import GOOD

MARKS = "[marks]\nequivalent_capacitance = 2\ncharge = 1\nvoltage = 0.1\nmethod_step = 0.5\n"


def test_points_are_read_exactly_as_written():
    scheme = parse_problem(GOOD + MARKS).marking
    assert scheme == MarkingScheme(
        {"equivalent capacitance": Fraction(2), "charge": Fraction(1), "voltage": Fraction(1, 10)},
        Fraction(1, 2),
        True,
    )


def test_a_problem_without_the_table_has_no_scheme():
    assert parse_problem(GOOD).marking is None


def test_a_scheme_is_written_so_that_it_reads_back():
    problem = parse_problem(GOOD + MARKS + "follow_through = false\n")
    assert parse_problem(problem_to_toml(problem)).marking == problem.marking
    assert problem.marking is not None and not problem.marking.follow_through


@pytest.mark.parametrize(
    ("table", "says"),
    [
        ("charge = '1'", "no number"),
        ("charge = true", "no number"),
        ("charge = nan", "no number"),
        ("charge = -1", "out of range"),
        ("charge = 1000", "out of range"),
        ("charge = 0", "gives no points"),
        ("follow_through = false", "gives no points"),
        ("charge = 1\nfollow_through = 1", "neither true nor false"),
        ("energy = 1", "not asked for"),
        ("resistance = 1", "choose from"),
        ("", "gives no points"),
    ],
)
def test_what_is_no_scheme_is_told_in_one_sentence_with_its_line(table, says):
    with pytest.raises(ProblemError, match=says) as caught:
        parse_problem(f"{GOOD}[marks]\n{table}\n", "three.toml")
    sentence = str(caught.value)
    lines = f"{GOOD}[marks]\n{table}".split("\n")
    assert sentence.startswith(f"three.toml, line {caught.value.line}: ")
    assert sentence.endswith(".") and sentence.count("\n") == 0
    assert caught.value.line in (len(lines), lines.index("[marks]") + 1)


def test_marks_written_as_no_table_are_refused():
    with pytest.raises(ProblemError, match="gives no points"):
        parse_problem("marks = 5\n" + GOOD)
