"""How fast a stack is read here and what memory it takes.

    python -m checker.benchmarks.stack --data shared/handwriting --fonts .fonts --pages 10 100

Runs ``checker triage`` on so many photos of 12 megapixels with 15 lines of one student's work, each
with other bytes behind its picture, so that none is taken over from the one before. Prints for
every number of pages and of jobs

- pages per second of the whole command, from its start to the last output, and without start-up,
- seconds until the first page is taken in (start-up) and until it is read, seconds of the outputs,
- the most memory of a worker and of the run itself (resident, twice a second), and how it grows in
  1,000 pages by a straight line through all but the first fifth and the first 25,

and how many times faster the most jobs are than the fewest.
"""

from __future__ import annotations

import argparse
import sqlite3
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from checker.benchmarks.stack_photo import copies, student_photo
from checker.stack.store import FILE

_WARM = 25  # pages until the memory of a worker no longer grows
_OFTEN, _SELDOM = 0.02, 0.5  # seconds between two looks until the first page is read, and after


@dataclass
class Watched:
    """What was seen of a run, in seconds since its start; ``memory`` is (pages read, megabytes of
    the largest worker, of the run itself)."""

    taken_in: float | None = None
    first: float | None = None
    judged: float = 0.0
    end: float = 0.0
    memory: list[tuple[int, float, float]] = field(default_factory=list)


def watched(given: Path, problem: Path, out: Path, jobs: int) -> Watched:
    """Run the command and look at it from outside."""
    line = ["triage", str(given), "--problem", str(problem), "--out", str(out), "--jobs", str(jobs)]
    seen, start = Watched(), time.perf_counter()
    with (out.parent / "said.txt").open("wb") as said:
        run = subprocess.Popen([sys.executable, "-m", "checker", *line], stdout=said, stderr=said)
    while run.poll() is None:
        now = time.perf_counter() - start
        there, read, judged = _counts(out / FILE)
        if there and seen.taken_in is None:
            seen.taken_in = now
        if read and seen.first is None:
            seen.first = now
        if read and judged < there:
            seen.judged = now
        seen.memory.append((read, max(map(_megabytes, _children(run.pid)), default=0.0),
                            _megabytes(run.pid)))  # fmt: skip
        time.sleep(_OFTEN if seen.first is None else _SELDOM)
    seen.end = time.perf_counter() - start
    if run.returncode:
        raise SystemExit((out.parent / "said.txt").read_text())
    return seen


def timed(given: Path, problem: Path, count: int, jobs: int) -> float:
    """Print the figures of one run; gives its pages per second."""
    with tempfile.TemporaryDirectory() as folder:
        seen = watched(given, problem, Path(folder) / "out", jobs)
    rate, first = count / seen.end, seen.first or seen.end
    worker, own = (_growth(seen.memory, which) for which in (1, 2))
    print(
        f"{count} pages, {jobs} jobs: {rate:.2f} pages/s ({(count - 1) / (seen.end - first):.2f} "
        f"after the first); start-up {seen.taken_in or 0:.2f} s, first page after {first:.2f} s, "
        f"outputs {seen.end - seen.judged:.1f} s; largest worker {worker}, the run itself {own}",
        flush=True,
    )
    return rate


def _growth(memory: list[tuple[int, float, float]], which: int) -> str:
    most = max(sample[which] for sample in memory)
    last = memory[-1][0]
    # Models and buffers are there by then; at the end the workers are gone.
    kept = [s for s in memory if max(last / 5, _WARM) < s[0] < last and s[which]]
    if len({sample[0] for sample in kept}) < 10:
        return f"{most:.0f} MB"
    slope = np.polyfit([s[0] for s in kept], [s[which] for s in kept], 1)[0]
    return f"{most:.0f} MB ({1000 * slope:+.0f} MB in 1,000 pages)"


def _counts(store: Path) -> tuple[int, int, int]:
    """Pages that are there, pages read, and judgements."""
    if not store.exists():
        return 0, 0, 0
    try:
        with sqlite3.connect(f"file:{store}?mode=ro", uri=True) as opened:
            pages, read = opened.execute(
                "SELECT count(*), coalesce(sum(state != 'waiting'), 0) FROM pages"
            ).fetchone()
            (judged,) = opened.execute("SELECT count(*) FROM judgements").fetchone()
    except sqlite3.OperationalError:  # no tables yet
        return 0, 0, 0
    return pages, read, judged


def _children(process: int) -> list[int]:
    try:
        words = Path(f"/proc/{process}/task/{process}/children").read_text().split()
    except OSError:
        return []
    return list(map(int, words))


def _megabytes(process: int) -> float:
    """Resident memory of a process now."""
    try:
        words = Path(f"/proc/{process}/statm").read_text().split()
    except OSError:
        return 0.0
    return int(words[1]) * 4096 / 1e6 if words else 0.0


def main() -> None:
    parse = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parse.add_argument("--data", type=Path, required=True)
    parse.add_argument("--fonts", type=Path, required=True)
    parse.add_argument("--pages", type=int, nargs="+", default=[10, 100])
    parse.add_argument("--jobs", type=int, nargs="+", default=[1, 2])
    options = parse.parse_args()
    text, photo = student_photo(options.data, options.fonts)
    with tempfile.TemporaryDirectory() as name:
        problem = Path(name) / "problem.toml"
        problem.write_text(text, encoding="utf-8")
        for count in options.pages:
            given = Path(name) / str(count)
            given.mkdir()
            for page in copies(photo, count):
                (given / page.name).write_bytes(page.content)
            rates = [timed(given, problem, count, jobs) for jobs in options.jobs]
            if len(rates) > 1:
                more, fewer = options.jobs[-1], options.jobs[0]
                print(f"{more} jobs are {rates[-1] / rates[0]:.2f} times as fast as {fewer}")


if __name__ == "__main__":
    main()
