"""The work of a run on a Dask cluster: needs the extra ``cluster``.

Start its workers with one thread each (``dask worker tcp://... --nworkers 8 --nthreads 1``) and
with the same version of checker installed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from checker.errors import CheckerError
from checker.stack.worker import attempt
from checker.stack.workers import Answer, Task, answer

_AHEAD = 2  # tasks handed out for each thread of the cluster
_PATIENCE = 10  # seconds to wait for the scheduler


class DaskWorkers:
    """``Workers`` on the cluster whose scheduler is at ``address`` (``tcp://host:port``)."""

    def __init__(self, address: str) -> None:
        try:
            from distributed import Client
        except ImportError:
            raise CheckerError(
                "A cluster needs Dask; install it with pip install 'checker[cluster]'."
            ) from None
        try:
            self._client: Any = Client(address, timeout=_PATIENCE, set_as_default=False)
        except (OSError, ValueError, TimeoutError):
            raise CheckerError(
                f"No Dask scheduler answers at {address}; start one or check the address."
            ) from None

    @property
    def jobs(self) -> int:
        return max(1, sum(self._client.nthreads().values()))

    def run(self, tasks: Iterable[Task]) -> Iterator[Answer]:
        from distributed import as_completed

        waiting, keys = iter(tasks), {}
        done = as_completed(loop=self._client.loop)

        def hand_out() -> bool:
            task = next(waiting, None)
            if task is None:
                return False
            # A task takes its page along: one whose worker dies is done again by another.
            future = self._client.submit(attempt, task.work, task.given, pure=False)
            keys[future] = task.key
            done.add(future)
            return True

        while len(keys) < _AHEAD * self.jobs and hand_out():
            pass
        while keys:
            future = next(done)
            key = keys.pop(future)
            found = _outcome(key, future)
            hand_out()
            yield found

    def close(self) -> None:
        self._client.close()


def _outcome(key: Any, future: Any) -> Answer:
    if future.status == "finished":
        return answer(key, future.result())
    fault = future.exception() if future.status == "error" else None
    why = type(fault).__name__ if fault is not None else future.status
    return Answer(key, lost=f"Its workers broke down ({why}); please report it with the page.")
