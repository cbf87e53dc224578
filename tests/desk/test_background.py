"""A stack read in the background, ended, and resumed."""

from __future__ import annotations

import json
import time
from pathlib import Path

import pytest

from checker.desk import background as module
from checker.desk.background import Background
from checker.desk.kept_uploads import LIST, Given, KeptUploads, together
from checker.errors import CheckerError, StoreError
from checker.problem.problem_file import load_problem
from checker.stack.store import Store
from checker.submission import Upload
from tests.samples import TYPED

PROBLEM = load_problem(TYPED.problem)
NASTY = "../../up.txt"
PAGES = (Upload("a.txt", TYPED.page.read_bytes()), Upload(NASTY, b"C12 = 2"))


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store.open(tmp_path / "stack.sqlite")


def ended(run: Background) -> None:
    """Wait for the end of a run."""
    for _ in range(600):
        if not run.running:
            return
        time.sleep(0.1)
    raise AssertionError("The run did not end.")


def read(store: Store) -> dict[str, int]:
    return {state: count for state, count in store.counts().items() if count}


def test_nothing_is_kept_of_a_run_that_came_to_its_end(store: Store) -> None:
    run = Background(store)
    run.start(PAGES, PROBLEM, "file")
    assert KeptUploads(store).folder.exists()
    ended(run)
    assert (run.problem, run.done, run.ended_early) == (None, 2, False)
    assert read(store) == {"read": 2}
    assert not KeptUploads(store).folder.exists()


def test_what_a_killed_run_was_given_is_read_by_the_next_one(store: Store) -> None:
    KeptUploads(store).keep(Given(PAGES, PROBLEM, "file"))
    run = Background(store)  # of the program started anew
    assert run.ended_early
    run.resume()
    ended(run)
    assert read(store) == {"read": 2} and not run.ended_early
    assert [one.name for one in store.submissions()] == ["a.txt", "up.txt"]


def test_what_is_added_goes_behind_what_an_ended_run_left(store: Store) -> None:
    KeptUploads(store).keep(Given(PAGES, PROBLEM, "file"))
    run = Background(store)
    run.start([PAGES[0], Upload("b.txt", b"C12 = 3")], PROBLEM, "file")
    ended(run)
    assert [one.name for one in store.submissions()] == ["a.txt", "up.txt", "b.txt"]


def test_one_run_at_a_time(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Background, "running", True)
    run = Background(store)
    for act in (lambda: run.start(PAGES, PROBLEM, "file"), run.resume, run.forget):
        with pytest.raises(CheckerError, match="being read"):
            act()


@pytest.mark.parametrize(
    ("error", "told"), [(StoreError("The disk is full."), "The disk is full."),
                        (ZeroDivisionError(), "resume")]
)  # fmt: skip
def test_a_run_that_fails_says_so_and_can_be_resumed(
    error: Exception, told: str, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> None:
        raise error

    run = Background(store)
    with monkeypatch.context() as failing:
        failing.setattr(module, "triage", fails)
        run.start(PAGES, PROBLEM, "file")
        ended(run)
    assert run.problem is not None and told in run.problem and run.ended_early
    run.resume()
    ended(run)
    assert run.problem is None and read(store) == {"read": 2}


def test_copies_are_for_their_user_alone_and_have_names_of_their_own(store: Store) -> None:
    kept = KeptUploads(store)
    given = Given(PAGES, PROBLEM, 2)
    kept.keep(given)
    assert kept.folder.stat().st_mode & 0o077 == 0
    files = list(kept.folder.iterdir())
    assert len(files) == 3 and all(file.stat().st_mode & 0o077 == 0 for file in files)
    assert all(file.name == LIST or set(file.name) <= set("0123456789abcdef") for file in files)
    again = kept.given()
    assert again is not None and (again.pages, again.split) == (PAGES, 2)
    assert again.problem.capacitors == PROBLEM.capacitors


def test_copies_of_a_stack_that_was_deleted_are_removed(store: Store) -> None:
    kept = KeptUploads(store)
    kept.keep(Given(PAGES, PROBLEM, "file"))
    store.close()
    store.path.unlink()
    fresh = Store.open(store.path)
    assert not Background(fresh).ended_early
    assert not kept.folder.exists()


def test_copies_are_removed_when_a_person_says_so(store: Store) -> None:
    KeptUploads(store).keep(Given(PAGES, PROBLEM, "file"))
    run = Background(store)
    run.forget()
    assert not run.ended_early and not KeptUploads(store).folder.exists()


def test_a_damaged_copy_is_left_out_and_a_list_that_is_none_forgotten(store: Store) -> None:
    kept = KeptUploads(store)
    kept.keep(Given(PAGES, PROBLEM, "file"))
    digest = json.loads((kept.folder / LIST).read_text())["pages"][1][1]
    (kept.folder / digest).write_bytes(b"C12 =")
    given = kept.given()
    assert given is not None and given.pages == PAGES[:1]
    (kept.folder / LIST).write_text("{")
    assert kept.given() is None and not kept.folder.exists()


def test_a_folder_that_cannot_be_written_is_told_in_one_sentence(store: Store) -> None:
    kept = KeptUploads(store)
    kept.folder.write_text("a file in its place")
    with pytest.raises(StoreError, match="cannot be kept beside"):
        kept.keep(Given(PAGES, PROBLEM, "file"))


def test_what_is_given_twice_is_taken_once() -> None:
    before = Given(PAGES, PROBLEM, "file")
    new = Upload("new.txt", b"x")
    assert together(before, [PAGES[1], new]) == (*PAGES, new)
    assert together(None, [new]) == (new,)
