"""A student's pages in one session: what was given, read and put right.

All of it lives in this object, which the session holds and which goes with it.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

import numpy as np
from PIL import Image

from checker.desk.picture import Picture, jpeg, picture_of
from checker.errors import CheckerError
from checker.matching.judgement import Judgement
from checker.problem.reduction import Reference
from checker.reading.load import load_photo
from checker.reading.page import PageReading
from checker.report.page_picture import photo_of
from checker.stack.placed import corrected_reading, placed
from checker.submission import Upload, is_typed, judge_pages, read

Added = Literal["added", "known", "full"]
MOST_PAGES = 12


@dataclass(frozen=True)
class OwnPage:
    """A page as given; ``turn`` is the clockwise quarter turns (0-3) the student asked for."""

    name: str
    content: bytes
    turn: int = 0

    @cached_property
    def key(self) -> str:
        """The same for the same picture, whatever its file is called."""
        kind = "typed" if is_typed(self.upload) else "photo"
        return f"{hashlib.sha256(self.content).hexdigest()}-{kind}-{self.turn}"

    @property
    def upload(self) -> Upload:
        return Upload(self.name, self.content)

    def turned(self) -> OwnPage:
        return replace(self, turn=(self.turn + 1) % 4)


@dataclass(frozen=True)
class PageRead:
    """What was read from a page, as if it were the only one, and how it is shown."""

    reading: PageReading
    picture: Picture


@dataclass
class OwnWork:
    """``corrections`` maps a page's key and the index of one of its lines to the student's text,
    ``correcting`` counts how often it was given, ``failed`` maps a page's key to the sentence that
    says why it cannot be used. ``taken`` are the ids of the uploads that were looked at,
    ``left_out`` says what of the last ones was not added and why."""

    pages: list[OwnPage] = field(default_factory=list)
    corrections: dict[tuple[str, int], str] = field(default_factory=dict)
    correcting: Counter[tuple[str, int]] = field(default_factory=Counter)
    failed: dict[str, str] = field(default_factory=dict)
    taken: set[str] = field(default_factory=set)
    left_out: tuple[str, ...] = ()
    _read: dict[str, PageRead] = field(default_factory=dict)
    _judged: tuple[object, Judgement] | None = None

    def add(self, name: str, content: bytes) -> Added:
        """Add a page at the end unless it is "known", or the list is "full"."""
        if any(content == other.content for other in self.pages):
            return "known"
        if len(self.pages) >= MOST_PAGES:
            return "full"
        self.pages.append(OwnPage(name, content))
        return "added"

    def remove(self, at: int) -> None:
        del self.pages[at]
        self.left_out = ()
        self._forget()

    def move(self, at: int, by: int) -> None:
        self.pages.insert(max(at + by, 0), self.pages.pop(at))

    def turn(self, at: int) -> None:
        self.pages[at] = self.pages[at].turned()
        self._forget()

    def correct(self, key: str, line: int, text: str) -> None:
        self.corrections[key, line] = text
        self.correcting[key, line] += 1

    def read_all(self, progress: Callable[[int, OwnPage], None]) -> None:
        """Read the pages that were not read before; ``progress`` is told of each."""
        for number, page in enumerate(self.pages):
            if page.key in self._read or page.key in self.failed:
                continue
            progress(number, page)
            try:
                self._read[page.key] = read_page(page)
            except CheckerError as error:
                self.failed[page.key] = str(error)

    def usable(self) -> list[tuple[OwnPage, PageRead]]:
        """The pages that could be read, in order."""
        return [(page, self._read[page.key]) for page in self.pages if page.key in self._read]

    def readings(self) -> tuple[PageReading, ...]:
        """They as one submission, with what the student put right."""
        readings = []
        for number, (page, its) in enumerate(self.usable()):
            changes = {
                (number, i): t for (key, i), t in self.corrections.items() if key == page.key
            }
            reading = placed(its.reading, number, page.name)
            readings.append(corrected_reading(reading, changes))
        return tuple(readings)

    def put_right(self) -> set[tuple[int, int]]:
        """Page number and index of the lines that the student put right."""
        numbers = {page.key: number for number, (page, _its) in enumerate(self.usable())}
        return {(numbers[key], index) for key, index in self.corrections if key in numbers}

    def judgement(self, reference: Reference) -> Judgement:
        """The judgement of ``readings``; nothing is judged twice."""
        key = (
            repr(reference.problem),
            tuple(page.key for page, _its in self.usable()),
            tuple(sorted(self.corrections.items())),
        )
        if self._judged is None or self._judged[0] != key:
            self._judged = key, judge_pages(reference, self.readings())
        return self._judged[1]

    def _forget(self) -> None:
        """Keep nothing of pages that are gone."""
        keys = {page.key for page in self.pages}
        self._read = {key: its for key, its in self._read.items() if key in keys}
        self.failed = {key: why for key, why in self.failed.items() if key in keys}
        self.corrections = {at: text for at, text in self.corrections.items() if at[0] in keys}


def read_page(page: OwnPage) -> PageRead:
    """Read a page and make its picture; CheckerError where it cannot be used."""
    source = Upload(page.name, _turned(page))
    reading = read([source])[0]
    return PageRead(reading, picture_of(photo_of(source), reading))


def _turned(page: OwnPage) -> bytes:
    if not page.turn or is_typed(page.upload):
        return page.content
    colour = np.rot90(load_photo(page.content).colour, -page.turn)
    return jpeg(Image.fromarray(np.ascontiguousarray(colour)), 95)
