"""How accusing, finding and asking trade against each other, and against the quality of reading.

Two families of points: the cost of a wrong accusation varied at 1 % wrong characters, and the
share of wrong characters varied at the costs that the program uses.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from checker.benchmarks.outcome import outcome_of_lines
from checker.matching.judge import judge_at_costs
from checker.matching.rule import COSTS
from checker.problem.reduction import solve
from checker.training.students import page
from checker.training.students.misreading import misread

ACCUSING = (2.0, 6.0, 12.0, 25.0, 40.0, 100.0, 400.0)  # costs of a wrong accusation
ERROR_RATES = (0.005, 0.01, 0.02, 0.04)
USUAL_RATE = 0.01


@dataclass(frozen=True)
class Point:
    """Shares of clean pages (accused, asked about) and of pages with a slip (located, asked)."""

    error_rate: float
    accuse: float
    accused: float
    clean_asked: float
    located: float
    slipped_asked: float


def operating_points(seeds: Sequence[int], jobs: int) -> list[Point]:
    """The points of both families, from a clean and a slipped page of every seed."""
    points: list[Point] = []
    with ProcessPoolExecutor(jobs) as pool:
        for rate in ERROR_RATES:
            costs = ACCUSING if rate == USUAL_RATE else (COSTS.accuse,)
            counts: Counter[tuple[float, str]] = Counter()
            for part in pool.map(partial(_count, rate=rate, costs=costs), seeds, chunksize=5):
                counts.update(part)
            points += [
                Point(rate, cost, *(counts[cost, what] / len(seeds) for what in _WHAT))
                for cost in costs
            ]
    return points


_WHAT = ("clean accused", "clean asked", "slipped right", "slipped asked")


def _count(seed: int, rate: float, costs: Sequence[float]) -> Counter[tuple[float, str]]:
    counts: Counter[tuple[float, str]] = Counter()
    for slip, name in ((None, "clean"), ("any", "slipped")):
        student = page(seed, slip, second=False)
        lines = misread(student, seed, rate)
        its = [replace(COSTS, accuse=cost) for cost in costs]
        judgements = judge_at_costs(solve(student.problem), lines, its)
        for cost, judgement in zip(costs, judgements, strict=True):
            counts[cost, f"{name} {outcome_of_lines(student, judgement)}"] += 1
    return counts


def as_table(points: Sequence[Point]) -> str:
    """The points as text."""
    rows = ["wrong characters  cost of accusing  clean accused  asked  slips located  asked"]
    rows += [
        f"{100 * p.error_rate:14.1f} % {p.accuse:15.0f} {100 * p.accused:15.1f} %"
        f"{100 * p.clean_asked:7.1f} %{100 * p.located:13.1f} %{100 * p.slipped_asked:7.1f} %"
        for p in points
    ]
    return "\n".join(rows)


def draw(points: Sequence[Point], file: Path) -> None:
    """Slips located against clean pages accused, with the share asked about written beside."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(8, 4.2), layout="constrained")
    by_cost = [p for p in points if p.error_rate == USUAL_RATE]
    by_rate = [p for p in points if p.accuse == COSTS.accuse]
    both = figure.subplots(1, 2, sharey=True)
    titles = (f"Cost of a wrong accusation, at {100 * USUAL_RATE:g} % wrong characters",
              f"Wrong characters, at cost {COSTS.accuse:.0f}")  # fmt: skip
    for axes, its, title in zip(both, (by_cost, by_rate), titles, strict=True):
        across, up = [100 * p.accused for p in its], [100 * p.located for p in its]
        axes.plot(across, up, "o-", color="#1f4e79")
        for p in its:
            name = f"{p.accuse:.0f}" if its is by_cost else f"{100 * p.error_rate:g} %"
            asked = 50 * (p.clean_asked + p.slipped_asked)
            axes.annotate(
                f" {name} (asked {asked:.0f} %)", (100 * p.accused, 100 * p.located), fontsize=7
            )
        axes.axvline(0.5, color="grey", linestyle=":")
        axes.axhline(90, color="grey", linestyle=":")
        axes.set(xlabel="clean pages accused, %", title=title)
        axes.title.set_fontsize(9)
        axes.margins(x=0.25)
    both[0].set_ylabel("slips located, %")
    figure.savefig(file)
