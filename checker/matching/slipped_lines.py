"""Which of the lines that were read are wrong, which comes first, and what hangs on it."""

from __future__ import annotations

import re
from dataclasses import replace

from checker.matching.circuit import KINDS
from checker.matching.finding import Finding
from checker.matching.readings import ReadLine

NOWHERE = 10**9  # the place of a wrong line where there is none


def is_wrong_line(read: ReadLine) -> bool:
    """Whether a verdict of "wrong" rests on the line."""
    return not read.unsure and any(f.status == "wrong" for f in read.findings)


def is_doubtful(read: ReadLine) -> bool:
    """Whether rounding alone may give what is wrong in a line."""
    wrong = [finding for finding in read.findings if finding.status == "wrong"]
    return bool(wrong) and all(finding.doubtful for finding in wrong)


def count_wrong(read: dict[int, ReadLine]) -> int:
    """How many lines are wrong."""
    return sum(map(is_wrong_line, read.values()))


def place_of_first(read: dict[int, ReadLine]) -> int:
    """The place of the first wrong line in the order of reading, else ``NOWHERE``."""
    return next((place for place, line in read.items() if is_wrong_line(line)), NOWHERE)


def moved_up(before: ReadLine, line: ReadLine) -> tuple[ReadLine, ReadLine]:
    """A wrong formula that the line before ended with, found wrong as the line went on with
    "= …", is a slip of the line before."""
    if not line.findings or not before.findings or line.unsure or before.unsure:
        return before, line
    wrong, last = line.findings[0], before.findings[-1]
    if not wrong.above or wrong.status != "wrong" or last.status != "words":
        return before, line
    there = replace(wrong, start=last.start, end=last.end, text=last.text, above=False)
    return (
        replace(before, findings=(*before.findings[:-1], there)),
        replace(line, findings=line.findings[1:]),
    )


def first_wrong(read: dict[int, ReadLine]) -> Finding | None:
    """The first wrong finding in reading order."""
    found = (f for line in read.values() if is_wrong_line(line) for f in line.findings)
    return next((f for f in found if f.status == "wrong"), None)


def is_weak(finding: Finding | None) -> bool:
    """Wrong without any kind of slip that explains it."""
    return finding is not None and finding.diagnosis is not None and (
        finding.diagnosis.kinds[0] in ("unexplained", "answer-unsupported")
    )  # fmt: skip


def is_used(wrong: Finding | None, read: dict[int, ReadLine]) -> bool:
    """Whether a wrong value is written among the numbers of a line about something else."""
    digits = numbers_in(wrong.written) if wrong is not None else []
    return wrong is not None and any(
        digits and digits[0] in numbers_in(f.text) and not set(f.keys) & set(wrong.keys)
        for line in read.values()
        for f in line.findings
        if not f.result
    )


def numbers_in(text: str) -> list[str]:
    """The numbers in a plain text as they stand there."""
    return re.findall(r"\d[\d.,]*", text)


def is_earlier(one: Finding | None, other: Finding | None) -> bool:
    """Whether a slip comes before another in reasoning: capacitances before charges before
    voltages before energies, and a group before the larger one it is part of."""
    if one is None or other is None or not one.keys or not other.keys:
        return False
    a, b = one.keys[0], other.keys[0]
    if a.kind != b.kind:
        return KINDS.index(a.kind) < KINDS.index(b.kind)
    return a.kind == "C" and a.group != b.group and a.group & b.group == a.group
