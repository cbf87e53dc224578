"""Rows of a store as the desk and the outputs show them."""

from __future__ import annotations

from pathlib import Path

import pytest

from checker.problem.problem_file import parse_problem, problem_to_toml
from checker.reading.typed import read_typed
from checker.stack.judging import PROBLEM, judgement_of
from checker.stack.present import head_of, stack_row, stack_rows
from checker.stack.standing import marking, overruling
from checker.stack.store import Store
from tests.samples import TYPED

TOML = TYPED.problem.read_text(encoding="utf-8")
SCHEME = "\n[marks]\nequivalent_capacitance = 2\ncharge = 1\nvoltage = 1\n"


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """Two submissions of a typed page, the second with a page more that could not be read."""
    store = Store.open(tmp_path / "stack.sqlite")
    store.set_setting(PROBLEM, problem_to_toml(parse_problem(TOML + SCHEME)))
    for name in ("ada", "ben"):
        submission = store.add_submission(name)
        page = store.add_page(submission, 0, f"{name}.txt", 1, name)
        store.page_read(page.id, read_typed(TYPED.page.read_bytes()), b"a picture")
    broken = store.add_page(submission, 1, "ben.jpg", 1, "x")
    store.page_failed(broken.id, "It is no picture; give a JPEG.")
    return store


def test_a_row_has_what_was_judged_and_the_suggested_mark(store: Store) -> None:
    row = next(stack_rows(store))
    assert (row.name, row.outcome, row.person) == ("ada", "slip found", None)
    assert row.slipped is not None and row.slipped.text == "C12 = 0.5 µF"
    assert row.mark is not None and not row.mark.confirmed
    assert row.pages[0].picture == b"a picture"
    assert next(stack_rows(store, pictures=False)).pages[0].picture is None
    assert head_of(store).title == parse_problem(TOML).title


def test_a_submission_with_an_unread_page_is_not_judged_and_says_why(store: Store) -> None:
    _ada, ben = stack_rows(store)
    assert (ben.outcome, ben.slip) == ("needs a look", None)
    assert ben.pages[1].reading is None
    assert "It is no picture; give a JPEG." in ben.reasons


def test_a_correction_takes_a_confirmed_mark_back(store: Store) -> None:
    ada = store.submissions()[0]
    row = stack_row(store, ada)
    assert row.mark is not None
    store.act(ada.id, "mark", marking(row.shown, row.mark.of, row.mark.of))
    mark = stack_row(store, ada).mark
    assert mark is not None and mark.confirmed and mark.points == mark.of
    store.correct(ada.id, 0, 1, "C12 = 2 µF")
    row = stack_row(store, ada)
    assert row.corrected == 1
    assert row.mark is not None and not row.mark.confirmed
    store.undo(ada.id)
    mark = stack_row(store, ada).mark
    assert mark is not None and mark.confirmed


def test_a_mark_confirmed_under_another_scheme_is_a_suggestion_again(store: Store) -> None:
    ada = store.submissions()[0]
    row = stack_row(store, ada)
    assert row.mark is not None
    store.act(ada.id, "mark", marking(row.shown, row.mark.of, row.mark.of))
    scheme = SCHEME.replace("charge = 1\n", "")
    store.set_setting(PROBLEM, problem_to_toml(parse_problem(TOML + scheme)))
    mark = stack_row(store, ada).mark
    assert mark is not None and not mark.confirmed and mark.points <= mark.of


def test_an_overruled_row_shows_what_the_person_put(store: Store) -> None:
    ada = store.submissions()[0]
    judgement = judgement_of(store, ada.id)
    store.act(ada.id, "overrule", overruling(judgement, "all follows", None, "fine"))
    row = stack_row(store, ada)
    assert (row.outcome, row.person, row.remark) == ("all follows", "overruled", "fine")
    assert row.slip is None and row.carried == 0
    assert row.judgement == judgement
