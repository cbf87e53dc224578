"""What workers are given in tests; the workers import it."""

import errno
import os
import signal
import time
from pathlib import Path

from checker.errors import ReaderError


def double(number):
    return 2 * number


def fail(_number):
    raise ZeroDivisionError("a mistake of the program")


def refuse(_number):
    raise ReaderError("The reader is missing; install it.")


def die(_number):
    os.kill(os.getpid(), signal.SIGSEGV)


def die_once(marker):
    """Killed from outside the first time, as by a system that is out of memory."""
    if not Path(marker).exists():
        Path(marker).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return "done"


def killed(_number):
    os.kill(os.getpid(), signal.SIGKILL)


def compute_for_ever(_number):
    while True:
        pass


def take_memory(_number):
    return len(bytearray(4_000_000_000))


def no_room_on_disk(_number):
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def chatter(number):
    os.write(1, b"said by a library\n")
    os.write(2, b"warned by a library\n")
    return number


def process_number(_number):
    return os.getpid()


def threads_asked_for(_number):
    import numpy  # noqa: F401  # starts the threads of its linear algebra

    return sum(1 for _ in Path("/proc/self/task").iterdir())


def slow_double(number):
    time.sleep(0.3)
    return 2 * number
