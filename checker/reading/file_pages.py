"""The pages of a file that may hold several, a PDF or a TIFF, each as a picture of its own.

Large decoders read these files, and a broken file can make them run for ever, take all memory or
crash. They therefore run in a process of their own (``split_file``) with bounded memory, which
hands its pages over one at a time and is ended when it takes too long.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO, BinaryIO

from checker.errors import PageError
from checker.reading.file_kind import HEAD, file_kind

MOST_PAGES = 2_000
_SECONDS = 20.0  # for the first page
_SECONDS_A_PAGE = 2.0  # more for every further one
_LONGEST_FRAME = 200_000_000


@dataclass(frozen=True)
class FilePage:
    """Page ``number`` (from 1): its picture as an encoded image, or one sentence why not.

    ``whole``: it is the file itself, which holds nothing else. ``of``: how many pages it says it
    has.
    """

    number: int
    content: bytes | None
    reason: str | None = None
    whole: bool = False
    of: int = 1


def head_of(file: Path | bytes) -> bytes:
    """The beginning of a file; nothing where it cannot be opened, as its reader will say."""
    if isinstance(file, bytes):
        return file[:HEAD]
    try:
        if not file.is_file():
            return b""
        with file.open("rb") as opened:
            return opened.read(HEAD)
    except (OSError, ValueError):
        return b""


def may_hold_pages(head: bytes) -> bool:
    """Whether a file that begins so has to be split into pages."""
    return file_kind(head) in ("pdf", "tiff")


def file_pages(name: str, file: Path | bytes, most: int = MOST_PAGES) -> Iterator[FilePage]:
    """The pages of a PDF or TIFF, one at a time.

    A PDF page is drawn with 3,000 pixels along its longer side; a TIFF with one picture comes back
    as it is. Raises PageError where the file cannot be used at all, or not from some page on.
    """
    with _opened(name, file) as source, _started(source, most) as child:
        assert child.stdout is not None
        waited, number, of = 0.0, 0, 1
        try:
            while True:
                allowed = _SECONDS + _SECONDS_A_PAGE * number - waited
                started = time.monotonic()
                kind, content, in_time = _frame(child, child.stdout, allowed)
                waited += time.monotonic() - started
                if kind == "end":
                    return
                if kind == "refused":
                    raise PageError(f"{name} {content.decode()}")
                if kind == "count":
                    of = int(content)
                    continue
                if kind not in ("page", "single", "unreadable"):
                    raise PageError(_broken_off(name, number, in_time))
                number += 1
                if kind == "unreadable":
                    yield FilePage(number, None, f"{name} {content.decode()}", of=of)
                elif kind == "single":
                    yield FilePage(number, _whole(source), whole=True)
                else:
                    yield FilePage(number, content, of=of)
        finally:
            child.kill()


def _broken_off(name: str, number: int, in_time: bool) -> str:
    why = "needs more memory than is allowed or is damaged" if in_time else "takes too long to open"
    where = f" from page {number + 1} on" if number else ""
    return f"{name} {why}{where}; save its pages as JPEG photos and give those."


def _opened(name: str, file: Path | bytes) -> BinaryIO:
    """A real file at its beginning; bytes go to one without a name that nobody else sees."""
    if isinstance(file, Path):
        try:
            return file.open("rb")
        except OSError as error:
            raise PageError(f"{name} cannot be opened ({error.strerror}); check it.") from None
    if hasattr(os, "memfd_create"):  # in memory, never on a disk
        source: BinaryIO = os.fdopen(os.memfd_create("pages"), "w+b")
    else:
        source = tempfile.TemporaryFile()  # noqa: SIM115
    source.write(file)
    source.flush()
    source.seek(0)
    return source


def _whole(source: BinaryIO) -> bytes:
    source.seek(0)
    return source.read()


def _started(source: BinaryIO, most: int) -> subprocess.Popen[bytes]:
    places = os.pathsep.join(path for path in sys.path if path)
    threads = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    return subprocess.Popen(
        [sys.executable, "-P", "-m", "checker.reading.split_file", str(most)],
        stdin=source,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, **threads, "PYTHONPATH": places},
    )


def _frame(
    child: subprocess.Popen[bytes], stream: IO[bytes], seconds: float
) -> tuple[str, bytes, bool]:
    """The next frame and whether it came in time; the kind is empty where the child ended."""
    late = threading.Event()

    def end() -> None:
        late.set()
        child.kill()

    watch = threading.Timer(max(seconds, 0.1), end)
    watch.start()
    try:
        kind, _, length = stream.readline(40).decode("ascii", "replace").strip().partition(" ")
        size = int(length) if length.isdecimal() else 0
        if size > _LONGEST_FRAME:
            return "", b"", True
        content = stream.read(size)
        return (kind if len(content) == size else "", content, not late.is_set())
    finally:
        watch.cancel()
