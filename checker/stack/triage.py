"""A run over a stack: pages in, each read once and kept, every submission judged.

A run that was ended, however, is continued by running it again on the same store with the same
pages: what was read is not read again. A changed problem is judged anew from what was read.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from checker.errors import StoreError
from checker.problem.problem_file import Problem, problem_to_toml
from checker.stack.alone import alone
from checker.stack.grouping import Given, Placed, Split, grouped
from checker.stack.intake import Refused
from checker.stack.judging import PROBLEM, SPLIT, judging_tasks, not_judged, unjudged
from checker.stack.read_one import PageResult, read_one
from checker.stack.store import Store
from checker.stack.workers import Answer, Task, Workers


@dataclass(frozen=True)
class Step:
    """One step forward: a page was "read" or "failed", or was "kept" from before; a submission
    was "judged", one ``of`` so many."""

    kind: Literal["read", "failed", "kept", "judged"]
    name: str
    of: int | None = None


Tell = Callable[[Step], None]


def triage(
    given: Iterable[Given],
    store: Store,
    problem: Problem,
    workers: Workers,
    split: Split = "file",
    tell: Tell = lambda step: None,
) -> None:
    """Read every page of ``given`` that the store does not know and judge every submission.

    ``given`` has to come in the same order each time. ``tell`` is called after each step, in this
    thread. Pages that cannot be read are kept with the reason; those of them that failed for no
    fault of their own are tried again. Raises StoreError, also for another ``split`` than the
    stack was begun with, and ReaderError.
    """
    with alone(store.path.parent):
        _settle(store, problem, split)
        read_pages(given, store, workers, split, tell)
        judge_all(store, workers, tell)


def read_pages(
    given: Iterable[Given], store: Store, workers: Workers, split: Split, tell: Tell
) -> None:
    """The first half of a run: every page read, or kept with the reason why not."""
    names: dict[int, str] = {}

    def tasks() -> Iterator[Task]:
        for placed in grouped(given, split):
            task = _enter(store, placed, tell)
            if task is not None:
                names[task.key] = placed.given.name
                yield task

    for answer in workers.run(tasks()):
        result = _result(answer)
        name = names.pop(answer.key)
        if result.reading is not None:
            store.page_read(answer.key, result.reading, result.picture)
            tell(Step("read", name))
        else:
            store.page_failed(answer.key, result.reason or "", result.picture, result.again)
            tell(Step("failed", name))


def judge_all(store: Store, workers: Workers, tell: Tell) -> None:
    """The second half: a judgement for every submission that has none that still stands."""
    names = {row.id: row.name for row in store.submissions()}
    bases = unjudged(store, names)
    for answer in workers.run(judging_tasks(store, bases)):
        judgement = answer.value if answer.lost is None else not_judged(answer.lost)
        store.keep_judgement(answer.key, bases[answer.key], judgement, answer.again)
        tell(Step("judged", names[answer.key], len(bases)))


def _settle(store: Store, problem: Problem, split: Split) -> None:
    before = store.setting(SPLIT)
    if before not in (None, str(split)):
        raise StoreError(
            f"{store.path} was begun with --split {before}; give that again or another folder."
        )
    store.set_setting(SPLIT, str(split))
    store.set_setting(PROBLEM, problem_to_toml(problem))


def _enter(store: Store, placed: Placed, tell: Tell) -> Task | None:
    """Put a page into the store; the task of reading it if that is still to be done."""
    one = placed.given
    submission = store.add_submission(placed.submission)
    page = store.add_page(submission, placed.number, one.name, placed.source_page, _digest(one))
    if page.state != "waiting":
        tell(Step("kept", one.name))
    elif isinstance(one, Refused):
        store.page_failed(page.id, one.reason)
        tell(Step("failed", one.name))
    else:
        return Task(page.id, read_one, (one.name, one.content))
    return None


def _digest(one: Given) -> str:
    """Of a typed page also that it is one: the same bytes under another name are read otherwise."""
    if isinstance(one, Refused):
        return "refused " + hashlib.sha256(one.reason.encode("utf-8", "replace")).hexdigest()
    return ("typed " if one.name.lower().endswith(".txt") else "") + one.digest


def _result(answer: Answer) -> PageResult:
    if answer.lost is None:
        return answer.value
    return PageResult(None, answer.lost, again=answer.again)
