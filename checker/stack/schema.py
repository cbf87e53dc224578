"""The tables of a store, and how an older store becomes one of today.

``settings``     what the stack was made with (text of the problem file, how pages were split)
``submissions``  in the order they were given
``pages``        one row a page; ``source`` and ``source_page`` say where it came from (a label,
                 never a path), ``digest`` what its bytes were; ``reading`` is JSON
                 (``keep_reading``), ``picture`` a JPEG of the page as photographed; ``again``
                 marks one that failed for no fault of its own, which the next run tries again
``judgements``   the latest judgement of a submission and the ``basis`` it rests on; ``again`` as
                 for a page
``actions``      what a person did, only ever added to; ``undone`` is the one thing that changes
"""

from __future__ import annotations

APPLICATION = 0x43_4B_53_54  # marks an SQLite file as a store ("CKST")

_FIRST = """
CREATE TABLE settings (key TEXT PRIMARY KEY, value TEXT NOT NULL);
CREATE TABLE submissions (
    id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE, position INTEGER NOT NULL UNIQUE);
CREATE TABLE pages (
    id INTEGER PRIMARY KEY,
    submission INTEGER NOT NULL REFERENCES submissions (id),
    number INTEGER NOT NULL,
    source TEXT NOT NULL,
    source_page INTEGER NOT NULL,
    digest TEXT NOT NULL,
    state TEXT NOT NULL DEFAULT 'waiting' CHECK (state IN ('waiting', 'read', 'failed')),
    reason TEXT,
    reading TEXT,
    picture BLOB,
    UNIQUE (submission, number));
CREATE INDEX pages_by_digest ON pages (digest);
CREATE TABLE judgements (
    submission INTEGER PRIMARY KEY REFERENCES submissions (id),
    basis TEXT NOT NULL,
    outcome TEXT NOT NULL,
    json TEXT NOT NULL);
CREATE TABLE actions (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    submission INTEGER NOT NULL REFERENCES submissions (id),
    kind TEXT NOT NULL CHECK (kind IN ('correct', 'overrule', 'agree', 'mark')),
    payload TEXT NOT NULL,
    undone INTEGER NOT NULL DEFAULT 0 CHECK (undone IN (0, 1)));
CREATE INDEX actions_by_submission ON actions (submission);
"""

_AGAIN = """
ALTER TABLE pages ADD COLUMN again INTEGER NOT NULL DEFAULT 0 CHECK (again IN (0, 1));
ALTER TABLE judgements ADD COLUMN again INTEGER NOT NULL DEFAULT 0 CHECK (again IN (0, 1));
"""

STEPS = (_FIRST, _AGAIN)  # step n takes a store of format n to format n + 1
FORMAT = len(STEPS)
