"""Whether the first wrong line of a page that is read surely may be right after all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from checker.matching.decision import Read, doubtful_unsure
from checker.matching.finding import Finding, says_unclear
from checker.matching.likelihoods import has_rule
from checker.matching.readings import ask_how
from checker.matching.rule import EASILY_MATCHED
from checker.matching.slipped_lines import is_doubtful, place_of_first


def ask_about_first(read: Read) -> Read:
    """The lines judged with a question instead of the first slip, where that is in doubt, and no
    later one, which may come of it."""
    first = place_of_first(read)
    line = read.get(first)
    reasons = (_comes_after_unclear, _has_right_result, _is_right_elsewhere)
    if line is None or not (is_doubtful(line) or any(why(read, first) for why in reasons)):
        return read
    asked = replace(line, unsure=True, question=ask_how(line.findings), matters=True)
    return {**doubtful_unsure(read), first: asked}


def _comes_after_unclear(read: Read, first: int) -> bool:
    """Whether a slip with no rule behind it comes next to a line that was not understood."""
    before = [line for place, line in sorted(read.items()) if place < first and line.findings][-1:]
    unclear = any(says_unclear(line.findings) for line in before)
    return unclear and not _has_rule(read[first].findings)


def _has_right_result(read: Read, first: int) -> bool:
    """Whether what was worked out with no rule behind it has the right result, there or next, and
    is near it: numbers that nothing explains, or labels that may have been taken for the wrong
    groups."""
    findings = read[first].findings
    wrong = next(n for n, finding in enumerate(findings) if finding.status == "wrong")
    working = findings[wrong]
    if working.number is not None or working.diagnosis is None or _has_rule(findings):
        return False
    kind = working.diagnosis.kinds[0]
    if working.formula:
        may_be_right = kind in EASILY_MATCHED
    else:
        may_be_right = kind == "unexplained" and not working.far
    later = [line.findings for place, line in sorted(read.items()) if place > first][:1]
    results = (f for each in (findings[wrong + 1 :], *later) for f in each if f.number is not None)
    result = next(results, None)
    return may_be_right and result is not None and (
        result.status == "follows" and result.keys[:1] == working.keys[:1]
    )  # fmt: skip


def _is_right_elsewhere(read: Read, first: int) -> bool:
    """Whether another line says the same about the same quantity and follows."""
    right = {
        (f.text, f.keys[:1]) for place, line in read.items() if place != first
        for f in line.findings if f.status == "follows"
    }  # fmt: skip
    wrong = (f for f in read[first].findings if f.status == "wrong")
    return any((f.text, f.keys[:1]) in right for f in wrong)


def _has_rule(findings: Sequence[Finding]) -> bool:
    return any(has_rule(finding) for finding in findings if finding.status == "wrong")
