"""Small stacks of typed pages, and what a store holds of them."""

import hashlib
import sqlite3
import sys
from pathlib import Path

from checker.problem.problem_file import load_problem, parse_problem
from checker.stack.intake import GivenPage, Refused
from checker.stack.store import Store
from checker.stack.triage import triage
from checker.stack.workers import ProcessWorkers
from tests.samples import TYPED

RIGHT = TYPED.page.read_text(encoding="utf-8")  # which says of itself where it slips
PROBLEM = load_problem(TYPED.problem)
OTHER_PROBLEM = parse_problem(
    'supply = "20 V"\nconnection = "series(C1, C2, C3)"\n[capacitors]\n'
    'C1 = "6 µF"\nC2 = "3 µF"\nC3 = "7 µF"\n'
)


def page(name, text=RIGHT, number=1):
    content = text if isinstance(text, bytes) else text.encode()
    return GivenPage(name, number, content, hashlib.sha256(content).hexdigest())


def a_stack(count):
    """Pages that differ, some refused, some that cannot be read."""
    for n in range(count):
        if n % 10 == 7:
            yield Refused(f"{n:03}.jpg", "It is no picture; give a JPEG.")
        elif n % 10 == 8:
            yield page(f"{n:03}.txt", b"\xff" + bytes([n]))
        elif n % 10 == 9:
            yield page(f"{n:03}.jpg", b"no photo " + bytes([n]))
        else:
            yield page(
                f"{n:03}.txt", RIGHT.replace("C3 = 0.5 + 7", f"C3 = 0.5 + {n % 4 + 5}") + "\n" * n
            )


def content(path):
    """Every row of every table."""
    with sqlite3.connect(path) as store:
        tables = [
            name
            for (name,) in store.execute(
                "SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name"
            )
        ]
        return {
            name: store.execute(f"SELECT * FROM {name} ORDER BY 1").fetchall() for name in tables
        }


def run(path, given, problem=PROBLEM, workers=None, **options):
    """A whole run; gives its steps."""
    steps = []
    workers = workers or ProcessWorkers(2)
    try:
        with Store.open(path) as store:
            triage(given, store, problem, workers, tell=steps.append, **options)
    finally:
        workers.close()
    return steps


if __name__ == "__main__":  # a run of its own process, to be killed: PATH COUNT

    def say(step):
        print(step.kind, flush=True)

    with Store.open(Path(sys.argv[1])) as its_store:
        its_workers = ProcessWorkers(2)
        triage(a_stack(int(sys.argv[2])), its_store, PROBLEM, its_workers, tell=say)
        its_workers.close()
