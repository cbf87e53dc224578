"""A worker process: ``python -c START FD SECONDS BYTES`` answers what comes in.

FD is its end of a socket. Each message is a pickled (function, arguments); the answer is a pickled
``Returned``. The process ends when the other end is closed, so none is left behind, however the
run that started it ended. A task that computes for more than SECONDS is ended with the process
(SIGXCPU); one that takes more than BYTES of memory gets a MemoryError.
"""

from __future__ import annotations

import resource
import signal
import sys
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Any

from checker.errors import CheckerError

# Libraries that compute in threads ask for as many as there are cores unless these say else.
ONE_THREAD = {
    "OMP_NUM_THREADS": "1",
    "OMP_THREAD_LIMIT": "1",
    "OPENBLAS_NUM_THREADS": "1",
    "MKL_NUM_THREADS": "1",
}
START = "from checker.stack.worker import main; main()"  # as a main module it would have two names


@dataclass(frozen=True)
class Returned:
    """What a task returned, or the CheckerError it raised, or ``fault``: words for any other
    exception, and ``again`` if that was the machine's fault."""

    value: Any = None
    error: CheckerError | None = None
    fault: str | None = None
    again: bool = False


def attempt(work: Any, given: tuple[Any, ...]) -> Returned:
    """Do a task; never raises."""
    try:
        return Returned(work(*given))
    except CheckerError as error:
        return Returned(error=error)
    except Exception as error:
        again = isinstance(error, MemoryError | OSError)
        return Returned(fault=f"{type(error).__name__}: {error}", again=again)


def main() -> None:
    number, seconds, most = map(int, sys.argv[1:])
    # Ctrl-C reaches every process of the terminal; the run alone decides what is to end.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_DATA, (most, most))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with Connection(number) as connection:
        while True:
            try:
                work, given = connection.recv()
                _allow(seconds)
                connection.send(attempt(work, given))
            except (EOFError, BrokenPipeError, ConnectionResetError):
                return


def _allow(seconds: int) -> None:
    """So much computing from now on, in all threads together."""
    used = resource.getrusage(resource.RUSAGE_SELF)
    until = int(used.ru_utime + used.ru_stime) + 1 + seconds
    _, most = resource.getrlimit(resource.RLIMIT_CPU)
    resource.setrlimit(resource.RLIMIT_CPU, (until, most))
