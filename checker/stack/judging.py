"""Submissions of a store judged, and judged again only when what a judgement rests on changed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from checker.errors import StoreError
from checker.matching.judgement import Judgement, withheld
from checker.stack.store import Store
from checker.submission import judge_pages

if TYPE_CHECKING:
    from checker.problem.reduction import Reference
    from checker.reading.page import PageReading
    from checker.stack.workers import Task

PROBLEM, SPLIT = "problem", "split"  # keys of the store's settings


@lru_cache(8)
def reference_of(problem: str) -> Reference:
    """The solved problem from the text of its file."""
    from checker.problem.problem_file import parse_problem
    from checker.problem.reduction import solve

    return solve(parse_problem(problem))


def problem_of(store: Store) -> str:
    """The text of the problem file that the stack is judged against."""
    problem = store.setting(PROBLEM)
    if problem is None:
        raise StoreError(f"{store.path} holds no problem yet; run checker triage on it first.")
    return problem


def judge_submission(problem: str, pages: Sequence[PageReading], whole: bool) -> Judgement:
    """The judgement of the pages that were read; without a verdict unless that is the ``whole``
    submission, as a step may rest on a page that is missing."""
    judgement = judge_pages(reference_of(problem), pages)
    if whole:
        return judgement
    return replace(withheld(judgement), outcome="needs a look")


def judgement_of(store: Store, submission: int) -> Judgement:
    """The judgement of a submission as it now stands, made and kept if there is none."""
    problem = problem_of(store)
    basis = store.basis(submission, problem)
    kept = store.judgement(submission, basis)
    if kept is not None:
        return kept
    judgement = judge_submission(problem, store.readings(submission), _is_whole(store, submission))
    store.keep_judgement(submission, basis, judgement)
    return judgement


def unjudged(store: Store, submissions: Iterable[int]) -> dict[int, str]:
    """Those of which no judgement stands, and what theirs will rest on."""
    problem = problem_of(store)
    bases = {submission: store.basis(submission, problem) for submission in submissions}
    return {one: basis for one, basis in bases.items() if not store.is_judged(one, basis)}


def judging_tasks(store: Store, submissions: Iterable[int]) -> Iterator[Task]:
    """A task for each, with the submission as its key."""
    from checker.stack.workers import Task

    problem = problem_of(store)
    for submission in submissions:
        given = (problem, store.readings(submission), _is_whole(store, submission))
        yield Task(submission, judge_submission, given)


def not_judged(reason: str) -> Judgement:
    """What stands for a submission on which the judging itself failed."""
    return Judgement("needs a look", None, (), remarks=(reason,))


def _is_whole(store: Store, submission: int) -> bool:
    return all(page.state == "read" for page in store.submission(submission).pages)
