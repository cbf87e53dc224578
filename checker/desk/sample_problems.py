"""The problems the web page offers, and the reading of an uploaded one."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from checker.errors import ProblemError
from checker.problem.problem_file import LARGEST, Problem, load_problem, parse_problem

SAMPLES = Path(__file__).parents[2] / "sample_pages"


@cache
def sample_problems() -> dict[str, Problem]:
    """The problems of the sample pages by title; none where the package lies without them."""
    problems = [load_problem(path) for path in sorted(SAMPLES.glob("*/problem.toml"))]
    return {problem.title: problem for problem in problems}


def uploaded_problem(name: str, content: bytes) -> Problem:
    """The problem in an uploaded file; ProblemError says what is wrong with it."""
    if len(content) > LARGEST:
        raise ProblemError(f"{name} is too large for a problem file; upload the TOML file.")
    try:
        return parse_problem(content.decode("utf-8-sig"), name)
    except UnicodeDecodeError:
        raise ProblemError(f"{name} is not UTF-8 text; save the problem file as UTF-8.") from None
