"""A run reads each page once, drops none, continues after any end and gives the same again."""

import pickle
import random
import subprocess
import sys
from collections import Counter

import pytest

from checker.errors import ReaderError, StoreError
from checker.stack.alone import alone
from checker.stack.intake import Refused
from checker.stack.judging import judgement_of
from checker.stack.keep_reading import reading_to_json
from checker.stack.read_one import read_one
from checker.stack.store import Store
from checker.stack.workers import ProcessWorkers, Task
from tests.samples import PHOTOS, TYPED
from tests.stack import tasks
from tests.stack.made import OTHER_PROBLEM, PROBLEM, RIGHT, a_stack, content, page, run

COUNT = 30


@pytest.fixture
def path(tmp_path):
    return tmp_path / "stack.sqlite"


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory):
    path = tmp_path_factory.mktemp("undisturbed") / "stack.sqlite"
    run(path, a_stack(COUNT))
    return content(path)


def kinds(steps):
    return Counter(step.kind for step in steps)


def test_every_page_is_read_or_has_a_reason(path):
    assert kinds(run(path, a_stack(20))) == {"read": 14, "failed": 6, "judged": 20}
    with Store.open(path) as store:
        rows = store.submissions()
        assert [row.name for row in rows] == [given.name for given in a_stack(20)]
        for row in rows:
            failed = row.pages[0].state == "failed"
            assert bool(row.pages[0].reason) is failed
            assert (judgement_of(store, row.id).outcome == "needs a look") is failed


def test_the_verdicts_are_those_of_one_page_checked_alone(path):
    run(path, [page("page.txt")])
    with Store.open(path) as store:
        (row,) = store.submissions()
        judgement = judgement_of(store, row.id)
    slip, truth = judgement.first_slip, TYPED.truth  # as the sample page says of itself
    assert judgement.outcome == "slip found"
    assert judgement.statements[slip.statement].line == truth["first_slip"]


def test_a_second_run_reads_and_judges_nothing(path):
    run(path, a_stack(20))
    before = content(path)
    assert kinds(run(path, a_stack(20))) == {"kept": 20}
    assert content(path) == before


def test_another_problem_is_judged_without_reading(path):
    run(path, a_stack(10))
    assert kinds(run(path, a_stack(10), OTHER_PROBLEM)) == {"kept": 10, "judged": 10}
    assert kinds(run(path, a_stack(10), OTHER_PROBLEM)) == {"kept": 10}


def test_new_pages_are_added_and_changed_ones_read_anew(path):
    run(path, [page("a.txt"), page("b.txt", "C12 = 2 µF")])
    steps = run(
        path, [page("a.txt", "C12 = 9 µF"), page("b.txt", "C12 = 2 µF"), page("c.txt", "x")]
    )
    assert kinds(steps) == {"kept": 1, "read": 2, "judged": 2}


def test_a_file_that_can_be_opened_by_now_is_read(path):
    run(path, [Refused("a.txt", "The file cannot be opened (Permission denied); check it.")])
    assert kinds(run(path, [page("a.txt")])) == {"read": 1, "judged": 1}


def test_a_page_that_is_not_given_again_stays(path):
    run(path, [page("a.txt"), page("b.txt")])
    run(path, [page("b.txt")])
    with Store.open(path) as store:
        assert [row.name for row in store.submissions()] == ["a.txt", "b.txt"]


def test_a_submission_with_a_page_missing_gets_no_verdict(path):
    first, second = RIGHT.splitlines()[0], page("s.jpg", b"no photo", 2)
    run(path, [page("s.txt", first), second], split=2)
    with Store.open(path) as store:
        row, *_ = store.submissions()
        judgement = judgement_of(store, row.id)
    assert judgement.outcome == "needs a look"
    assert judgement.first_slip is None
    assert judgement.statements


def test_another_split_is_refused(path):
    run(path, [page("a.txt")])
    with pytest.raises(StoreError, match="--split file"):
        run(path, [page("a.txt")], split=2)


def test_only_one_run_at_a_time(path):
    with alone(path.parent), pytest.raises(StoreError, match="Another run"):
        run(path, [page("a.txt")])


def test_two_runs_give_the_same_store(path, undisturbed):
    run(path, a_stack(COUNT), workers=ProcessWorkers(1))
    assert content(path) == undisturbed


@pytest.mark.parametrize("seed", range(4))
def test_a_run_that_is_killed_and_continued_ends_as_if_undisturbed(path, undisturbed, seed):
    dice = random.Random(seed)
    for _ in range(2):
        killed = subprocess.Popen(
            [sys.executable, "-m", "tests.stack.made", path, str(COUNT)], stdout=subprocess.PIPE
        )
        for _ in range(dice.randrange(2 * COUNT)):
            killed.stdout.readline()
        killed.kill()
        killed.communicate()
    before = content(path) if path.exists() else {"pages": []}
    done = sum(state != "waiting" for *_, state, _, _, _ in before["pages"])
    steps = kinds(run(path, a_stack(COUNT)))
    assert steps["kept"] == done
    assert steps["kept"] + steps["read"] + steps["failed"] == COUNT
    assert content(path) == undisturbed


