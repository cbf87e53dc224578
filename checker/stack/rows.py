"""The rows of a store as plain data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

State = Literal["waiting", "read", "failed"]
Kind = Literal["correct", "overrule", "agree", "mark"]


@dataclass(frozen=True)
class PageRow:
    """A page without its reading and picture; ``number`` counts from 0 in its submission.

    ``source`` (a label) and ``source_page`` (from 1) say where it came from, ``reason`` is the
    one sentence why it failed, ``again`` whether that was the machine's fault and not the page's.
    """

    id: int
    submission: int
    number: int
    source: str
    source_page: int
    digest: str
    state: State
    reason: str | None
    again: bool = False


@dataclass(frozen=True)
class SubmissionRow:
    id: int
    name: str
    position: int
    pages: tuple[PageRow, ...]


@dataclass(frozen=True)
class Action:
    """What a person did; ``payload`` is of plain JSON values.

    ``correct`` has "page" (number), "line" (index into the page's lines), "text" and the page's
    "digest", so that it does not outlive a page given anew; the other kinds have what the desk
    puts there.
    """

    id: int
    submission: int
    kind: Kind
    payload: dict[str, Any]


def storable(text: str) -> str:
    """``text`` as UTF-8 can hold it: a file name's undecodable bytes become question marks."""
    return text.encode("utf-8", "replace").decode("utf-8")
