"""Who does the work of a run: processes here, or a cluster (``cluster.py``), used alike."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import Any, Protocol

import checker
from checker.stack.worker import ONE_THREAD, START, Returned

SECONDS = 30  # of computing a task may take
BYTES = 1_500_000_000  # of memory a worker may take
_DYING = 5.0  # seconds that a process takes at most from its last word to its end
_TRIES = 2  # for a task whose worker was killed from outside


@dataclass(frozen=True)
class Task:
    """``work`` (a function at the top of a module) is to be called with ``given``."""

    key: Any
    work: Callable[..., Any]
    given: tuple[Any, ...]


@dataclass(frozen=True)
class Answer:
    """What a task returned, or the sentence why it did not return; ``again`` if that was the
    machine's fault, so that trying later may help."""

    key: Any
    value: Any = None
    lost: str | None = None
    again: bool = False


class Workers(Protocol):
    def run(self, tasks: Iterable[Task]) -> Iterator[Answer]:
        """Answers as they are ready, in any order.

        ``tasks`` are taken only a few ahead of the work, in the caller's thread. A task that
        raises a CheckerError ends the run with it; any other failure, the death of a worker
        included, is an answer.
        """
        ...

    def close(self) -> None:
        """End the workers, whatever they are doing."""
        ...


def usable_cores() -> int:
    return len(os.sched_getaffinity(0))


class ProcessWorkers:
    """``jobs`` processes on this machine, started with the first tasks, one thread each."""

    def __init__(self, jobs: int, seconds: int = SECONDS, most_bytes: int = BYTES) -> None:
        self.jobs = jobs
        self._limits = (str(seconds), str(most_bytes))
        self._seconds = seconds
        self._seats: list[_Seat] = []

    def run(self, tasks: Iterable[Task]) -> Iterator[Answer]:
        waiting = iter(tasks)
        ahead: deque[Task] = deque()
        while True:
            self._hand_out(ahead)
            # Whatever it takes to make the next tasks is done while the workers work.
            while len(ahead) < self.jobs and (task := next(waiting, None)) is not None:
                ahead.append(task)
                self._hand_out(ahead)
            busy = {seat.connection: seat for seat in self._seats if seat.task is not None}
            if not busy:
                return
            answers = [
                answer
                for connection in wait(list(busy))
                if (answer := self._answer(busy[connection])) is not None  # type: ignore[index]
            ]
            self._hand_out(ahead)
            yield from answers

    def close(self) -> None:
        for seat in self._seats:
            seat.end()
        self._seats.clear()

    def processes(self) -> tuple[int, ...]:
        """The numbers of the processes at work."""
        return tuple(seat.process_number for seat in self._seats)

    def _hand_out(self, ahead: deque[Task]) -> None:
        while ahead and (seat := self._free_seat()) is not None:
            seat.give(ahead.popleft())

    def _free_seat(self) -> _Seat | None:
        free = next((seat for seat in self._seats if seat.task is None), None)
        if free is None and len(self._seats) < self.jobs:
            free = _Seat(self._limits)
            self._seats.append(free)
        return free

    def _answer(self, seat: _Seat) -> Answer | None:
        """The answer of a worker that has one or has died; None if it tries again."""
        task = seat.task
        assert task is not None
        try:
            returned: Returned = seat.connection.recv()
        except (EOFError, OSError):
            status = seat.ended()
            self._seats.remove(seat)
            if status == -signal.SIGKILL and seat.tries < _TRIES:
                again = _Seat(self._limits)
                self._seats.append(again)
                again.give(task, seat.tries + 1)
                return None
            return Answer(task.key, None, self._why(status), again=status == -signal.SIGKILL)
        seat.task = None
        return answer(task.key, returned)

    def _why(self, status: int) -> str:
        if status == -signal.SIGXCPU:
            return f"It takes more than {self._seconds} s of computing; give a simpler picture."
        if status == -signal.SIGKILL:
            return "Its worker was killed again and again; free some memory and give it again."
        return f"Its worker broke down (status {status}); please report it with the page."


def answer(key: Any, returned: Returned) -> Answer:
    """What a worker returned as the answer to ``key``; raises its CheckerError."""
    if returned.error is not None:
        raise returned.error
    if returned.fault is not None:
        lost = f"It failed ({returned.fault}); please report it with the page."
        return Answer(key, None, lost, returned.again)
    return Answer(key, returned.value)


class _Seat:
    """A worker process and the task it is at."""

    def __init__(self, limits: tuple[str, str]) -> None:
        ours, theirs = socket.socketpair()
        with theirs:
            # A program of its own: what this process has imported or runs as its main module, a
            # page of the web desk perhaps, is not run again in the worker.
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-c", START, str(theirs.fileno()), *limits],
                pass_fds=[theirs.fileno()],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,  # what decoders say of damaged files, over the progress
                env=_environment(),
            )
        self.connection = Connection(ours.detach())
        self.task: Task | None = None
        self.tries = 0

    @property
    def process_number(self) -> int:
        return self._process.pid

    def give(self, task: Task, tries: int = 1) -> None:
        self.task, self.tries = task, tries
        with suppress(OSError):  # a worker that has died is found when its answer is awaited
            self.connection.send((task.work, task.given))

    def ended(self) -> int:
        """Wait for a process that has closed its end; its status, negative for a signal."""
        self.connection.close()
        try:
            return self._process.wait(_DYING)
        except subprocess.TimeoutExpired:
            return self.end()

    def end(self) -> int:
        """End the process, whatever it is doing, and give its status."""
        self._process.kill()
        self.connection.close()
        return self._process.wait()


def _environment() -> dict[str, str]:
    root = str(Path(checker.__file__).parents[1])
    path = os.pathsep.join(filter(None, [root, os.environ.get("PYTHONPATH")]))
    return {**os.environ, **ONE_THREAD, "PYTHONPATH": path}
