"""Worker processes: every task has an answer, whatever it does to its worker."""

import os
import subprocess
import sys
import time

import pytest

from checker.errors import ReaderError
from checker.stack.workers import ProcessWorkers, Task
from tests.stack import tasks


@pytest.fixture
def workers():
    workers = ProcessWorkers(2)
    yield workers
    workers.close()


def answers(workers, work, given):
    return {a.key: a for a in workers.run(Task(one, work, (one,)) for one in given)}


def test_every_task_is_answered_once(workers):
    found = list(workers.run(Task(n, tasks.double, (n,)) for n in range(50)))
    assert sorted((a.key, a.value, a.lost) for a in found) == [(n, 2 * n, None) for n in range(50)]


def test_processes_stay_and_are_as_many_as_jobs(workers):
    found = answers(workers, tasks.process_number, range(20))
    again = answers(workers, tasks.process_number, range(20))
    seen = {a.value for a in [*found.values(), *again.values()]}
    assert 1 <= len(seen) <= 2 and os.getpid() not in seen


def test_a_worker_has_one_thread(workers):
    assert answers(workers, tasks.threads_asked_for, [0])[0].value == 1


def test_tasks_are_taken_only_a_few_ahead(workers):
    taken = 0

    def given():
        nonlocal taken
        for n in range(1000):
            taken += 1
            yield Task(n, tasks.double, (n,))

    run = workers.run(given())
    next(run)
    assert taken <= 8


@pytest.mark.parametrize(
    ("work", "says"),
    [
        (tasks.fail, r"ZeroDivisionError: a mistake"),
        (tasks.die, r"broke down \(status -11\)"),
        (tasks.killed, r"killed again and again"),
        (tasks.take_memory, r"MemoryError"),
    ],
)
def test_a_task_that_goes_wrong_is_answered_and_others_go_on(workers, work, says):
    def given():
        for n in range(6):
            yield Task(n, work if n == 2 else tasks.double, (n,))

    found = {a.key: a for a in workers.run(given())}
    assert len(found) == 6
    with pytest.raises(AssertionError, match=says):
        assert found[2].lost is None, found[2].lost
    assert all(found[n].value == 2 * n for n in found if n != 2)


def test_what_a_library_prints_reaches_no_terminal(workers, capfd):
    assert answers(workers, tasks.chatter, [3])[3].value == 3
    assert capfd.readouterr() == ("", "")


def test_endless_computing_is_ended():
    workers = ProcessWorkers(1, seconds=1)
    try:
        found = answers(workers, tasks.compute_for_ever, [0])
        assert found[0].lost.startswith("It takes more than 1 s of computing")
        assert answers(workers, tasks.double, [4])[4].value == 8
    finally:
        workers.close()


def test_a_worker_killed_from_outside_is_replaced_and_its_task_done(workers, tmp_path):
    marker = str(tmp_path / "marker")
    assert answers(workers, tasks.die_once, [marker])[marker].value == "done"


def test_what_the_person_can_put_right_ends_the_run(workers):
    with pytest.raises(ReaderError, match="reader is missing"):
        answers(workers, tasks.refuse, [0])


def test_no_worker_outlives_a_run_that_was_killed():
    code = (
        "import os, signal\n"
        "from checker.stack.workers import ProcessWorkers, Task\n"
        "from tests.stack import tasks\n"
        "run = ProcessWorkers(2).run(Task(n, tasks.process_number, (n,)) for n in range(2))\n"
        "print(*{a.value for a in run}, flush=True)\n"
        "os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    left = [int(word) for word in done.stdout.split()]
    assert left
    for _ in range(500):
        if not any(map(_runs, left)):
            return
        time.sleep(0.02)
    raise AssertionError(f"still running: {left}")


def _runs(process):
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    with open(f"/proc/{process}/stat") as file:  # noqa: PTH123
        return file.read().rpartition(")")[2].split()[0] != "Z"
