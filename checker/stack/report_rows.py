"""The rows of a store as the outputs are written from them."""

from __future__ import annotations

from collections.abc import Iterator

from checker.problem.caution import caution
from checker.report.marks import suggested_mark
from checker.report.stack_rows import Mark, StackHead, StackPage, StackRow
from checker.stack.judging import judgement_of, problem_of, reference_of
from checker.stack.rows import SubmissionRow
from checker.stack.store import Store


def head_of(store: Store) -> StackHead:
    """What holds for the whole stack."""
    reference = reference_of(problem_of(store))
    return StackHead(reference.problem.title, caution(reference))


def stack_rows(store: Store) -> Iterator[StackRow]:
    """Every submission in stack order, one at a time, judged on its corrected readings."""
    for submission in store.submissions():
        yield _row(store, submission)


def _row(store: Store, submission: SubmissionRow) -> StackRow:
    judgement = judgement_of(store, submission.id)
    readings = {reading.page: reading for reading in store.readings(submission.id)}
    pages = tuple(
        StackPage(
            row.source, row.source_page, readings.get(row.number), store.picture(row.id), row.reason
        )
        for row in submission.pages
    )
    found = suggested_mark(reference_of(problem_of(store)), judgement)
    return StackRow(
        submission.position,
        submission.name,
        judgement.outcome,
        judgement,
        pages,
        corrected=len(store.corrections(submission.id)),
        mark=None if found is None else Mark(found.points, found.out_of),
    )
