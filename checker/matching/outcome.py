"""The outcome of a page: all follows, a slip, or a question."""

from __future__ import annotations

from checker.matching.judgement import JudgedStatement, Outcome
from checker.matching.readings import ReadLine


def outcome_of(slip: bool, statements: list[JudgedStatement], read: dict[int, ReadLine]) -> Outcome:
    if slip:
        return "slip found"
    working = [s for s in statements if s.verdict != "not working"]
    if not working:
        return "nothing read"
    right = {s.quantity for s in statements if s.verdict == "follows" and s.quantity}
    if not right or any(line.matters for line in read.values()):
        return "needs a look"
    return "all follows"


def matters(line: ReadLine, read: dict[int, ReadLine]) -> bool:
    """Whether a person should look at a line without a verdict: no other line gives its value
    rightly."""
    if not line.unsure:
        return False
    right = {
        key for other in read.values() for f in other.findings
        if f.status == "follows" and f.result for key in f.keys
    }  # fmt: skip
    last = line.findings[-1] if line.findings else None
    if last is not None and last.status == "follows" and last.result:
        return False
    wrong = [f for f in line.findings if f.status == "wrong"]
    return not all(set(f.keys) & right for f in wrong)
