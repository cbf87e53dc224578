"""``checker triage`` and ``checker export``: a run over a stack from the shell."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from checker.errors import StoreError
from checker.problem.problem_file import load_problem
from checker.stack.grouping import Split
from checker.stack.intake import Limits, count_files, given_pages
from checker.stack.judging import judgement_of
from checker.stack.outlook import Outlook
from checker.stack.outputs import write_outputs
from checker.stack.progress import Progress
from checker.stack.store import FILE, Store
from checker.stack.triage import triage
from checker.stack.workers import ProcessWorkers, Workers, usable_cores


def run_triage(
    inputs: Sequence[str],
    problem: str,
    folder: Path,
    split: Split = "file",
    jobs: int | None = None,
    scheduler: str | None = None,
    limits: Limits | None = None,
) -> None:
    """Read and judge what is new, write the outputs and print what was found.

    Raises CheckerError; whatever ends it, the store in ``folder`` keeps what was done.
    """
    described = load_problem(problem)
    pages, outlook = given_pages(inputs, limits), Outlook(count_files(inputs, limits))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(
            f"The folder {folder} cannot be made ({error.strerror}); choose another --out."
        ) from None
    with Store.open(folder / FILE) as store:
        workers = _workers(jobs, scheduler)
        try:
            with Progress(outlook) as progress:
                triage(outlook.watch(pages), store, described, workers, split, progress.tell)
        except KeyboardInterrupt:
            print("What was read is kept; run the same again to continue.", file=sys.stderr)
            raise
        finally:
            workers.close()
        print("Writing the table, the pages and the PDF.", file=sys.stderr, flush=True)
        _finish(store, folder)


def run_export(folder: Path) -> None:
    """Write the outputs of the store in ``folder`` again."""
    with Store.open(folder / FILE, must_exist=True) as store:
        _finish(store, folder)


def _workers(jobs: int | None, scheduler: str | None) -> Workers:
    if scheduler is None:
        return ProcessWorkers(jobs or usable_cores())
    from checker.stack.cluster import DaskWorkers

    return DaskWorkers(scheduler)


def _finish(store: Store, folder: Path) -> None:
    outcomes: Counter[str] = Counter()
    for row in store.submissions():
        outcomes[judgement_of(store, row.id).outcome] += 1
        for page in row.pages:
            if page.state == "failed":
                print(f"not read: {_on_one_line(page.source)}: {page.reason}")
    written = write_outputs(store, folder)
    for outcome, count in sorted(outcomes.items()):
        print(f"{outcome}: {count}")
    print("written:", *written, sep="\n  ")


def _on_one_line(name: str) -> str:
    """A label from outside without what would steer a terminal."""
    return "".join(letter if letter.isprintable() else "?" for letter in name)