def test_an_interrupt_leaves_a_store_that_is_continued(path, undisturbed):
    seen = []

    def interrupt(step):
        seen.append(step)
        if len(seen) == 15:
            raise KeyboardInterrupt

    workers = ProcessWorkers(2)
    with Store.open(path) as store, pytest.raises(KeyboardInterrupt):
        from checker.stack.triage import triage

        triage(a_stack(COUNT), store, PROBLEM, workers, tell=interrupt)
    workers.close()
    run(path, a_stack(COUNT))
    assert content(path) == undisturbed


def test_a_full_disk_ends_the_run_and_keeps_what_was_done(path):
    class FullStore(Store):
        """A disk that holds no more than SQLite's smallest stores and a few pages."""

        def set_setting(self, key, value):
            super().set_setting(key, value)
            self._connection.execute("PRAGMA max_page_count = 24")

    workers = ProcessWorkers(1)
    with FullStore.open(path) as store, pytest.raises(StoreError, match="disk is full"):
        from checker.stack.triage import triage

        triage(a_stack(COUNT), store, PROBLEM, workers)
    workers.close()
    with Store.open(path) as store:
        assert store.counts()["read"] > 0
    assert kinds(run(path, a_stack(COUNT)))["kept"] > 0


class Instead(ProcessWorkers):
    """Workers that do something else with every page, and the judging as it is."""

    def __init__(self, work, given):
        super().__init__(1)
        self.work, self.given = work, given

    def run(self, given):
        return super().run(
            Task(task.key, self.work, self.given) if task.work is read_one else task
            for task in given
        )


@pytest.mark.parametrize("work", [tasks.killed, tasks.take_memory, tasks.no_room_on_disk])
def test_a_page_that_failed_for_the_machines_reasons_is_tried_again(path, work):
    given = [page("a.txt"), page("b.txt", b"\xff")]
    run(path, given[1:])
    assert kinds(run(path, given[:1], workers=Instead(work, (0,))))["failed"] == 1
    with Store.open(path) as store:
        (row,) = store.submissions()[1].pages
        assert row.state == "failed" and row.reason and row.again
        assert judgement_of(store, row.submission).outcome == "needs a look"
    assert kinds(run(path, given)) == {"read": 1, "kept": 1, "judged": 1}
    with Store.open(path) as store:
        assert [row.pages[0].state for row in store.submissions()] == ["failed", "read"]


@pytest.mark.parametrize("work", [tasks.die, tasks.fail])
def test_a_page_that_failed_by_itself_keeps_its_reason(path, work):
    run(path, [page("a.txt")], workers=Instead(work, (0,)))
    before = content(path)
    assert kinds(run(path, [page("a.txt")])) == {"kept": 1}
    assert content(path) == before


def test_a_judging_that_the_machine_ended_is_tried_again(path):
    class NoJudging(ProcessWorkers):
        def run(self, given):
            return super().run(
                task if task.work is read_one else Task(task.key, tasks.killed, (0,))
                for task in given
            )

    run(path, [page("a.txt")], workers=NoJudging(1))
    with Store.open(path) as store:
        judgement = judgement_of(store, store.submissions()[0].id)
        assert judgement.outcome == "needs a look" and "killed" in judgement.remarks[0]
    assert kinds(run(path, [page("a.txt")])) == {"kept": 1, "judged": 1}
    with Store.open(path) as store:
        assert judgement_of(store, store.submissions()[0].id).outcome == "slip found"


def test_a_reader_that_cannot_run_fails_no_page(path):
    with pytest.raises(ReaderError, match="reader is missing"):
        run(path, [page("a.txt")], workers=Instead(tasks.refuse, (0,)))
    with Store.open(path) as store:
        assert store.counts() == {"waiting": 1, "read": 0, "failed": 0}


def test_what_a_worker_hands_over_is_little_more_than_what_is_kept():
    result = read_one("photo.jpg", PHOTOS[0].page.read_bytes())
    assert len(pickle.dumps(result.reading)) < 2 * len(reading_to_json(result.reading))


def test_a_photo_is_read_and_its_small_picture_kept(path):
    sample = PHOTOS[0]
    run(path, [page("photo.jpg", sample.page.read_bytes())], workers=ProcessWorkers(1))
    with Store.open(path) as store:
        ((row,),) = [submission.pages for submission in store.submissions()]
        picture = store.picture(row.id)
        (reading,) = store.readings(row.submission)
    assert picture.startswith(b"\xff\xd8\xff")  # a JPEG (ITU-T T.81: SOI and a further marker)
    assert len(reading.lines) >= 3
