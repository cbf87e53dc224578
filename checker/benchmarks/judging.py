"""How well the judging does on invented students: ``python -m checker.benchmarks.judging``.

Seeds from 100000 to 199999 and from 1000000 on are for reporting, others for development; nothing
is tuned on the former.
Every seed gives one clean page and one page with one slip, each judged from its exact text
(every fourth as typed text) and from n-best readings with the line reader's own errors: for
reporting those it makes in hands that only measure, for development those in others that it has
not met.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
import traceback
from collections import Counter
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from checker.benchmarks.operating_curve import as_table, draw, operating_points
from checker.benchmarks.outcome import line_of, outcome_of_lines
from checker.matching import Judgement, judge
from checker.problem.reduction import solve
from checker.reading.page import Line
from checker.training.students import StudentPage, page
from checker.training.students.circuits import SHAPES, connection, tree
from checker.training.students.misreading import MEASURED, UNSEEN, exact, misread

REPORTING = 100_000  # first seed
TYPED_EVERY = 4
OUTCOMES = ("right", "asked", "elsewhere", "missed")
LINES = 15  # of the page whose time is stated


@dataclass
class Tally:
    """Counts over pages; ``times``: (seconds, lines) of single judgements."""

    counts: Counter[str] = field(default_factory=Counter)
    kinds: dict[str, Counter[str]] = field(default_factory=dict)
    mistaken: Counter[tuple[str, str]] = field(default_factory=Counter)
    times: list[tuple[float, int]] = field(default_factory=list)
    failures: list[str] = field(default_factory=list)

    def add(self, other: Tally) -> None:
        """Take in the counts of another part."""
        self.counts.update(other.counts)
        self.mistaken.update(other.mistaken)
        for kind, counts in other.kinds.items():
            self.kinds.setdefault(kind, Counter()).update(counts)
        self.times += other.times
        self.failures += other.failures


def measure(seed: int, misreadings: bool = True) -> Tally:
    """Both pages of a seed, each judged from its exact text and from ``misreadings`` of it."""
    tally = Tally()
    for slip, name in ((None, "clean"), ("any", "slipped")):
        student = page(seed, slip, second=False)
        typed = seed % TYPED_EVERY == TYPED_EVERY - 1
        _judged(tally, student, exact(student, typed), name)
        if misreadings:
            source = UNSEEN if seed >= REPORTING else MEASURED
            read = misread(student, seed, source=source)
            _judged(tally, student, read, f"misread {name}")
    if seed % 5 == 0:
        _second(tally, page(seed, "any", second=True))
    return tally


def _judged(tally: Tally, student: StudentPage, lines: Sequence[Line], name: str) -> None:
    reference = solve(student.problem)
    start = time.perf_counter()
    try:
        judgement = judge(reference, lines)
    except Exception:  # a crash is a figure too: it is counted and shown
        tally.counts[f"{name} pages"] += 1
        tally.counts["crashes"] += 1
        tally.failures.append(f"--- {name}: crash, seed {student.seed}\n{traceback.format_exc()}")
        return
    tally.times.append((time.perf_counter() - start, len(lines)))
    found = outcome_of_lines(student, judgement)
    tally.counts[f"{name} pages"] += 1
    tally.counts[f"{name} {found}"] += 1
    if found == "right" and student.second_slip is None and not student.repeated:
        tally.counts[f"{name} alone"] += 1
        tally.counts[f"{name} later slips invented"] += bool(judgement.later_slips)
    good = found == "right"
    if name == "slipped":
        counts = tally.kinds.setdefault(student.kind or "", Counter())
        counts["pages"] += 1
        counts[found] += 1
        if good and judgement.first_slip:
            named = (judgement.first_slip.kind, *judgement.first_slip.also)
            counts["first"] += named[0] in student.kinds_equal
            counts["of two"] += bool(set(named[:2]) & student.kinds_equal)
            if named[0] not in student.kinds_equal:
                tally.mistaken[student.kind or "", named[0]] += 1
                good = False
    if (not good and name in ("clean", "slipped")) or found == "accused":
        tally.failures.append(described(student, lines, judgement, f"{name}: {found}"))


def _second(tally: Tally, student: StudentPage) -> None:
    """A page with two independent slips: is the second found as well?"""
    if student.second_slip is None:
        return
    judgement = judge(solve(student.problem), exact(student))
    tally.counts["two slips pages"] += 1
    places = {line_of(judgement, slip.statement) for slip in judgement.later_slips}
    tally.counts["two slips both right"] += (
        outcome_of_lines(student, judgement) == "right" and student.second_slip in places
    )


def described(student: StudentPage, lines: Sequence[Line], judgement: Judgement, title: str) -> str:
    """A page with its truth and its judgement, to be read by a person."""
    circuit = student.circuit
    values = ", ".join(f"{n} = {d.text}" for n, d in circuit.capacitors.items())
    rows = [
        f"--- {title}, seed {student.seed}",
        f"    {connection(circuit.network)}: {values}; {circuit.supply.text}",
        f"    truth: line {student.first_slip}, {student.kind}, {sorted(student.kinds_equal)}",
    ]
    slip = judgement.first_slip
    if slip:
        rows.append(
            f"    judged: line {line_of(judgement, slip.statement)}, {slip.kind}, "
            f"{slip.also}, written {slip.written}, expected {slip.expected}, {slip.explanation}"
        )
    for number, (student_line, line) in enumerate(zip(student.lines, lines, strict=True)):
        verdicts = [s.verdict for s in judgement.statements if s.line == number]
        read = line.candidates[0]
        other = (
            "" if read.text == student_line.markup else f"   ({read.text}, {read.probability:.2f})"
        )
        struck = " (struck)" if student_line.struck else ""
        rows.append(f"    {number:2d} {student_line.markup}{struck}{other}   {verdicts}")
    return "\n".join(rows)


def largest_reference_ms() -> float:
    """Median time to solve a network of eight elements."""
    shapes = [shape for _, shape in SHAPES if connection(tree(shape)).count("C") == 8]
    times = []
    for seed in range(10):
        problem = page(seed + 1, None, shape=shapes[seed % len(shapes)]).problem
        start = time.perf_counter()
        solve(problem)
        times.append(time.perf_counter() - start)
    return 1000 * statistics.median(times)


def share(counts: Counter[str], part: str, whole: str) -> str:
    """A count with its percentage of another."""
    total = counts[whole]
    return f"{counts[part]:6d} of {total}  ({100 * counts[part] / total:.2f} %)" if total else "-"


def report(tally: Tally) -> str:
    """The figures as text."""
    counts = tally.counts
    rows = [f"Crashes: {counts['crashes']}"] if counts["crashes"] else []
    rows.append("Exact texts")
    rows.append(f"  clean pages accused            {share(counts, 'clean accused', 'clean pages')}")
    rows.append(f"  clean pages asked about        {share(counts, 'clean asked', 'clean pages')}")
    total: Counter[str] = sum((c for c in tally.kinds.values()), Counter())
    rows.append(f"  slip at the right line         {share(total, 'right', 'pages')}")
    rows.append(f"  elsewhere / missed / asked     "
                f"{total['elsewhere']} / {total['missed']} / {total['asked']}")  # fmt: skip
    rows.append(f"  kind among the first two       {share(total, 'of two', 'right')}")
    rows.append(f"  kind first                     {share(total, 'first', 'right')}")
    rows.append("  two slips, both found          "
                + share(counts, "two slips both right", "two slips pages"))  # fmt: skip
    rows.append("  later slips invented           "
                + share(counts, "slipped later slips invented", "slipped alone"))  # fmt: skip
    misreadings = ("clean accused", "clean asked", *(f"slipped {word}" for word in OUTCOMES))
    if counts["misread clean pages"]:
        rows.append("Readings with the reader's own errors")
    for what in misreadings if counts["misread clean pages"] else ():
        name = what.split()[0]
        text = share(counts, f"misread {what}", f"misread {name} pages")
        rows.append(f"  {what.replace(' ', ' pages, '):31s}{text}")
    rows.append("Kind                              pages  right  of two  first")
    for kind in sorted(tally.kinds):
        c = tally.kinds[kind]
        found = max(1, c["right"])
        parts = (c["right"] / c["pages"], c["of two"] / found, c["first"] / found)
        rows.append(f"  {kind:31s} {c['pages']:6d} " + " ".join(f"{100 * p:6.1f}" for p in parts))
    for (kind, named), number in tally.mistaken.most_common(12):
        rows.append(f"  {kind} named {named}: {number}")
    per_page = [1000 * seconds / max(1, lines) * LINES for seconds, lines in tally.times]
    per_page.sort()
    rows.append(
        f"Time for a page of {LINES} lines: median {statistics.median(per_page):.1f} ms, "
        f"95 % below {per_page[int(0.95 * len(per_page))]:.1f} ms; "
        f"reference of eight elements {largest_reference_ms():.1f} ms"
    )
    return "\n".join(rows)


def run(seeds: Iterable[int], jobs: int, misreadings: bool = True) -> Tally:
    """Measure all seeds in ``jobs`` processes."""
    whole = Tally()
    if jobs == 1:
        for seed in seeds:
            whole.add(measure(seed, misreadings))
        return whole
    with ProcessPoolExecutor(jobs) as pool:
        for part in pool.map(partial(measure, misreadings=misreadings), seeds, chunksize=20):
            whole.add(part)
    return whole


def main(arguments: Sequence[str] | None = None) -> int:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--pages", type=int, default=1000, help="clean and slipped pages each")
    parser.add_argument("--first-seed", type=int, default=REPORTING)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--show-failures", type=int, default=0, metavar="K")
    parser.add_argument("--failures", type=Path, metavar="FILE", help="write all failures here")
    parser.add_argument("--exact", action="store_true", help="leave out the misreadings")
    parser.add_argument("--curve", type=Path, metavar="FILE",
                        help="only the operating curve, drawn as .svg or .png")  # fmt: skip
    chosen = parser.parse_args(arguments)
    seeds = range(chosen.first_seed, chosen.first_seed + chosen.pages)
    if chosen.curve:
        points = operating_points(seeds, chosen.jobs)
        print(as_table(points))
        draw(points, chosen.curve)
        return 0
    tally = run(seeds, chosen.jobs, not chosen.exact)
    print(report(tally))
    for failure in tally.failures[: chosen.show_failures]:
        print(failure)
    if chosen.failures:
        chosen.failures.write_text("\n".join(tally.failures) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
