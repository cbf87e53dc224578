"""A line with the reading that was chosen, and the question to ask where none can be."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import SequenceMatcher

from checker.markup import plain
from checker.matching.finding import Finding
from checker.notation.lexer import Comma, lex
from checker.notation.parse import prepared
from checker.notation.tree import Number
from checker.reading.page import Candidate, Line


@dataclass(frozen=True)
class ReadLine:
    """A line with the reading that was chosen.  ``unsure``: no verdict on its wrong findings;
    ``matters``: the verdict on the page hangs on it, so ``question`` is asked."""

    line: Line
    candidate: Candidate
    findings: tuple[Finding, ...]
    unsure: bool = False
    question: str | None = None
    matters: bool = False


def goes_on(candidate: Candidate) -> bool:
    """Whether a line read so goes on with "= …" from the one before."""
    return prepared(candidate.text).lstrip().startswith(("=", "≈"))


def ask(text: str, other: str, comma: Comma) -> str:
    """The question that separates two readings: "Is this 16 or 10?"."""
    one, two = _number_texts(text, comma), _number_texts(other, comma)
    for tag, a, b, c, d in SequenceMatcher(None, one, two, autojunk=False).get_opcodes():
        if tag == "replace":
            return f"Is this {' '.join(one[a:b])} or {' '.join(two[c:d])}?"
    return f'Is this "{plain(text)}" or "{plain(other)}"?'


def ask_whether(findings: tuple[Finding, ...], text: str) -> str:
    """The question about a line of which only one reading is known."""
    wrong = next((f for f in findings if f.status == "wrong"), None)
    return f'Is this "{wrong.written if wrong else plain(text)}"?'


def ask_how(findings: tuple[Finding, ...]) -> str:
    """The question about a value that may be right by way of what is not written."""
    wrong = next(finding for finding in findings if finding.status == "wrong")
    return f'How was "{wrong.written}" worked out?'


def _number_texts(text: str, comma: Comma) -> list[str]:
    whole = prepared(text)
    return [
        whole[token.start : token.end] for token in lex(whole, comma)
        if isinstance(token.value, Number)
    ]  # fmt: skip
