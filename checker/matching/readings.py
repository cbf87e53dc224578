"""Which reading of a line to go by, and whether to accuse, to ask, or to let it stand.

A reader gives several texts with probabilities.  With

    good   the probability of the readings that follow,
    bad    that of the readings that do not,
    rest   what is left for readings the reader did not list,

the line is taken to be right with the odds  PRIOR * (good + RIGHT_UNLISTED * rest) : bad, because
most lines are right and a wrong one would have to be wrong in just this way.  Accusing right work
costs ACCUSE, asking costs ASK; so a slip is named only where P(right) * ACCUSE < ASK, otherwise
the program asks.  Readings that are nearly equal (TIE) are settled by what follows; a confident
reading is never turned into another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher

from checker.markup import plain
from checker.matching.finding import CONFIDENT, Finding
from checker.matching.state import State
from checker.matching.steps import read_line
from checker.matching.values import Habit
from checker.notation.lexer import lex
from checker.notation.parse import prepared
from checker.notation.tree import Number
from checker.reading.page import Candidate, Line

PRIOR = 10.0  # odds that a line is right before it is read, over a slip of a known kind
PRIOR_UNEXPLAINED = 100.0  # over a slip that no kind explains: more likely a misreading
RIGHT_UNLISTED = 0.3  # how often a reading that was not listed would be right
HALF_READ = 0.7  # a reading that only in part could be understood counts for this much
ACCUSE, ASK = 5.0, 1.0
UNDERSTOOD = 0.3  # a reading that can be understood is preferred from this share of the first
HALF = 0.5
NO_READING = 0.3  # how likely a line in doubt is right when no other reading of it follows
SURE = 0.999  # a reading this probable is taken at its word
ISOLATED = 0.97  # needed to name a slip of which nothing comes
LIKELY_RIGHT = 0.5  # a line in doubt that is at least this likely right needs nobody's look
TIE = 0.6  # a reading this likely, compared with the first, is nearly equal to it
LEAST = 0.003  # readings less likely than this are not looked at
MOST = 8


@dataclass(frozen=True)
class ReadLine:
    """A line with the reading that was chosen.  ``unsure``: no verdict on its wrong findings."""

    line: Line
    candidate: Candidate
    findings: tuple[Finding, ...]
    unsure: bool = False
    question: str | None = None
    right: float = 1.0  # the probability that an unsure line is right
    hopeless: bool = False  # no reading of it follows


def choose(line: Line, state: State, habit: Habit, doubted: bool = False) -> tuple[ReadLine, State]:
    """The reading to go by and the state it leaves.

    A wrong value in doubt still counts for what comes after, unless the line is ``doubted``.
    """
    candidates = [c for c in line.candidates[:MOST] if c.probability >= LEAST]
    candidates = candidates or list(line.candidates[:1])
    first = candidates[0]
    findings, after = read_line(first.text, state, habit, explain=False)
    read = ReadLine(line, first, findings)
    if _is_good(findings):
        return read, after
    others = [(c, *read_line(c.text, state, habit, explain=False)) for c in candidates[1:]]
    good = [(c, f, s) for c, f, s in others if _is_good(f) and _says_as_much(f, findings)]
    slipped = any(f.status == "wrong" for f in findings)
    if good and (not slipped or good[0][0].probability >= TIE * first.probability):
        candidate, its, state_after = good[0]
        return ReadLine(line, candidate, its), state_after
    if not slipped:
        clear = [(c, f, s) for c, f, s in others if not any(x.status == "unclear" for x in f)]
        if not clear or clear[0][0].probability < UNDERSTOOD * first.probability:
            return read, _shaken(after, first, findings)
        first = clear[0][0]  # the likeliest reading that can be understood at all
        if not _is_bad(clear[0][1]):
            return ReadLine(line, first, clear[0][1]), clear[0][2]
    findings, after = read_line(first.text, state, habit)
    read = ReadLine(line, first, findings)
    bad = first.probability + sum(c.probability for c, f, _s in others if _is_bad(f))
    fair = sum(
        c.probability * (1.0 if _is_good(f) else HALF_READ) for c, f, _s in others if not _is_bad(f)
    )
    right = p_right(fair, bad, candidates, findings)
    unsure = (
        doubted or right * ACCUSE >= ASK or not all(f.sure for f in findings if f.status == "wrong")
    )
    if not unsure:
        return read, after
    if good:
        candidate, its, state_after = good[0]
        question = ask(first.text, candidate.text, habit.comma)
        left = state_after if doubted else after
        return ReadLine(line, first, findings, True, question, right), left
    left = _shaken(state if doubted else after, first, findings)
    right = min(right, NO_READING) if doubted else right
    question = _ask_about(findings)
    return ReadLine(line, first, findings, True, question, right, not good), left


def _shaken(state: State, read: Candidate, findings: tuple[Finding, ...]) -> State:
    """After a line that could not be read for certain, "= …" goes on from nothing, unless the
    quantity was named for certain."""
    if read.probability >= HALF and findings and findings[-1].named:
        return replace(state, before=None, before_hull=None)
    return replace(state, subject=(), before=None, before_hull=None)


def p_right(
    good: float, bad: float, candidates: Sequence[Candidate], findings: tuple[Finding, ...]
) -> float:
    """The probability that a line is right whose first reading is not (see the module)."""
    rest = max(0.0, 1.0 - sum(c.probability for c in candidates))
    explained = all(
        f.diagnosis is None or f.diagnosis.score >= CONFIDENT
        for f in findings
        if f.status == "wrong"
    )
    weight = (PRIOR if explained else PRIOR_UNEXPLAINED) * (good + RIGHT_UNLISTED * rest)
    return weight / (weight + bad)


def _is_good(findings: tuple[Finding, ...]) -> bool:
    return all(f.status in ("follows", "carried", "words") for f in findings)


def _is_bad(findings: tuple[Finding, ...]) -> bool:
    return any(f.status == "wrong" for f in findings)


def _says_as_much(findings: tuple[Finding, ...], others: tuple[Finding, ...]) -> bool:
    """A reading counts only if it is working too, not if it merely says nothing."""
    return sum(f.status != "words" for f in findings) >= min(
        1, sum(f.status != "words" for f in others)
    )


def ask(text: str, other: str, comma: bool) -> str:
    """The question that separates two readings: "Is this 16 or 10?"."""
    one, two = _number_texts(text, comma), _number_texts(other, comma)
    for tag, a, b, c, d in SequenceMatcher(None, one, two, autojunk=False).get_opcodes():
        if tag == "replace":
            return f"Is this {' '.join(one[a:b])} or {' '.join(two[c:d])}?"
    return f'Is this "{plain(text)}" or "{plain(other)}"?'


def _number_texts(text: str, comma: bool) -> list[str]:
    whole = prepared(text)
    return [
        whole[token.start : token.end] for token in lex(whole, comma)
        if isinstance(token.value, Number)
    ]  # fmt: skip


def _ask_about(findings: tuple[Finding, ...]) -> str:
    wrong = next(f for f in findings if f.status == "wrong")
    return f'Is this "{wrong.written}"?'
