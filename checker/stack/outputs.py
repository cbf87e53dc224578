"""The files written beside a store: what it holds, for people and other programs."""

from __future__ import annotations

from collections.abc import Callable
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

TABLE, DOCUMENT, PAGE, PDF = "triage.csv", "triage.json", "summary.html", "annotated.pdf"


def write_outputs(store: Store, folder: Path) -> tuple[Path, ...]:
    """Write all files into ``folder``, one after another; those written before are replaced.

    The same store gives the same bytes. Raises StoreError where a file cannot be written.
    """
    head, reference = head_of(store), reference_of(problem_of(store))
    return (
        _write(folder / TABLE, lambda out: write_table(stack_rows(store), out)),
        _write(folder / DOCUMENT, lambda out: write_json(head, stack_rows(store), out)),
        _write(folder / PAGE, lambda out: write_page(head, reference, stack_rows(store), out)),
        _write(folder / PDF, lambda out: write_pdf(head, stack_rows(store), out)),
    )


def _write(path: Path, write: Callable[[BinaryIO], object]) -> Path:
    """The whole file or, where that fails, the one of before."""
    part = path.with_name(path.name + ".part")
    try:
        with part.open("wb") as out:
            write(out)
        part.replace(path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise StoreError(
            f"{path} cannot be written ({error.strerror}); check the disk and its permissions, "
            "then run checker export."
        ) from None
    return path
