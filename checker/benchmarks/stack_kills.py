"""Whether a run over a stack that is killed again and again ends like one that is not.

    python -m checker.benchmarks.stack_kills --data shared/handwriting --fonts .fonts [--typed]

Runs ``checker triage`` on so many pages, kills it (kill -9) at random moments and continues it,
until it has been killed often enough; a stack that got done meanwhile is begun anew. Only kills
that hit a running process count. Prints how far the stack was at each of them, and whether the
tables of the store and all outputs are those of an undisturbed run. Exit status 1 where they are
not.
``--typed`` takes typed pages instead of photos, much faster.
"""

from __future__ import annotations

import argparse
import random
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from checker.benchmarks.stack_photo import copies, student_photo
from checker.stack.outputs import OUTPUTS
from checker.stack.store import FILE

READ = "pages WHERE state != 'waiting'"
JUDGED = "judgements"
TABLES = ("settings", "submissions", "pages", "judgements", "actions")


def killed(given: Path, problem: Path, kills: int, work: Path) -> bool:
    """Run undisturbed, then kill and continue; whether every end was the same."""
    plain, other = work / "plain", work / "killed"
    first, whole = _undisturbed(given, problem, plain)
    print(f"undisturbed {whole:.1f} s, its first page after {first:.1f} s", flush=True)
    dice, hits, ends = random.Random(1), list[str](), list[bool]()
    while len(hits) < kills:
        run = _command(given, problem, other)
        try:
            run.wait(dice.uniform(first / 2, first + 2 * (whole - first) / kills))
        except subprocess.TimeoutExpired:
            run.kill()
            run.wait()
            hits.append(f"{_count(other, READ)}/{_count(other, JUDGED)}")
        else:  # it got done: its end is compared, and another is begun
            ends.append(_is_same(plain, other))
            shutil.rmtree(other)
    _command(given, problem, other).wait()
    ends.append(_is_same(plain, other))
    print(f"{len(hits)} kills of running runs, at pages read/judged: {', '.join(hits)}")
    print(f"{sum(ends)} of {len(ends)} stacks ended with the same tables and outputs")
    return all(ends)


def _is_same(one: Path, other: Path) -> bool:
    """Whether the tables and the outputs are alike; says which are not."""
    differ = [name for name in TABLES if _rows(one, name) != _rows(other, name)]
    files = [output.file for output in OUTPUTS]
    differ += [name for name in files if (one / name).read_bytes() != (other / name).read_bytes()]
    if differ:
        print("differ:", *differ)
    return not differ


def _rows(folder: Path, table: str) -> list[tuple[object, ...]]:
    with sqlite3.connect(folder / FILE) as store:
        return store.execute(f"SELECT * FROM {table} ORDER BY 1").fetchall()


def _count(folder: Path, what: str) -> int:
    if not (folder / FILE).exists():
        return 0
    with sqlite3.connect(folder / FILE) as store:
        try:
            return int(store.execute(f"SELECT count(*) FROM {what}").fetchone()[0])
        except sqlite3.OperationalError:  # killed before it had tables
            return 0


def _undisturbed(given: Path, problem: Path, out: Path) -> tuple[float, float]:
    """Seconds until the first page is in the store, and in all."""
    start = time.perf_counter()
    run = _command(given, problem, out)
    while run.poll() is None and not _count(out, READ):
        time.sleep(0.02)
    first = time.perf_counter() - start
    run.wait()
    return first, time.perf_counter() - start


def _command(given: Path, problem: Path, out: Path) -> subprocess.Popen[bytes]:
    line = ["triage", str(given), "--problem", str(problem), "--out", str(out)]
    quiet = subprocess.DEVNULL
    return subprocess.Popen([sys.executable, "-m", "checker", *line], stdout=quiet, stderr=quiet)


def main() -> int:
    parse = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parse.add_argument("--data", type=Path, required=True)
    parse.add_argument("--fonts", type=Path, required=True)
    parse.add_argument("--kills", type=int, default=20)
    parse.add_argument("--of", type=int, default=60, help="pages of the run")
    parse.add_argument("--typed", action="store_true")
    options = parse.parse_args()
    with tempfile.TemporaryDirectory() as name:
        work = Path(name)
        given, problem = work / "given", work / "problem.toml"
        given.mkdir()
        text, photo = student_photo(options.data, options.fonts)
        problem.write_text(text, encoding="utf-8")
        for number, page in enumerate(copies(photo, options.of)):
            if options.typed:
                lines = "C23 = 0.18 + 5.6 = 5.78 µF\n1/C123 = 1/6.8 + 1/5.78\n" + "\n" * number
                (given / f"{number:05}.txt").write_text(lines, encoding="utf-8")
            else:
                (given / page.name).write_bytes(page.content)
        return 0 if killed(given, problem, options.kills, work) else 1


if __name__ == "__main__":
    raise SystemExit(main())
