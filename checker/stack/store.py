"""The record of a stack: submissions, their pages as read, what was judged and what a person did.

One SQLite file. Every call that changes something is on disk when it returns. A ``Store`` may be
used from several threads, and several processes may open the same file.
"""

from __future__ import annotations

import hashlib
import json

from checker import __version__
from checker.matching.judgement import Judgement
from checker.reading.page import PageReading
from checker.stack.decisions import Decisions
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


class Store(Decisions):
    """An open store: pages and judgements here, settings and a person's log in its bases."""

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
        page of the same bytes has been read already: then it takes over that reading. One that
        failed for no fault of its own waits again.
        """
        with self._change():
            kept = self._pages("submission = ? AND number = ?", submission, number)
            if not kept or kept[0].digest != digest or kept[0].again:
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
                    " state = excluded.state, reason = excluded.reason, again = 0,"
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
        self._finish(page, "read", None, text, picture, again=False)

    def page_failed(
        self, page: int, reason: str, picture: bytes | None = None, again: bool = False
    ) -> None:
        """Keep the sentence why a page could not be read; ``again`` if that was no fault of its
        own."""
        self._finish(page, "failed", storable(reason), None, picture, again)

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

    def keep_judgement(
        self, submission: int, basis: str, judgement: Judgement, again: bool = False
    ) -> None:
        """``again`` if it only says that the machine could not make one."""
        text = judgement_to_json(judgement)
        with self._change():
            self._connection.execute(
                "INSERT OR REPLACE INTO judgements (submission, basis, outcome, json, again)"
                " VALUES (?, ?, ?, ?, ?)",
                (submission, basis, judgement.outcome, text, again),
            )

    def is_judged(self, submission: int, basis: str) -> bool:
        """Whether a judgement that rests on ``basis`` is kept and need not be tried again."""
        return bool(
            self._rows(
                "SELECT 1 FROM judgements WHERE submission = ? AND basis = ? AND NOT again",
                submission,
                basis,
            )
        )

    def judgement(self, submission: int, basis: str) -> Judgement | None:
        """The judgement kept, if it rests on ``basis``."""
        found = self._rows(
            "SELECT json FROM judgements WHERE submission = ? AND basis = ?", submission, basis
        )
        return judgement_from_json(found[0][0]) if found else None

    def _finish(
        self,
        page: int,
        state: State,
        reason: str | None,
        reading: str | None,
        picture: bytes | None,
        again: bool,
    ) -> None:
        with self._change():
            self._connection.execute(
                "UPDATE pages SET state = ?, reason = ?, reading = ?, picture = ?, again = ?"
                " WHERE id = ?",
                (state, reason, reading, picture, again, page),
            )
