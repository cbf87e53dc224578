"""The store keeps what it was given, says what is wrong in one sentence, and undoes."""

import os
import sqlite3
import subprocess
import sys
import threading

import pytest

from checker.errors import StoreError
from checker.matching.judgement import Judgement
from checker.reading.page import Candidate, Line, PageReading
from checker.stack.schema import APPLICATION, FORMAT, STEPS
from checker.stack.store import Store


def a_reading(*texts):
    lines = tuple(Line(7, (Candidate(text, 0.9),), line=k) for k, text in enumerate(texts))
    return PageReading(7, "elsewhere", (10, len(texts)), lines)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "stack.sqlite"


@pytest.fixture
def store(path):
    with Store.open(path) as store:
        yield store


def read_page(store, name="one", digest="d1", texts=("C = 3 µF", "Q = 12 µC")):
    submission = store.add_submission(name)
    page = store.add_page(submission, 0, name + ".jpg", 1, digest)
    store.page_read(page.id, a_reading(*texts), b"jpeg")
    return submission, page.id


def test_pages_are_kept_with_their_place_and_reading(store, path):
    submission, page = read_page(store)
    with Store.open(path, must_exist=True) as again:
        (row,) = again.submissions()
        assert (row.id, row.name, row.pages[0].state) == (submission, "one", "read")
        assert again.picture(page) == b"jpeg"
        (reading,) = again.readings(submission)
    assert (reading.page, reading.source) == (0, "one.jpg")
    assert [line.page for line in reading.lines] == [0, 0]
    assert reading.lines[1].candidates[0].text == "Q = 12 µC"


def test_submissions_and_pages_are_added_once(store):
    first = store.add_submission("one")
    assert store.add_submission("two") != first
    assert store.add_submission("one") == first
    assert store.add_page(first, 0, "a", 1, "d") == store.add_page(first, 0, "a", 1, "d")
    assert [s.name for s in store.submissions()] == ["one", "two"]


def test_other_bytes_in_the_same_place_are_read_anew(store):
    submission, _ = read_page(store)
    store.correct(submission, 0, 0, "C = 4 µF")
    page = store.add_page(submission, 0, "one.jpg", 1, "d2")
    assert page.state == "waiting"
    assert store.waiting_pages() == (page,)
    assert store.readings(submission) == ()
    store.page_read(page.id, a_reading("C = 5 µF"))
    (reading,) = store.readings(submission)
    assert reading.lines[0].candidates[0].text == "C = 5 µF"  # the correction was of another page


def test_the_same_bytes_elsewhere_are_not_read_again(store):
    read_page(store)
    other = store.add_submission("other")
    page = store.add_page(other, 3, "other.jpg", 1, "d1")
    assert page.state == "read"
    assert store.picture(page.id) == b"jpeg"
    (reading,) = store.readings(other)
    assert (reading.page, reading.source, reading.lines[0].page) == (3, "other.jpg", 3)


def test_a_failed_page_keeps_its_reason(store):
    page = store.add_page(store.add_submission("one"), 0, "one.jpg", 1, "d")
    store.page_failed(page.id, "It is damaged; copy it again.")
    (row,) = store.submissions()
    assert (row.pages[0].state, row.pages[0].reason) == ("failed", "It is damaged; copy it again.")
    assert store.counts() == {"waiting": 0, "read": 0, "failed": 1}


def test_corrections_change_the_reading_and_are_undone(store):
    submission, _ = read_page(store)
    store.correct(submission, 0, 0, "C = 4 µF")
    store.correct(submission, 0, 0, "C = 5 µF")
    store.correct(submission, 0, 1, "")
    (reading,) = store.readings(submission)
    assert [line.candidates[0].text for line in reading.lines] == ["C = 5 µF", "<aside>"]
    assert [line.role for line in reading.lines] == ["working", "aside"]
    store.undo()
    store.undo(submission)
    (reading,) = store.readings(submission)
    assert [line.candidates[0].text for line in reading.lines] == ["C = 4 µF", "Q = 12 µC"]
    (as_read,) = store.readings(submission, corrected=False)
    assert as_read.lines[0].candidates[0].text == "C = 3 µF"


def test_undo_takes_the_last_action_that_stands_and_keeps_the_log(store, path):
    one, two = store.add_submission("one"), store.add_submission("two")
    store.act(one, "agree")
    store.act(two, "overrule", {"outcome": "all follows", "remark": "accepted"})
    store.act(one, "mark", {"points": 3})
    assert store.undo(two).kind == "overrule"
    assert store.undo(two) is None
    assert store.undo().kind == "mark"
    assert [action.kind for action in store.actions()] == ["agree"]
    with sqlite3.connect(path) as log:
        assert log.execute("SELECT kind, undone FROM actions ORDER BY id").fetchall() == [
            ("agree", 0),
            ("overrule", 1),
            ("mark", 1),
        ]


