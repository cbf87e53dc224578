"""The same run on a Dask cluster of worker processes gives the same store."""

import pytest

from checker.cli import main
from checker.errors import CheckerError, ReaderError
from checker.stack.outputs import OUTPUTS
from checker.stack.workers import Task
from tests.samples import TYPED
from tests.stack import tasks
from tests.stack.made import RIGHT, a_stack, content, run

distributed = pytest.importorskip("distributed", reason="needs the extra 'cluster'")


@pytest.fixture
def cluster():
    # A nanny starts a worker process again that was killed, as on a real cluster.
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        yield cluster


def test_a_worker_killed_half_way_loses_and_doubles_nothing(cluster, tmp_path):
    from checker.stack.cluster import DaskWorkers

    with distributed.Client(cluster, set_as_default=False) as client:
        victims = [w["pid"] for w in client.run(_about_it).values()]
    killed = []

    def given():
        for number, one in enumerate(a_stack(40)):
            if number == 20:
                killed.append(_kill(victims[0]))
            yield one

    steps = run(
        tmp_path / "cluster.sqlite", given(), workers=DaskWorkers(cluster.scheduler_address)
    )
    assert killed == [victims[0]]
    assert sum(step.kind in ("read", "failed") for step in steps) == 40
    run(tmp_path / "here.sqlite", a_stack(40))
    assert content(tmp_path / "cluster.sqlite") == content(tmp_path / "here.sqlite")


def test_what_was_done_but_died_with_its_worker_is_waited_for_again(cluster, monkeypatch):
    """A worker may die after a task is reported as done and before its result is fetched."""
    from checker.stack.cluster import DaskWorkers

    class Lost:
        """A finished task whose result is lost when it is first asked for."""

        def __init__(self, future):
            self.future, self.asked = future, 0

        @property
        def status(self):
            self.asked += 1
            return "lost" if self.asked == 1 else self.future.status

        def result(self):
            return self.future.result()

    class Once:
        def __init__(self, loop):
            self.waiting = []

        def add(self, future):
            self.waiting.append(future)

        def __next__(self):
            future = self.waiting.pop(0)
            future.result()  # done, as far as anybody knows
            return future

    workers = DaskWorkers(cluster.scheduler_address)
    submit = workers._client.submit
    monkeypatch.setattr(workers._client, "submit", lambda *a, **k: Lost(submit(*a, **k)))
    monkeypatch.setattr(distributed, "as_completed", Once)
    found = list(workers.run([Task(n, tasks.double, (n,)) for n in range(6)]))
    workers.close()
    assert sorted((answer.key, answer.value) for answer in found) == [(n, 2 * n) for n in range(6)]


def test_the_command_gives_the_same_outputs(cluster, tmp_path, capsys):
    (tmp_path / "given").mkdir()
    for n in range(6):
        (tmp_path / "given" / f"{n}.txt").write_text(RIGHT + "\n" * n, encoding="utf-8")
    line = ["triage", str(tmp_path / "given"), "--problem", str(TYPED.problem), "--out"]
    assert main([*line, str(tmp_path / "here")]) == 0
    address = cluster.scheduler_address
    assert main([*line, str(tmp_path / "there"), "--scheduler", address]) == 0
    assert "slip found: 6" in capsys.readouterr().out
    for output in OUTPUTS:
        here, there = (tmp_path / where / output.file for where in ("here", "there"))
        assert here.read_bytes() == there.read_bytes()


def test_bounds_of_computing_and_memory_hold_on_the_cluster(cluster):
    from checker.stack.cluster import DaskWorkers

    workers = DaskWorkers(cluster.scheduler_address, seconds=1)
    bad = {0: tasks.compute_for_ever, 3: tasks.take_memory, 5: tasks.die}
    given = [Task(n, bad.get(n, tasks.double), (n,)) for n in range(8)]
    found = {answer.key: answer for answer in workers.run(given)}
    workers.close()
    assert "more than 1 s of computing" in found[0].lost and not found[0].again
    assert "MemoryError" in found[3].lost and found[3].again
    assert "broke down" in found[5].lost
    assert {n: found[n].value for n in found if n not in bad} == {n: 2 * n for n in (1, 2, 4, 6, 7)}


def test_what_the_person_can_put_right_ends_the_run(cluster):
    from checker.stack.cluster import DaskWorkers

    workers = DaskWorkers(cluster.scheduler_address)
    with pytest.raises(ReaderError, match="reader is missing"):
        list(workers.run([Task(0, tasks.refuse, (0,))]))
    workers.close()


def test_no_scheduler_is_told_in_one_sentence(monkeypatch):
    from checker.stack import cluster

    monkeypatch.setattr(cluster, "_PATIENCE", 1)
    with pytest.raises(CheckerError, match="No Dask scheduler answers"):
        cluster.DaskWorkers("tcp://127.0.0.1:9")


def _about_it():
    import os

    return {"pid": os.getpid()}


def _kill(process):
    import os
    import signal

    os.kill(process, signal.SIGKILL)
    return process
