"""What is written from a store, for people and other programs: files beside it and downloads."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from checker.errors import StoreError
from checker.report.stack_json import write_json
from checker.report.stack_page import write_page
from checker.report.stack_pdf import write_pdf
from checker.report.stack_table import write_table
from checker.stack.judging import problem_of, reference_of
from checker.stack.present import head_of, stack_rows
from checker.stack.store import Store


@dataclass(frozen=True)
class Output:
    """``title`` is for a button, ``media`` the media type (RFC 6838); the same store gives the
    same bytes."""

    title: str
    file: str
    media: str
    write: Callable[[Store, BinaryIO], object]


def _table(store: Store, out: BinaryIO) -> None:
    write_table(stack_rows(store, pictures=False), out)


def _document(store: Store, out: BinaryIO) -> None:
    write_json(head_of(store), stack_rows(store, pictures=False), out)


def _page(store: Store, out: BinaryIO) -> None:
    write_page(head_of(store), reference_of(problem_of(store)), stack_rows(store), out)


def _pdf(store: Store, out: BinaryIO) -> None:
    write_pdf(head_of(store), stack_rows(store), out)


TABLE = "triage.csv"
OUTPUTS = (
    Output("Table (CSV)", TABLE, "text/csv", _table),
    Output("JSON", "triage.json", "application/json", _document),
    Output("Web page (HTML)", "summary.html", "text/html", _page),
    Output("Marked pages (PDF)", "annotated.pdf", "application/pdf", _pdf),
)


def write_outputs(store: Store, folder: Path) -> tuple[Path, ...]:
    """Write all files into ``folder``, one after another; those written before are replaced.

    Raises StoreError where a file cannot be written.
    """
    return tuple(_written(store, output, folder / output.file) for output in OUTPUTS)


def _written(store: Store, output: Output, path: Path) -> Path:
    """The whole file or, where that fails, the one of before."""
    part = path.with_name(path.name + ".part")
    try:
        with part.open("wb") as out:
            output.write(store, out)
        part.replace(path)
    except OSError as error:
        with suppress(OSError):
            part.unlink(missing_ok=True)
        raise StoreError(
            f"{path} cannot be written ({error.strerror}); check the disk and its permissions, "
            "then run checker export."
        ) from None
    return path
