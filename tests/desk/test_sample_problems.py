"""The problems on offer and the reading of an uploaded one."""

import pytest

from checker.desk.sample_problems import sample_problems, uploaded_problem
from checker.errors import ProblemError
from tests.samples import TYPED


def test_the_problem_of_the_typed_sample_is_on_offer() -> None:
    assert "Two capacitors in series beside a third" in sample_problems()


def test_an_uploaded_problem_is_the_same_as_one_from_disk() -> None:
    uploaded = uploaded_problem("mine.toml", TYPED.problem.read_bytes())
    assert uploaded == sample_problems()["Two capacitors in series beside a third"]


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"title = ", b"x" * 100_000, b""])
def test_a_file_that_is_no_problem_is_refused_by_name(content: bytes) -> None:
    with pytest.raises(ProblemError, match=r"mine\.toml"):
        uploaded_problem("mine.toml", content)
