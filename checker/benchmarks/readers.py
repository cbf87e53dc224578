"""The line readers that are measured."""

from __future__ import annotations

from functools import cache

from checker.reading.page import LineReader

OURS = "ours"


def ink_reader() -> LineReader:
    from checker.reading.ink_reader import InkReader

    return InkReader(threads=1)


@cache
def readers(tesseract: bool) -> dict[str, LineReader]:
    """The readers measured, ours first; loaded once in a process."""
    if not tesseract:
        return {OURS: ink_reader()}
    from checker.reading.tesseract_reader import TesseractReader

    return {OURS: ink_reader(), "Tesseract": TesseractReader()}
