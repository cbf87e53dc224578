"""One run at a time on a stack."""

from __future__ import annotations

import fcntl
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from checker.errors import StoreError

FILE = "stack.running"


@contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Hold the folder's lock; the system frees it however this process ends.

    Raises StoreError if another run holds it or the folder cannot be written.
    """
    try:
        file = (folder / FILE).open("w")
    except OSError as error:
        raise StoreError(
            f"{folder} cannot be written ({error.strerror}); check its permissions and the disk."
        ) from None
    with file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise StoreError(
                f"Another run is at work in {folder}; wait until it is done."
            ) from None
        yield
