"""Problem files: both forms of connection, and one clear sentence for everything wrong."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checker.errors import ProblemError
from checker.exact import Fraction
from checker.problem.network import Element, Parallel, Series
from checker.problem.problem_file import load_problem, make_problem, parse_problem, problem_to_toml
from checker.problem.reduction import solve
from checker.quantity import Quantity
from tests.problem.random_networks import branches_of, random_problem

GOOD = """\
title = "Three capacitors on a 24 V supply"
supply = "24 V"
connection = "parallel(series(C1, C2), C3)"
find = ["equivalent capacitance", "charge", "voltage"]
significant_figures = 3
[capacitors]
C1 = "4 µF"
C2 = "12 μF"
C3 = "5 uF"
"""
BRANCHES = """\
title = "Three capacitors on a 24 V supply"
supply = "24 V"
terminals = ["a", "b"]
significant_figures = 3
[branches]
C3 = ["b", "a"]
C2 = ["m", "b"]
C1 = ["a", "m"]
[capacitors]
C1 = "4 µF"
C2 = "12 µF"
C3 = "5 µF"
"""


def test_a_problem_file_is_read(tmp_path):
    path = tmp_path / "three.toml"
    path.write_text(GOOD, encoding="utf-8")
    problem = load_problem(path)
    assert problem.title == "Three capacitors on a 24 V supply"
    assert problem.supply == Quantity(Fraction(24), "voltage")
    assert problem.network == Parallel((Series((Element("C1"), Element("C2"))), Element("C3")))
    assert problem.capacitors == {
        name: Quantity(Fraction(value, 10**6), "capacitance")
        for name, value in (("C1", 4), ("C2", 12), ("C3", 5))
    }
    assert problem.find == ("equivalent capacitance", "charge", "voltage")
    assert problem.significant_figures == 3
    assert (problem.source, problem.text) == (str(path), GOOD)


def test_both_forms_of_connection_are_one_problem():
    assert parse_problem(BRANCHES) == parse_problem(GOOD)
    inside = BRANCHES.replace('terminals = ["a", "b"]\n', "").replace(
        "[branches]", '[branches]\nterminals = ["a", "b"]'
    )
    assert parse_problem(inside) == parse_problem(GOOD)


@settings(max_examples=60, deadline=None)
@given(st.integers(min_value=0, max_value=10**9))
def test_both_forms_give_the_same_reference(seed):
    problem = random_problem(Random(seed))
    written = problem_to_toml(problem)
    lines = [line for line in written.splitlines() if not line.startswith("connection")]
    table = [f'{name} = ["{a}", "{b}"]' for name, (a, b) in branches_of(problem.network).items()]
    by_branches = "\n".join(['terminals = ["a", "b"]', *lines, "[branches]", *table])
    assert parse_problem(written) == problem
    assert solve(parse_problem(by_branches)).states == solve(problem).states


@pytest.mark.parametrize(
    "problem",
    [
        make_problem('Quotes " and \\ and \x7f', "1/3 V", "C1", {"C1": "1/7 µF"}),
        make_problem("µ", None, "series(C1, C2)", {"C1": "1e-20 F", "C2": "47 kF"},
                     ["equivalent capacitance"], 4),
    ],
)  # fmt: skip
def test_what_is_written_as_toml_reads_back(problem):
    assert parse_problem(problem_to_toml(problem)) == problem


def test_line_ends_byte_order_mark_and_version_do_not_matter(tmp_path):
    path = tmp_path / "windows.toml"
    path.write_bytes(b"\xef\xbb\xbf" + ("format = 1\n" + GOOD).replace("\n", "\r\n").encode())
    assert load_problem(path) == parse_problem(GOOD)


def test_title_and_find_may_be_left_out():
    text = GOOD.replace('title = "Three capacitors on a 24 V supply"\n', "")
    text = text.replace('find = ["equivalent capacitance", "charge", "voltage"]\n', "")
    problem = parse_problem(text, "folder/three.toml")
    assert problem.title == "three"
    assert problem.find == ("equivalent capacitance", "charge", "voltage")


def test_no_supply_is_needed_for_the_equivalent_capacitance_alone():
    text = GOOD.replace('supply = "24 V"\n', "").replace(', "charge", "voltage"]', "]")
    assert parse_problem(text).supply is None


def _changed(old: str, new: str, text: str = GOOD) -> str:
    assert old in text
    return text.replace(old, new)


FAULTS = [
    (
        _changed("C2), C3", "C2), C9"), 3,
        "The connection uses C9, which [capacitors] does not list; "
        'add a line such as C9 = "4 µF" there, or correct the name.',
    ),
    (
        _changed("C2), C3", "C2), C1"), 3,
        "The connection uses C1 more than once; "
        "give each element of the circuit a name of its own.",
    ),
    (
        _changed("C3 = ", 'C4 = "1 µF"\nC3 = '), 9,
        "C4 is not in the connection, so it would carry nothing; "
        "connect it or take it out of [capacitors].",
    ),
    (
        _changed('"4 µF"', '"0 µF"'), 7,
        'The capacitance of C1 is zero; give a positive capacitance, like "4 µF".',
    ),
    (
        _changed('"12 μF"', '"-12 µF"'), 8,
        'The capacitance of C2 is negative; give a positive capacitance, like "4 µF".',
    ),
    (
        _changed('"5 uF"', '"5 µC"'), 9,
        'The capacitance of C3 is a charge; give a capacitance with its unit, like "4 µF".',
    ),
    (
        _changed('"5 uF"', '"5"'), 9,
        'The capacitance of C3 is a plain number; give a capacitance with its unit, like "4 µF".',
    ),
    (
        _changed('"5 uF"', '"5 apples"'), 9,
        'The capacitance of C3 cannot be read: "apples" is no electrical unit known here; '
        "write one such as µF, µC, V or mJ.",
    ),
    (
        _changed('"5 uF"', "5"), 9,
        'The capacitance of C3 is no text in quotes; write it like "4 µF".',
    ),
    (
        _changed('"24 V"', '"24 A"'), 2,
        'The supply is a current; give a voltage with its unit, like "24 V".',
    ),
    (_changed('"24 V"', "24"), 2, 'The supply is no text in quotes; write it like "24 V".'),
    (
        _changed('"24 V"', '"0 V"'), 2,
        'The supply is zero; give a positive voltage, like "24 V".',
    ),
    (
        _changed("suppl", "suply"[:4] + "l"), 2,
        '"suplly" is no key of a problem file; write "supply" if that is meant.',
    ),
    (
        _changed("find =", "colour = 1\nfind ="), 4,
        '"colour" is no key of a problem file; choose from format, title, supply, connection, '
        "terminals, branches, find, significant_figures, capacitors, marks.",
    ),
    (
        GOOD + 'supply = "24 V"\n', 10,
        '"supply" stands under [capacitors] and counts as an element there; '
        "move the line above the first [table].",
    ),
    (
        _changed('"charge"', '"current"'), 4,
        '"current" cannot be asked for; '
        "choose from equivalent capacitance, charge, voltage, energy.",
    ),
    (
        _changed('["equivalent capacitance", "charge", "voltage"]', "[]"), 4,
        'There is nothing to find; write for example find = ["equivalent capacitance"].',
    ),
    (
        _changed('["equivalent capacitance", "charge", "voltage"]', '"charge"'), 4,
        'find is no list of texts; write it like find = ["charge"].',
    ),
    (
        _changed("figures = 3", "figures = 0"), 5,
        "significant_figures is out of range; give a whole number from 1 to 10.",
    ),
    (
        _changed("figures = 3", "figures = true"), 5,
        "significant_figures is no whole number; give one, like 3.",
    ),
    (
        _changed('"Three capacitors on a 24 V supply"', '""'), 1,
        'The title is no text; write it in quotes, like title = "Circuit 1".',
    ),
    (
        _changed("C3", "C_1"), 9,
        "C_1 and C1 are one name on paper; give one of them another name.",
    ),
    (
        _changed("C1", "C-1"), 7,
        '"C-1" cannot name an element; use a letter, then letters and digits, like C1.',
    ),
    (
        "format = 2\n" + GOOD, 1,
        "The file is of another format than 1, the one that this program reads; "
        "rewrite it in format 1.",
    ),
    (
        GOOD + '[branches]\nC1 = ["a", "b"]\n', 10,
        "Both connection and [branches] are given; keep one of them.",
    ),
    (
        _changed('C1 = ["a", "m"]', 'C9 = ["a", "m"]', BRANCHES), 8,
        "The connection uses C9, which [capacitors] does not list; "
        'add a line such as C9 = "4 µF" there, or correct the name.',
    ),
    (
        _changed('["a", "m"]', '["a", "m", "b"]', BRANCHES), 8,
        'Branch C1 does not name two nodes; write them like ["a", "b"].',
    ),
    (
        _changed('= ["a", "b"]', '= "ab"', BRANCHES), 3,
        'terminals does not name two nodes; write them like ["a", "b"].',
    ),
    (
        _changed('C3 = ["b", "a"]', 'C3 = ["b", "x"]', BRANCHES), 6,
        "C3 carries nothing, because no path from a to b runs through it; "
        "correct its nodes or take it out.",
    ),
    (
        _changed('C3 = ["b", "a"]', 'C3 = ["m", "m"]', BRANCHES), 6,
        "C3 carries nothing, because both its ends are at m; "
        "join it to two nodes or take it out.",
    ),
    (
        'supply = "9 V"\nterminals = ["a", "b"]\n# a bridge\n[branches]\n'
        'C1 = ["a", "m"]\nC2 = ["a", "n"]\nC3 = ["m", "n"]\nC4 = ["m", "b"]\nC5 = ["n", "b"]\n'
        '[capacitors]\nC1 = "1 µF"\nC2 = "1 µF"\nC3 = "1 µF"\nC4 = "1 µF"\nC5 = "1 µF"\n', 4,
        "The branches are no series/parallel network: C1, C2, C3, C4, C5 form a bridge, which "
        "neither rule combines; give a network of series and parallel groups alone.",
    ),
    (
        _changed('"parallel(series(C1, C2), C3)"', '"parallel(series(C1, C2) C3)"'), 3,
        'The connection has "C3" where a comma or a closing bracket belongs, '
        'as in "parallel(series(C1, C2), C3)".',
    ),
    (
        _changed('connection = "parallel(series(C1, C2), C3)"',
                 'connection = """parallel(\nseries(C1, C2),\nC7)"""\n# a remark'), 3,
        "The connection uses C7, which [capacitors] does not list; "
        'add a line such as C7 = "4 µF" there, or correct the name.',
    ),
    (
        "\n".join(['supply = "1 V"', 'connection = "C1"', "[capacitors]"]
                  + [f'C{n} = "1 µF"' for n in range(61)]), 3,
        "There are 61 elements; give at most 60.",
    ),
    (
        _changed("C2 = ", "C1 = "), 8,
        "This line cannot be read, because its key or table is already given above; "
        "keep one of them.",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("text", "line", "sentence"), FAULTS)
def test_a_fault_is_told_in_one_sentence_with_its_line(text, line, sentence):
    with pytest.raises(ProblemError) as caught:
        parse_problem(text, "circuits/three.toml")
    assert caught.value.line == line
    assert str(caught.value) == f"three.toml, line {line}: {sentence}"


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (_changed('"24 V"', "24 V"), 2),
        (_changed("[capacitors]", "[capacitors"), 6),
        (GOOD.rstrip()[:-1], 9),
        (_changed("title", "\0title"), 1),
    ],
)
def test_what_is_no_toml_is_told_with_its_line(text, line):
    """What is wrong is said in the words of Python's tomllib, which differ between versions."""
    with pytest.raises(ProblemError) as caught:
        parse_problem(text, "three.toml")
    assert caught.value.line == line
    start = f"three.toml, line {line}: This line cannot be read, because it is no TOML ("
    assert str(caught.value).startswith(start)
    assert str(caught.value).endswith('); write it like supply = "24 V".')


