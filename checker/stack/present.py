"""The rows of a store as the outputs and the desk show them."""

from __future__ import annotations

from collections.abc import Iterator

from checker.problem.caution import caution
from checker.report.marks import suggested_mark
from checker.report.stack_rows import Mark, StackHead, StackPage, StackRow
from checker.stack.judging import judgement_of, problem_of, reference_of
from checker.stack.rows import PageRow, SubmissionRow
from checker.stack.standing import standing
from checker.stack.store import Store


def head_of(store: Store) -> StackHead:
    reference = reference_of(problem_of(store))
    return StackHead(reference.problem.title, caution(reference))


def stack_rows(store: Store, pictures: bool = True) -> Iterator[StackRow]:
    """Every submission in stack order, one at a time."""
    for submission in store.submissions():
        yield stack_row(store, submission, pictures)


def stack_row(
    store: Store, submission: SubmissionRow, pictures: bool = True, readings: bool = True
) -> StackRow:
    """One submission as it stands: corrected, judged, decided on.

    Without ``readings``, which take longest, its pages are as if they were not read.
    """
    actions = store.actions(submission.id)
    judgement = judgement_of(store, submission.id)
    found = standing(judgement, actions)
    known = store.readings(submission.id) if readings else ()
    by_number = {reading.page: reading for reading in known}

    def page(row: PageRow) -> StackPage:
        reading = by_number.get(row.number)
        picture = store.picture(row.id) if pictures else None
        return StackPage(row.source, row.source_page, reading, picture, row.reason)

    suggested = suggested_mark(reference_of(problem_of(store)), found.judgement)
    mark = None
    if suggested is not None:
        if found.points is None or found.of != suggested.out_of:
            mark = Mark(suggested.points, suggested.out_of)
        else:
            mark = Mark(found.points, suggested.out_of, confirmed=True)
    return StackRow(
        submission.position,
        submission.name,
        found.judgement.outcome,
        judgement,
        tuple(map(page, submission.pages)),
        found.person,
        found.remark,
        len(store.corrections(submission.id)),
        mark,
        found.judgement if found.person == "overruled" else None,
    )
