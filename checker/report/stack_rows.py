"""What the outputs of a stack are written from: one row for each submission, in stack order.

Writers take the rows as an iterable and hold one at a time, so they may come from a generator.
Nothing here knows of a clock, a path or the order in which pages were read: the same rows give the
same bytes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from checker.exact import Fraction
from checker.matching.judgement import JudgedStatement, Judgement, Outcome, Slip
from checker.reading.page import PageReading

Person = Literal["agreed", "overruled"]
_SLIPS = ("first slip", "later slip")


@dataclass(frozen=True)
class StackHead:
    """What holds for the whole stack: the problem's title and its word of caution, if any."""

    title: str
    caution: str | None = None


@dataclass(frozen=True)
class StackPage:
    """A page of a submission, or a file that gave none.

    ``source`` is the label of its file, ``number`` its 1-based place there. A page that was read
    has a ``reading`` (as corrected by a person) and a ``picture``: a JPEG upright by its EXIF
    orientation, not turned by ``reading.turned``, of any size; typed working has no picture. A
    page that was not read has a ``reason``, one sentence.
    """

    source: str
    number: int
    reading: PageReading | None = None
    picture: bytes | None = None
    reason: str | None = None


@dataclass(frozen=True)
class Mark:
    """Points suggested by the marking scheme, or confirmed by a person."""

    points: Fraction
    of: Fraction
    confirmed: bool = False


@dataclass(frozen=True)
class StackRow:
    """A submission. ``judgement`` is the program's on the corrected readings (its statements'
    ``page`` counts ``pages`` from 0); ``outcome`` is the one that stands, a person's where
    overruled, and ``overruled`` the judgement as the person put it, if put line by line.
    ``remark`` is what the person wrote, ``corrected`` the number of lines put right by hand.
    """

    position: int
    name: str
    outcome: Outcome
    judgement: Judgement
    pages: tuple[StackPage, ...]
    person: Person | None = None
    remark: str = ""
    corrected: int = 0
    mark: Mark | None = None
    overruled: Judgement | None = None

    @property
    def stands(self) -> Judgement:
        """The judgement that stands, as far as it was put line by line."""
        return self.overruled or self.judgement

    @property
    def slip(self) -> Slip | None:
        """The first slip, where the outcome that stands is that there is one."""
        return self.stands.first_slip if self.outcome == "slip found" else None

    @property
    def shown(self) -> Judgement:
        """What to draw on the pages: where a person overruled it, no slip is accused any more."""
        if self.outcome == self.stands.outcome:
            return self.stands
        statements = tuple(
            replace(s, verdict="unsure", remark=None) if s.verdict in _SLIPS else s
            for s in self.stands.statements
        )
        return replace(
            self.stands,
            outcome=self.outcome,
            first_slip=None,
            later_slips=(),
            statements=statements,
        )

    @property
    def slipped(self) -> JudgedStatement | None:
        """The statement of ``slip``."""
        return self.stands.statements[self.slip.statement] if self.slip else None

    @property
    def carried(self) -> int:
        """Statements that follow from an earlier wrong value."""
        return sum(s.verdict == "carried forward" for s in self.stands.statements)

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why pages were not read or the working cannot be judged; each sentence once."""
        found = [page.reason for page in self.pages if page.reason]
        for page in self.pages:
            if page.reading:
                found += [*page.reading.doubts, *page.reading.remarks]
        return tuple(dict.fromkeys([*found, *self.stands.remarks]))
