"""How fast a stack is read here, what it costs, and whether a killed run ends like another.

    python -m checker.benchmarks.stack --photo page.jpg --problem FILE --pages 10 100 --jobs 1 2
    python -m checker.benchmarks.stack --photo page.jpg --problem FILE --kills 20 --of 60 --typed

``--photo`` is given again and again, each time with some other bytes behind its picture, so that
nothing is taken over from a page before. Prints pages per second and how they change with the
number of jobs, the memory of the largest worker and its slope over the run, the time from the start
of the command to its first page, and after ``--kills`` (kill -9 at random moments, then the run is
continued) whether the store's tables and the CSV are those of an undisturbed run. ``--typed`` kills
runs of typed pages instead of photos, much faster.
"""

from __future__ import annotations

import argparse
import hashlib
import random
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from checker.problem.problem_file import load_problem
from checker.stack.intake import GivenPage
from checker.stack.outputs import TABLE
from checker.stack.store import FILE, Store
from checker.stack.triage import Step, triage
from checker.stack.workers import ProcessWorkers


def copies(photo: bytes, count: int) -> Iterator[GivenPage]:
    """``count`` pages with the same picture and different bytes."""
    for number in range(count):
        content = photo + number.to_bytes(4, "big")
        digest = hashlib.sha256(content).hexdigest()
        yield GivenPage(f"{number:05}.jpg", 1, content, digest)


def timed(photo: bytes, problem: Path, count: int, jobs: int) -> float:
    """Print the figures of one run; gives its pages per second."""
    workers = ProcessWorkers(jobs)
    memory: list[tuple[int, float]] = []
    first: list[float] = []

    def tell(step: Step) -> None:
        if step.kind in ("read", "failed"):
            first.append(time.perf_counter())
            memory.append((len(memory), max(map(_megabytes, workers.processes()), default=0.0)))

    with tempfile.TemporaryDirectory() as folder, Store.open(Path(folder) / FILE) as store:
        start = time.perf_counter()
        try:
            triage(copies(photo, count), store, load_problem(problem), workers, tell=tell)
        finally:
            workers.close()
        seconds = time.perf_counter() - start
    rate = count / seconds
    later = memory[len(memory) // 5 :]  # models and buffers are all there by then
    at, used = np.array(later, float).T if len(later) > 2 else ([0, 1], [0, 0])
    slope = float(np.polyfit(at, used, 1)[0])
    print(
        f"{count} pages, {jobs} jobs: {rate:.2f} pages/s; first page after "
        f"{first[0] - start:.2f} s; largest worker {max(m for _, m in memory):.0f} MB, "
        f"{1000 * slope:+.0f} MB in 1,000 pages",
        flush=True,
    )
    return rate


def killed(photo: Path, problem: Path, kills: int, count: int, typed: bool) -> bool:
    """Run, kill and continue; whether the end is that of an undisturbed run."""
    dice = random.Random(1)
    with tempfile.TemporaryDirectory() as name:
        given = Path(name) / "given"
        given.mkdir()
        for number, page in enumerate(copies(photo.read_bytes(), count)):
            if typed:
                text = "C12 = 1/(1/6 + 1/3) = 2 µF\n" + "\n" * number
                (given / f"{number:05}.txt").write_text(text, encoding="utf-8")
            else:
                (given / page.name).write_bytes(page.content)
        plain, other = Path(name) / "plain", Path(name) / "killed"
        start = time.perf_counter()
        _command(given, problem, plain).wait()
        whole = time.perf_counter() - start
        for _ in range(kills):
            run = _command(given, problem, other)
            try:
                run.wait(dice.uniform(0, whole * 3 / kills + 1))
            except subprocess.TimeoutExpired:
                run.kill()
                run.wait()
        _command(given, problem, other).wait()
        same = _rows(plain) == _rows(other)
        table = (plain / TABLE).read_bytes() == (other / TABLE).read_bytes()
    kind = "typed pages" if typed else "photos"
    print(f"{kills} kills in a run of {count} {kind}: same store {same}, same CSV {table}")
    return same and table


def main() -> None:
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("--photo", type=Path, required=True)
    parse.add_argument("--problem", type=Path, required=True)
    parse.add_argument("--pages", type=int, nargs="*", default=[])
    parse.add_argument("--jobs", type=int, nargs="*", default=[1, 2])
    parse.add_argument("--kills", type=int, default=0)
    parse.add_argument("--of", type=int, default=60)
    parse.add_argument("--typed", action="store_true")
    options = parse.parse_args()
    photo = options.photo.read_bytes()
    for count in options.pages:
        rates = [timed(photo, options.problem, count, jobs) for jobs in options.jobs]
        if len(rates) > 1:
            print(f"{options.jobs[-1]} jobs are {rates[-1] / rates[0]:.2f} times {options.jobs[0]}")
    if options.kills:
        killed(options.photo, options.problem, options.kills, options.of, options.typed)


def _command(given: Path, problem: Path, out: Path) -> subprocess.Popen[bytes]:
    line = ["triage", str(given), "--problem", str(problem), "--out", str(out)]
    quiet = subprocess.DEVNULL
    return subprocess.Popen([sys.executable, "-m", "checker", *line], stdout=quiet, stderr=quiet)


def _rows(folder: Path) -> list[list[tuple[object, ...]]]:
    tables = ("settings", "submissions", "pages", "judgements", "actions")
    with sqlite3.connect(folder / FILE) as store:
        return [store.execute(f"SELECT * FROM {table} ORDER BY 1").fetchall() for table in tables]


def _megabytes(process: int) -> float:
    """Resident memory of a process now."""
    try:
        words = Path(f"/proc/{process}/statm").read_text().split()
    except OSError:
        return 0.0
    return int(words[1]) * 4096 / 1e6


if __name__ == "__main__":
    main()
