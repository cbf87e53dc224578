"""The result as text for a terminal: every step with its verdict, then the first slip."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from checker.matching.judgement import JudgedStatement, Slip
from checker.report.verdict_marks import MARKS, OUTCOMES
from checker.submission import Checked

WIDTH = 96
RELATIONS = ("=", "≈", "→", "⇒")  # a step that begins so goes on from the one before
_VERDICT_WIDTH = max(map(len, MARKS)) + 2


def as_text(checked: Checked) -> str:
    """The page step by step, what was found, and what to look at; lines of at most 96 characters
    except where a step itself is longer."""
    return "\n".join(_lines(checked))


def _lines(checked: Checked) -> Iterator[str]:
    judgement = checked.judgement
    yield checked.problem.title
    for page in checked.pages:
        yield ""
        yield page.source
        here = [s for s in judgement.statements if s.page == page.page]
        asked = [None, *(s.question for s in here)]
        for statement, question in zip(here, asked, strict=False):
            yield from _step(statement, question)
    yield ""
    if judgement.first_slip:
        yield from _slip("First slip", judgement.first_slip)
    else:
        yield OUTCOMES[judgement.outcome]
    for slip in judgement.later_slips:
        yield ""
        yield from _slip("Later slip", slip)
    for remark in filter(None, (*checked.remarks, checked.caution)):
        yield ""
        yield from textwrap.wrap(remark, WIDTH)


def _step(statement: JudgedStatement, asked: str | None) -> Iterator[str]:
    """One step; a question that was just asked is not asked again."""
    verdict = f"{MARKS[statement.verdict].sign} {statement.verdict}"
    text = f"    {statement.text}" if statement.text.startswith(RELATIONS) else statement.text
    yield f"{statement.index + 1:4}  {verdict:{_VERDICT_WIDTH}}  {text}".rstrip()
    question = statement.question if statement.question != asked else None
    for note in (statement.remark, question):
        if note:
            yield from _wrapped(note, indent=8 + _VERDICT_WIDTH)


def _slip(heading: str, slip: Slip) -> Iterator[str]:
    about = f", {slip.quantity}" if slip.quantity else ""
    yield f"{heading}: step {slip.statement + 1}{about} ({_words(slip.kind)})"
    yield f"    written   {slip.written}"
    if slip.expected is not None:
        yield f"    expected  {slip.expected}"
    yield from _wrapped(slip.hint, indent=4)
    yield from _wrapped(slip.explanation, indent=4)
    if slip.also:
        yield from _wrapped(f"Could also be: {', '.join(map(_words, slip.also))}.", indent=4)


def _words(kind: str) -> str:
    return kind.replace("-", " ")


def _wrapped(text: str, indent: int) -> list[str]:
    margin = " " * indent
    return textwrap.wrap(text, WIDTH, initial_indent=margin, subsequent_indent=margin)
