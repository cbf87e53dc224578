"""The record of a stack: submissions, their pages as read, what was judged and what a person did.

One SQLite file. Every call that changes something is on disk when it returns. A ``Store`` may be
used from several threads, and several processes may open the same file.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
import threading
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from checker import __version__
from checker.matching.judgement import Judgement
from checker.reading.page import PageReading
from checker.stack.connection import connect, told, transaction
from checker.stack.keep_reading import (
    judgement_from_json,
    judgement_to_json,
    reading_from_json,
    reading_to_json,
)
from checker.stack.placed import corrected_reading, placed
from checker.stack.rows import Action, Kind, PageRow, State, SubmissionRow, storable

__all__ = ["FILE", "Action", "Kind", "PageRow", "State", "Store", "SubmissionRow"]

FILE = "stack.sqlite"  # its name in the folder of a stack


class Store:
    """An open store; close it or use it in a ``with`` block. Methods raise StoreError."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self._connection = connection
        self._lock = threading.RLock()

    @classmethod
    def open(cls, path: str | Path, must_exist: bool = False) -> Store:
        """Open the store in file ``path``, made if missing unless ``must_exist``."""
        path = Path(path)
        return cls(path, connect(path, must_exist))

    def close(self) -> None:
        with self._lock:
            self._connection.close()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # What the stack was made with

    def setting(self, key: str) -> str | None:
        found = self._rows("SELECT value FROM settings WHERE key = ?", key)
        return found[0][0] if found else None

    def set_setting(self, key: str, value: str) -> None:
        with self._change():
            self._connection.execute("INSERT OR REPLACE INTO settings VALUES (?, ?)", (key, value))

    # Submissions and pages

    def add_submission(self, name: str) -> int:
        """The id of the submission called ``name``, added behind all others if it is new."""
        name = storable(name)
        with self._change():
            found = self._rows("SELECT id FROM submissions WHERE name = ?", name)
            if found:
                return int(found[0][0])
            cursor = self._connection.execute(
                "INSERT INTO submissions (name, position)"
                " SELECT ?, coalesce(max(position) + 1, 0) FROM submissions",
                (name,),
            )
            return int(cursor.lastrowid or 0)

    def add_page(
        self, submission: int, number: int, source: str, source_page: int, digest: str
    ) -> PageRow:
        """The page at ``number`` of a submission as it now stands.

        A new one, or one whose bytes are not those of before, is waiting to be read, unless a
        page of the same bytes has been read already: then it takes over that reading.
        """
        with self._change():
            kept = self._pages("submission = ? AND number = ?", submission, number)
            if not kept or kept[0].digest != digest:
                same = self._rows(
                    "SELECT state, reason, reading, picture FROM pages"
                    " WHERE digest = ? AND state = 'read' ORDER BY id LIMIT 1",
                    digest,
                )
                self._connection.execute(
                    "INSERT INTO pages (submission, number, source, source_page, digest,"
                    " state, reason, reading, picture) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)"
                    " ON CONFLICT (submission, number) DO UPDATE SET source = excluded.source,"
                    " source_page = excluded.source_page, digest = excluded.digest,"
                    " state = excluded.state, reason = excluded.reason,"
                    " reading = excluded.reading, picture = excluded.picture",
                    (
                        *(submission, number, storable(source), source_page, digest),
                        *(same[0] if same else ("waiting", None, None, None)),
                    ),
                )
                kept = self._pages("submission = ? AND number = ?", submission, number)
            return kept[0]

    def page_read(self, page: int, reading: PageReading, picture: bytes | None = None) -> None:
        """Keep what was read on a page and its picture (JPEG bytes)."""
        text = reading_to_json(placed(reading))
        self._finish(page, "read", None, text, picture)

    def page_failed(self, page: int, reason: str, picture: bytes | None = None) -> None:
        """Keep the sentence why a page could not be read."""
        self._finish(page, "failed", storable(reason), None, picture)

    def waiting_pages(self) -> tuple[PageRow, ...]:
        return self._pages("state = 'waiting'")

    def counts(self) -> dict[State, int]:
        """How many pages are in which state."""
        found = dict(self._rows("SELECT state, count(*) FROM pages GROUP BY state"))
        return {"waiting": 0, "read": 0, "failed": 0, **found}

    def submissions(self) -> tuple[SubmissionRow, ...]:
        """All submissions in the order they were given."""
        pages: dict[int, list[PageRow]] = {}
        with self._lock:
            rows = self._rows("SELECT id, name, position FROM submissions ORDER BY position")
            for page in self._pages("1"):
                pages.setdefault(page.submission, []).append(page)
        return tuple(
            SubmissionRow(id, name, position, tuple(pages.get(id, ())))
            for id, name, position in rows
        )

    def submission(self, submission: int) -> SubmissionRow:
        """One submission; KeyError if there is none with this id."""
        rows = self._rows("SELECT id, name, position FROM submissions WHERE id = ?", submission)
        if not rows:
            raise KeyError(submission)
        ((id, name, position),) = rows
        return SubmissionRow(id, name, position, self._pages("submission = ?", submission))

    def picture(self, page: int) -> bytes | None:
        found = self._rows("SELECT picture FROM pages WHERE id = ?", page)
        return found[0][0] if found else None

    def readings(self, submission: int, corrected: bool = True) -> tuple[PageReading, ...]:
        """The pages of a submission that were read, in order, with a person's corrections."""
        with self._lock:
            rows = self._rows(
                "SELECT number, source, reading FROM pages"
                " WHERE submission = ? AND state = 'read' ORDER BY number",
                submission,
            )
            changes = self.corrections(submission) if corrected else {}
        return tuple(
            corrected_reading(placed(reading_from_json(text), number, source), changes)
            for number, source, text in rows
        )

    # Judgements

    def basis(self, submission: int, problem: str) -> str:
        """What a judgement rests on, as a digest: a problem, pages as read and corrections."""
        with self._lock:
            pages = self._pages("submission = ?", submission)
            changes = sorted(self.corrections(submission).items())
        parts = [__version__, problem, [(p.number, p.digest, p.state) for p in pages], changes]
        return hashlib.sha256(json.dumps(parts).encode()).hexdigest()

    def keep_judgement(self, submission: int, basis: str, judgement: Judgement) -> None:
        with self._change():
            self._connection.execute(
                "INSERT OR REPLACE INTO judgements VALUES (?, ?, ?, ?)",
                (submission, basis, judgement.outcome, judgement_to_json(judgement)),
            )

    def judgement(self, submission: int, basis: str) -> Judgement | None:
        """The judgement kept, if it rests on ``basis``."""
        found = self._rows(
            "SELECT json FROM judgements WHERE submission = ? AND basis = ?", submission, basis
        )
        return judgement_from_json(found[0][0]) if found else None

    # What a person did

    def act(self, submission: int, kind: Kind, payload: dict[str, Any] | None = None) -> Action:
        """Add to the log. For a corrected reading use ``correct``."""
        text = json.dumps(payload or {})
        with self._change():
            cursor = self._connection.execute(
                "INSERT INTO actions (submission, kind, payload) VALUES (?, ?, ?)",
                (submission, kind, text),
            )
            return Action(int(cursor.lastrowid or 0), submission, kind, json.loads(text))

    def correct(self, submission: int, page: int, line: int, text: str) -> Action:
        """Line ``line`` (index) of page ``page`` (number) says ``text``; nothing if it is empty."""
        with self._change():
            (row,) = self._pages("submission = ? AND number = ?", submission, page)
            payload = {"page": page, "line": line, "text": text, "digest": row.digest}
            return self.act(submission, "correct", payload)

    def undo(self, submission: int | None = None) -> Action | None:
        """Undo the last action (of a submission) that still stands; None if there is none."""
        with self._change():
            standing = self.actions(submission)
            if not standing:
                return None
            self._connection.execute(
                "UPDATE actions SET undone = 1 WHERE id = ?", (standing[-1].id,)
            )
            return standing[-1]

    def actions(
        self, submission: int | None = None, kind: Kind | None = None
    ) -> tuple[Action, ...]:
        """What a person did and did not undo, in the order it was done."""
        rows = self._rows(
            "SELECT id, submission, kind, payload FROM actions WHERE undone = 0"
            " AND (?1 IS NULL OR submission = ?1) AND (?2 IS NULL OR kind = ?2) ORDER BY id",
            submission,
            kind,
        )
        return tuple(Action(id, of, what, json.loads(payload)) for id, of, what, payload in rows)

    def correcting(self, submission: int) -> Counter[tuple[int, int]]:
        """How often the text of (page number, line index) was given or taken back."""
        rows = self._rows(
            "SELECT payload, undone FROM actions WHERE kind = 'correct' AND submission = ?",
            submission,
        )
        counts: Counter[tuple[int, int]] = Counter()
        for payload, undone in rows:
            one = json.loads(payload)
            counts[one["page"], one["line"]] += 1 + undone
        return counts

    def corrections(self, submission: int) -> dict[tuple[int, int], str]:
        """(page number, line index) to the text a person gave last, for pages as they are now."""
        with self._lock:
            digests = {
                page.number: page.digest for page in self._pages("submission = ?", submission)
            }
            made = [action.payload for action in self.actions(submission, "correct")]
        return {
            (one["page"], one["line"]): one["text"]
            for one in made
            if digests.get(one["page"]) == one["digest"]
        }

    def _finish(
        self,
        page: int,
        state: State,
        reason: str | None,
        reading: str | None,
        picture: bytes | None,
    ) -> None:
        with self._change():
            self._connection.execute(
                "UPDATE pages SET state = ?, reason = ?, reading = ?, picture = ? WHERE id = ?",
                (state, reason, reading, picture, page),
            )

    def _pages(self, where: str, *values: object) -> tuple[PageRow, ...]:
        rows = self._rows(
            "SELECT id, submission, number, source, source_page, digest, state, reason"
            f" FROM pages WHERE {where} ORDER BY submission, number",
            *values,
        )
        return tuple(PageRow(*row) for row in rows)

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
