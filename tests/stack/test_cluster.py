"""The same run on a Dask cluster of worker processes gives the same store."""

import pytest

from checker.errors import CheckerError
from tests.stack.made import a_stack, content, run

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
