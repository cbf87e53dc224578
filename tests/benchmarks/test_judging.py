"""The benchmark counts what it says it counts, on the hand-written pages."""

from __future__ import annotations

from collections import Counter

from checker.benchmarks.judging import report, run, share
from checker.benchmarks.outcome import line_of, outcome_of_lines
from checker.matching import JudgedStatement, Judgement, Slip
from checker.training.students.samples import SAMPLES

CLEAN = next(sample for sample in SAMPLES if sample.first_slip is None)
SLIPPED = next(sample for sample in SAMPLES if sample.kind == "arithmetic")


def judgement(slip_on_line: int | None, outcome: str = "all follows") -> Judgement:
    """A judgement of ten lines of two statements each, with a slip on one of them."""
    statements = tuple(
        JudgedStatement(index, 0, None, index // 2, "", 1.0, None, "follows") for index in range(20)
    )
    slip = None
    if slip_on_line is not None:
        outcome = "slip found"
        slip = Slip(2 * slip_on_line + 1, "arithmetic", None, "", None, "", "")
    return Judgement(outcome, slip, statements)  # type: ignore[arg-type]


def test_outcomes_of_pages() -> None:
    first = SLIPPED.first_slip
    assert first is not None
    assert line_of(judgement(first), 2 * first + 1) == first
    assert outcome_of_lines(SLIPPED, judgement(first)) == "right"
    assert outcome_of_lines(SLIPPED, judgement(first + 1)) == "elsewhere"
    assert outcome_of_lines(SLIPPED, judgement(None)) == "missed"
    assert outcome_of_lines(SLIPPED, judgement(None, "needs a look")) == "asked"
    assert outcome_of_lines(CLEAN, judgement(2)) == "accused"
    assert outcome_of_lines(CLEAN, judgement(None)) == "right"
    assert outcome_of_lines(CLEAN, judgement(None, "needs a look")) == "asked"


def test_shares() -> None:
    assert share(Counter(part=3, whole=12), "part", "whole").split() == [
        "3",
        "of",
        "12",
        "(25.00",
        "%)",
    ]
    assert share(Counter(), "part", "whole") == "-"


def test_a_short_run_accounts_for_every_page() -> None:
    tally = run(range(1, 7), 1)
    for name in ("clean", "slipped", "misread clean", "misread slipped"):
        outcomes = ("right", "accused", "asked", "missed", "elsewhere")
        counted = sum(tally.counts[f"{name} {outcome}"] for outcome in outcomes)
        assert counted + tally.counts["crashes"] >= tally.counts[f"{name} pages"] == 6
    assert sum(c["pages"] for c in tally.kinds.values()) + tally.counts["crashes"] >= 6
    assert "slip at the right line" in report(tally)