@pytest.mark.parametrize(
    ("text", "line", "start", "sentence"),
    [
        (
            _changed('supply = "24 V"\n', ""), 5, "above line 5",
            'The supply is missing; add a line such as supply = "24 V", or ask only for '
            'find = ["equivalent capacitance"].',
        ),
        (
            _changed('connection = "parallel(series(C1, C2), C3)"\n', ""), 5, "above line 5",
            'The connection is missing; add a line such as connection = "series(C1, C2)".',
        ),
        (
            _changed('terminals = ["a", "b"]\n', "", BRANCHES), 4, "above line 4",
            'The terminals are missing; add a line such as terminals = ["a", "b"].',
        ),
        (
            'supply = "1 V"\n', 1, "at the end, after line 1",
            'The table [capacitors] is missing; write [capacitors] and below it C1 = "4 µF".',
        ),
        (
            "", 1, "at the end, after line 1",
            'The table [capacitors] is missing; write [capacitors] and below it C1 = "4 µF".',
        ),
    ],
)  # fmt: skip
def test_what_is_missing_is_told_with_its_place(text, line, start, sentence):
    with pytest.raises(ProblemError) as caught:
        parse_problem(text, "three.toml")
    assert caught.value.line == line
    assert str(caught.value) == f"three.toml, {start}: {sentence}"


