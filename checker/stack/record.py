"""The file of a store: opened and closed, its settings, and the one way in which it is changed."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Self

from checker.stack.connection import connect, told, transaction
from checker.stack.rows import PageRow


class Record:
    """An open file; close it or use it in a ``with`` block. Methods raise StoreError."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self._connection = connection
        self._lock = threading.RLock()

    @classmethod
    def open(cls, path: str | Path, must_exist: bool = False) -> Self:
        """Open the store in file ``path``, made if missing unless ``must_exist``."""
        path = Path(path)
        return cls(path, connect(path, must_exist))

    def close(self) -> None:
        with self._lock:
            self._connection.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def setting(self, key: str) -> str | None:
        found = self._rows("SELECT value FROM settings WHERE key = ?", key)
        return found[0][0] if found else None

    def set_setting(self, key: str, value: str) -> None:
        with self._change():
            self._connection.execute("INSERT OR REPLACE INTO settings VALUES (?, ?)", (key, value))

    def _pages(self, where: str, *values: object) -> tuple[PageRow, ...]:
        rows = self._rows(
            "SELECT id, submission, number, source, source_page, digest, state, reason, again"
            f" FROM pages WHERE {where} ORDER BY submission, number",
            *values,
        )
        return tuple(map(_page_row, rows))

    def _rows(self, statement: str, *values: object) -> list[tuple[Any, ...]]:
        with self._lock, told(self.path):
            return self._connection.execute(statement, values).fetchall()

    @contextmanager
    def _change(self) -> Iterator[None]:
        """A transaction; one within another is part of it."""
        with self._lock:
            if self._connection.in_transaction:
                yield
                return
            with transaction(self._connection, self.path):
                yield


def _page_row(row: tuple[Any, ...]) -> PageRow:
    values: Any = (*row[:-1], bool(row[-1]))
    return PageRow(*values)
