"""What the README tells people to type works."""

import re
import subprocess
import sys
from dataclasses import asdict

from checker.problem.problem_file import parse_problem
from checker.stack.limits import Limits
from tests.samples import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", README, re.M | re.S)


def test_both_problem_files_describe_the_same_circuit() -> None:
    connected, branched, _marks = blocks("toml")
    by_connection, by_branches = parse_problem(connected), parse_problem(branched)
    assert by_connection.network == by_branches.network
    assert by_connection.supply == by_branches.supply
    assert by_connection.capacitors == by_branches.capacitors


def test_the_marking_scheme_belongs_to_the_problem_above_it() -> None:
    connected, _branched, marks = blocks("toml")
    scheme = parse_problem(connected + marks).marking
    assert scheme is not None and scheme.points["equivalent capacitance"] == 2


def test_the_python_example_runs() -> None:
    (program,) = blocks("python")
    result = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, cwd=ROOT, check=True
    )
    assert result.stdout == "slip found - equivalent capacitance of C1, C2 - 0.5 µF\n"


def test_both_commands_are_single_lines_and_continuous_integration_runs_the_second() -> None:
    setups = [block for block in blocks("sh") if block.startswith("$(command -v sudo)")]
    assert len(setups) == 2
    assert all(block.count("\n") == 1 for block in setups)
    finder = re.search(r"grep -E '(.*)' README\.md", (ROOT / ".ci/run").read_text(encoding="utf-8"))
    assert finder is not None
    assert re.findall(f"{finder[1]}.*", README, re.M) == [setups[1].rstrip("\n")]


def test_every_local_link_leads_somewhere() -> None:
    links = re.findall(r"\]\((?!https?:)([^)#]+)\)", README)
    assert links
    assert [link for link in links if not (ROOT / link).exists()] == []


def test_the_limits_are_those_of_the_program() -> None:
    table = re.findall(r"^\| `(\w+)` \| ([0-9,]+) \|", README, re.M)
    assert {name: int(number.replace(",", "")) for name, number in table} == asdict(Limits())
