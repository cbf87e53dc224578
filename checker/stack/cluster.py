"""The work of a run on a Dask cluster: needs the extra ``cluster``.

Start its workers with one thread each (``dask worker tcp://... --nworkers 8 --nthreads 1``) and
with the same version of checker installed.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Any

from checker.errors import CheckerError
from checker.stack.workers import BYTES, SECONDS, Answer, ProcessWorkers, Task

_AHEAD = 2  # tasks handed out for each thread of the cluster
_PATIENCE = 10  # seconds to wait for the scheduler


class DaskWorkers:
    """``Workers`` on the cluster whose scheduler is at ``address`` (``tcp://host:port``).

    Every thread of the cluster does its tasks in a process of its own with the same bounds of
    computing (seconds) and memory (bytes) as here.
    """

    def __init__(self, address: str, seconds: int = SECONDS, most_bytes: int = BYTES) -> None:
        self._limits = (seconds, most_bytes)
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
            future = self._client.submit(bounded, task.work, task.given, *self._limits, pure=False)
            keys[future] = task.key
            done.add(future)
            return True

        while len(keys) < _AHEAD * self.jobs and hand_out():
            pass
        while keys:
            future = next(done)
            if future.status in ("pending", "lost"):  # its worker died with it: it is done again
                done.add(future)
                continue
            key = keys.pop(future)
            found = _outcome(key, future)
            hand_out()
            yield found

    def close(self) -> None:
        self._client.close()


def bounded(
    work: Callable[..., Any], given: tuple[Any, ...], seconds: int, most_bytes: int
) -> Answer | CheckerError:
    """Do a task on the cluster, in a process that ends with the one it is called in."""
    workers = getattr(_own, "workers", None)
    if workers is None or _own.limits != (seconds, most_bytes):
        if workers is not None:
            workers.close()
        workers = _own.workers = ProcessWorkers(1, seconds, most_bytes)
        _own.limits = (seconds, most_bytes)
    try:
        (found,) = workers.run([Task(None, work, given)])
    except CheckerError as error:
        return error
    return found


_own = threading.local()


def _outcome(key: Any, future: Any) -> Answer:
    if future.status == "finished":
        result: Answer | CheckerError = future.result()
        if isinstance(result, CheckerError):
            raise result
        return replace(result, key=key)
    fault = future.exception() if future.status == "error" else None
    why = type(fault).__name__ if fault is not None else future.status
    lost = f"Its workers broke down ({why}); please report it with the page."
    return Answer(key, None, lost, again=True)
