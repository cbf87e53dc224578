"""Typed pages for the tests of matching."""

from __future__ import annotations

from collections.abc import Sequence

from checker import markup
from checker.matching import Judgement, judge
from checker.problem.given import make_problem
from checker.problem.reduction import Reference, solve
from checker.reading.page import Candidate, Line, Token


def reference(
    supply: str | None, connection: str, capacitors: dict[str, str], **more: object
) -> Reference:
    find = None if supply else ["equivalent capacitance"]
    return solve(make_problem("test", supply, connection, capacitors, find, **more))  # type: ignore[arg-type]


def typed(*lines: str) -> list[Line]:
    return [Line(0, (Candidate(text, 1.0),), line=n) for n, text in enumerate(lines)]


def read(*lines: str | Sequence[tuple[str, float]]) -> list[Line]:
    """Lines with several readings: (text, probability) pairs; a plain text is certain."""
    return [
        Line(
            0,
            tuple(Candidate(*c) for c in ([(line, 1.0)] if isinstance(line, str) else line)),
            line=n,
        )
        for n, line in enumerate(lines)
    ]


def read_surely(*texts: str) -> list[Line]:
    """Lines about whose signs the reader has next to no doubt."""
    each = [[Token(t, (0.0, 0.0, 0.0, 0.0), 0.9997) for t in markup.tokens(x)] for x in texts]
    return [
        Line(0, (Candidate(text, 0.995, tuple(tokens)),), line=n)
        for n, (text, tokens) in enumerate(zip(texts, each, strict=True))
    ]


def judged(of: Reference, *lines: str) -> Judgement:
    return judge(of, typed(*lines))


def judged_page(supply: str, connection: str, values: str, lines: str) -> Judgement:
    """``values``: the capacitances of C1, C2 and so on, with ", " between them."""
    names = {f"C{n}": value for n, value in enumerate(values.split(", "), 1)}
    return judged(reference(supply, connection, names), *lines.split("\n"))


def slip_line(judgement: Judgement) -> int | None:
    """The line of the first slip."""
    slip = judgement.first_slip
    return None if slip is None else judgement.statements[slip.statement].line
