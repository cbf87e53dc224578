"""How likely a line says something that follows, though no reading of it that is listed does."""

from __future__ import annotations

from collections.abc import Sequence
from math import log

from checker.matching import rule
from checker.matching.finding import Finding
from checker.notation.parse import prepared
from checker.reading.page import Candidate


def unlisted_follows(plain: float, likeliest: Candidate, findings: Sequence[Finding]) -> float:
    """As that of any line where what is listed follows (a share of ``plain``), less as more of it
    does not.  ``findings``: those of the likeliest reading."""
    end = next((finding.end for finding in findings if finding.status == "wrong"), None)
    otherwise = (
        rule.UNREAD_IF_PERHAPS_WRONG
        if end is None
        else rule.UNREAD_IF_WRONG * _doubt_before(likeliest, end)
    )
    return rule.UNREAD * plain + otherwise * (1 - plain)


def _doubt_before(reading: Candidate, end: int) -> float:
    """Which share of the doubt about a reading is about what stands before ``end``, where
    something is wrong: a misread character after it does not put it right.  In a line in doubt
    throughout, all of it."""
    text = prepared(reading.text)
    if reading.probability < 0.5 or "".join(token.text for token in reading.tokens) != text:
        return 1.0
    inside = total = at = 0.0
    for token in reading.tokens:
        doubt = -log(max(token.probability, rule.NEVER))
        total += doubt
        inside += doubt if at < end else 0.0
        at += len(token.text)
    return max(rule.LEAST_DOUBT, inside / total) if total else 1.0