def test_files_that_are_no_problem_files(tmp_path):
    missing, folder = tmp_path / "missing.toml", tmp_path / "folder"
    folder.mkdir()
    huge, latin, nested = tmp_path / "huge", tmp_path / "latin", tmp_path / "nested"
    huge.write_bytes(b"#" * 70_000)
    latin.write_bytes(GOOD.replace("μ", "µ").encode("latin-1"))
    endless, long = tmp_path / "endless", tmp_path / "long"
    endless.write_text("\n" * 501 + GOOD, encoding="utf-8")
    long.write_text("significant_figures = " + "9" * 5000)
    nested.write_text("x = " + "[" * 20_000)
    for path, sentence in (
        (missing, f"There is no problem file {missing}; check the path."),
        (folder, f"{folder} is a folder; name the problem file in it."),
        (huge, f"{huge} is larger than 64 KiB and so is no problem file; "
               "name the TOML file that describes the circuit."),
        (endless, "endless: It has more than 500 lines and so is no problem file; "
                  "name the TOML file that describes the circuit."),
        (latin, "latin, line 7: This is not UTF-8 text; save the file as UTF-8."),
        (long, "long: A number in it is far too long; shorten it."),
        (nested, "nested: Its lists nest too deeply; write them flat."),
    ):  # fmt: skip
        with pytest.raises(ProblemError) as caught:
            load_problem(path)
        assert str(caught.value) == sentence


@given(st.text(max_size=60), st.integers(min_value=0, max_value=len(GOOD)))
def test_whatever_is_typed_into_a_file_is_read_or_refused(typed, at):
    try:
        problem = parse_problem(GOOD[:at] + typed + GOOD[at:])
    except ProblemError as error:
        assert error.line is None or error.line >= 1
        assert "\n" not in str(error)
    else:
        assert solve(problem).states[problem.network].capacitance > 0
