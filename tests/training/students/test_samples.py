"""The hand-written pages against the evaluator and against first principles."""

from __future__ import annotations

from pathlib import Path

import pytest

from checker import markup
from checker.problem.problem_file import load_problem
from checker.training.students import KINDS, StudentPage
from checker.training.students.files import write_files
from checker.training.students.samples import SAMPLES
from tests.training.students.test_honesty import plain_numbers, side_by_side


def test_ten_pages_of_different_kinds() -> None:
    assert len(SAMPLES) == 10
    kinds = [sample.kind for sample in SAMPLES]
    assert kinds.count(None) == 2
    assert len(set(kinds)) == 9 and set(kinds) - {None} <= set(KINDS)
    assert all(7 <= len(sample.lines) <= 13 for sample in SAMPLES)


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda s: s.problem.title)
def test_lines_are_canonical_and_add_up_but_for_the_slip(sample: StudentPage) -> None:
    for line in sample.lines:
        assert "".join(markup.tokens(line.markup)) == line.markup
    # A wrong rule worked out rightly agrees with itself; a wrong number does not.
    in_the_number = sample.kind in ("arithmetic", "decimal-point")
    expected = [sample.first_slip] if in_the_number else []
    assert side_by_side(sample, plain_numbers(sample)) == expected


def test_files_can_be_read_back(tmp_path: Path) -> None:
    for sample in SAMPLES:
        typed, problem, truth = write_files(sample, tmp_path, f"sample{-sample.seed}")
        loaded = load_problem(problem)
        assert loaded.network == sample.problem.network
        assert loaded.capacitors == sample.problem.capacitors
        assert loaded.supply == sample.problem.supply
        assert len(typed.read_text("utf-8").splitlines()) == sum(
            not line.struck for line in sample.lines
        )
        assert ("first_slip" in truth.read_text("utf-8")) == (sample.kind is not None)
