"""Simulated phone photos of pages of work, the same ones every time."""

from __future__ import annotations

import signal
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Literal

import cv2
import numpy as np

from checker.training.hands import Hand, load_hands
from checker.training.pages import Page, make_page
from checker.training.photo import Shot, photograph


@cache
def validation_hands(kind: Literal["pen", "font"], data: Path, fonts: Path) -> list[Hand]:
    """The hands that only measure, loaded once in a process."""
    return load_hands(kind, "validation", data, fonts)


def start_worker() -> None:
    """For processes that draw and read pages."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the one who counts
    cv2.setNumThreads(1)


def student_texts(seed: int) -> list[tuple[str, str]]:
    """(markup, role) of the lines of an invented student's page, half of them with a slip."""
    from checker.training.students import page as student_page

    made = student_page(seed, None if seed % 2 else "any")
    return [(line.markup, "struck" if line.struck else "working") for line in made.lines]


def hand_of(hands: Sequence[Hand], at: int, pages: int) -> Hand:
    """Whose hand page ``at`` of so many is in: few pages are spread over all hands."""
    return hands[at * len(hands) // pages if pages < len(hands) else at % len(hands)]


def photo(
    hand: Hand, number: int, content: str, megapixels: float | None = None
) -> tuple[Page, Shot]:
    """Page ``number`` of a kind of content, written and photographed; the same every time."""
    rng = np.random.default_rng([number, 2024])
    page = make_page(rng, hand, student_texts(100_000 + number) if content == "students" else None)
    return page, photograph(page.sheet, rng, megapixels=megapixels)


def photos(
    hands: Sequence[Hand], pages: int, first: int, content: str, megapixels: float | None = None
) -> Iterator[tuple[Page, Shot]]:
    for k in range(pages):
        yield photo(hand_of(hands, k, pages), first + k, content, megapixels)
