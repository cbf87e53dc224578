"""Which pages make up a submission."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from checker.stack.intake import GivenPage, Refused

Split = Literal["file", "folder"] | int
Given = GivenPage | Refused


@dataclass(frozen=True)
class Placed:
    """A page, or a file that gives none, as page ``number`` (from 0) of ``submission``;
    ``source_page`` is its 1-based place in its file."""

    submission: str
    number: int
    given: Given
    source_page: int


def grouped(given: Iterable[Given], split: Split) -> Iterator[Placed]:
    """Every page at its place, in the order given.

    A submission is a file, the files of one folder, or ``split`` pages one after another. What is
    refused keeps its place, so that the pages after it stay with their submissions.
    """
    counts: Counter[str] = Counter()
    last, page = None, 0
    for submission, one in _named(given, split):
        page = page + 1 if one.name == last else 1
        yield Placed(submission, counts[submission], one, page)
        counts[submission] += 1
        last = one.name


def _named(given: Iterable[Given], split: Split) -> Iterator[tuple[str, Given]]:
    if isinstance(split, int):
        yield from _by_count(given, split)
    elif split == "folder":
        for one in given:
            yield one.name.rpartition("/")[0] or one.name, one
    else:
        for one in given:
            yield one.name, one


def _by_count(given: Iterable[Given], most: int) -> Iterator[tuple[str, Given]]:
    """Pages of one file are counted by themselves; photos of one page each are counted on."""
    name, count, page, last, last_alone = "", most, 0, None, True
    for one, following in _with_next(given):
        starts = one.name != last
        page = 1 if starts else page + 1
        alone = starts and (following is None or following.name != one.name)
        if count == most or (starts and not (alone and last_alone)):
            on = " on" if most > 1 else ""
            name, count = one.name if alone else f"{one.name}, page {page}{on}", 0
        yield name, one
        count += 1
        last, last_alone = one.name, alone


def _with_next(given: Iterable[Given]) -> Iterator[tuple[Given, Given | None]]:
    pages = iter(given)
    one = next(pages, None)
    while one is not None:
        following = next(pages, None)
        yield one, following
        one = following
