"""What a person did to a stack: a log that is only added to, and how the readings now stand."""

from __future__ import annotations

import json
from collections import Counter
from typing import Any

from checker.stack.record import Record
from checker.stack.rows import Action, Kind


class Decisions(Record):
    """The part of a ``Store`` that keeps what a person did; an undo marks the last entry."""

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