def test_a_judgement_holds_as_long_as_what_it_rests_on(store):
    submission, _ = read_page(store)
    judgement = Judgement("all follows", None, ())
    basis = store.basis(submission, "a problem")
    store.keep_judgement(submission, basis, judgement)
    assert store.judgement(submission, basis) == judgement
    assert store.basis(submission, "another problem") != basis
    store.correct(submission, 0, 0, "C = 4 µF")
    assert store.basis(submission, "a problem") != basis
    store.undo()
    assert store.basis(submission, "a problem") == basis


def test_settings_are_kept(store):
    assert store.setting("problem") is None
    store.set_setting("problem", "supply = 1")
    store.set_setting("problem", "supply = 2")
    assert store.setting("problem") == "supply = 2"


def test_names_that_are_no_unicode_are_kept_legibly(store):
    store.add_submission(os.fsdecode(b"caf\xe9\n<b>.jpg"))
    assert store.submissions()[0].name == "caf?\n<b>.jpg"


def test_several_threads_and_processes_write_at_once(store, path):
    submission = store.add_submission("one")

    def agree(into):
        for _ in range(20):
            into.act(submission, "agree")

    with Store.open(path) as other:
        threads = [threading.Thread(target=agree, args=(s,)) for s in (store, store, other)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert len(store.actions(submission)) == 60


def test_what_was_kept_survives_a_process_that_dies(path):
    code = (
        "import os, sys; from checker.stack.store import Store\n"
        "store = Store.open(sys.argv[1]); store.add_submission('kept'); os._exit(9)"
    )
    subprocess.run([sys.executable, "-c", code, path], check=False)
    with Store.open(path, must_exist=True) as store:
        assert [s.name for s in store.submissions()] == ["kept"]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"no database at all, only a text that is long enough" * 20, "not a store"),
        (b"SQLite format 3\0" + bytes(2000), "not a store"),
    ],
)
def test_a_file_of_another_kind_is_refused(path, content, says):
    path.write_bytes(content)
    with pytest.raises(StoreError, match=says):
        Store.open(path)
    assert path.read_bytes() == content


def test_another_programs_database_is_refused_and_left_alone(path):
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE recipes (name TEXT)")
    before = path.read_bytes()
    with pytest.raises(StoreError, match="another program"):
        Store.open(path)
    assert path.read_bytes() == before


def test_a_store_of_an_older_format_is_brought_up_to_date(path):
    with sqlite3.connect(path) as older:
        older.executescript(STEPS[0])
        older.execute(f"PRAGMA application_id = {APPLICATION}")
        older.execute("PRAGMA user_version = 1")
        older.execute("INSERT INTO submissions VALUES (1, 'one', 0)")
        older.execute(
            "INSERT INTO pages (submission, number, source, source_page, digest, state, reason)"
            " VALUES (1, 0, 'one.jpg', 1, 'd', 'failed', 'It is damaged; copy it again.')"
        )
    with Store.open(path) as store:
        (row,) = store.submissions()
        assert row.pages[0].reason == "It is damaged; copy it again."
        assert store.add_page(1, 0, "one.jpg", 1, "d").state == "failed"
        store.page_failed(row.pages[0].id, "Its worker was killed.", again=True)
        assert store.add_page(1, 0, "one.jpg", 1, "d").state == "waiting"


def test_a_newer_format_is_refused(path):
    Store.open(path).close()
    with sqlite3.connect(path) as newer:
        assert newer.execute("PRAGMA application_id").fetchone() == (APPLICATION,)
        newer.execute(f"PRAGMA user_version = {FORMAT + 1}")
    with pytest.raises(StoreError, match="newer checker"):
        Store.open(path)


def test_a_missing_store_or_folder_is_told(tmp_path):
    with pytest.raises(StoreError, match="There is no store"):
        Store.open(tmp_path / "stack.sqlite", must_exist=True)
    with pytest.raises(StoreError, match="cannot be opened"):
        Store.open(tmp_path / "nowhere" / "stack.sqlite")


def test_a_full_disk_is_told_and_keeps_what_was_done(store, path):
    submission, page = read_page(store)
    (size,) = store._connection.execute("PRAGMA page_count").fetchone()
    store._connection.execute(f"PRAGMA max_page_count = {size}")  # SQLite's own full disk
    with pytest.raises(StoreError, match="disk is full"):
        store.page_read(page, a_reading("C = 9 µF"), bytes(200_000))
    (reading,) = store.readings(submission)
    assert reading.lines[0].candidates[0].text == "C = 3 µF"
    with Store.open(path) as again:
        assert again.picture(page) == b"jpeg"


def test_a_store_that_cannot_be_written_is_told(store, path):
    read_page(store)
    store._connection.execute("PRAGMA query_only = ON")
    with pytest.raises(StoreError, match="cannot be written"):
        store.add_submission("two")


def test_every_correction_of_a_line_counts_so_that_no_state_recurs(store):
    one, _ = read_page(store)
    two, _ = read_page(store, "two", "d2")
    assert store.correcting(one)[0, 0] == 0
    store.correct(one, 0, 0, "a")
    assert store.correcting(one) == {(0, 0): 1}
    store.undo()
    store.correct(two, 0, 1, "b")
    assert store.correcting(one) == {(0, 0): 2}
    assert store.correcting(two) == {(0, 1): 1}
