"""An SQLite file opened, checked and brought up to date; failures in one sentence each."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from checker.errors import StoreError
from checker.stack.schema import APPLICATION, FORMAT, STEPS

_PATIENCE = 10.0  # seconds to wait for another writer, who needs a few milliseconds


def connect(path: Path, must_exist: bool) -> sqlite3.Connection:
    """A connection in WAL mode on which every statement is its own transaction unless begun.

    A missing file is made unless ``must_exist``. Raises StoreError.
    """
    if must_exist and not path.is_file():
        raise StoreError(f"There is no store {path}; run checker triage first.")
    with told(path):
        # Pages of the web desk run in changing threads; Store takes a lock around each use.
        found = sqlite3.connect(
            path, timeout=_PATIENCE, isolation_level=None, check_same_thread=False
        )
        try:
            _prepare(found, path)
        except BaseException:
            found.close()
            raise
    return found


@contextmanager
def transaction(connection: sqlite3.Connection, path: Path) -> Iterator[None]:
    """All or nothing; on disk once the block is left."""
    with told(path):
        connection.execute("BEGIN IMMEDIATE")
        try:
            yield
            connection.execute("COMMIT")
        except BaseException:
            with suppress(sqlite3.Error):  # a full disk has rolled back already
                connection.execute("ROLLBACK")
            raise


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Errors of SQLite as a StoreError of one sentence."""
    try:
        yield
    except sqlite3.IntegrityError:
        raise  # a mistake of the program, never of the person
    except sqlite3.DatabaseError as error:
        raise StoreError(_sentence(path, error)) from error


def _prepare(connection: sqlite3.Connection, path: Path) -> None:
    connection.execute("PRAGMA foreign_keys = ON")
    version = _version(connection, path)
    connection.execute("PRAGMA journal_mode = WAL")
    # FULL: a commit is on disk when it returns, also if the power fails.
    connection.execute("PRAGMA synchronous = FULL")
    if version == FORMAT:
        return
    with transaction(connection, path):
        version = _version(connection, path)  # another process may just have done it
        for step in STEPS[version:]:
            for statement in step.split(";"):
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION}")
        connection.execute(f"PRAGMA user_version = {FORMAT}")


def _version(connection: sqlite3.Connection, path: Path) -> int:
    """0 for an empty file; StoreError for a file of another kind or a newer format."""
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    (tables,) = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    if application != APPLICATION and (tables or application or version):
        raise StoreError(f"{path} is a database of another program; choose another folder.")
    if version > FORMAT:
        raise StoreError(f"{path} was written by a newer checker; update checker to open it.")
    return int(version)


def _sentence(path: Path, error: sqlite3.DatabaseError) -> str:
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
    advice = {
        sqlite3.SQLITE_FULL: "the disk is full; make room and run the same again, "
        "what was done is kept",
        sqlite3.SQLITE_READONLY: "it cannot be written; check the permissions of the file and "
        "its folder",
        sqlite3.SQLITE_CANTOPEN: "it cannot be opened; check that its folder exists and can be "
        "written",
        sqlite3.SQLITE_IOERR: "the disk does not take or give its data; check the disk and its "
        "free space and run the same again",
        sqlite3.SQLITE_NOTADB: "it is not a store of checker; choose another folder",
        sqlite3.SQLITE_CORRUPT: "it is damaged; put back a copy or start a new folder",
        sqlite3.SQLITE_BUSY: "another program keeps it busy; close that and try again",
    }
    return f"{path}: {advice.get(code, f'it cannot be used ({error})')}."
