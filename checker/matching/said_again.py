"""Wrong statements that only go on from an earlier slip."""

from __future__ import annotations

import re

from checker.matching.finding import Finding
from checker.matching.readings import ReadLine
from checker.matching.slipped_lines import is_weak
from checker.matching.slips import SLIPS

_OF_WRITING = ("given-miscopied", "digits-swapped", "prefix", "prefixes-mixed", "unit-kind")
_NUMBER = re.compile(r"\d[\d.,]*\d")


def find_said_again(read: dict[int, ReadLine]) -> set[tuple[int, int]]:
    """Wrong findings that need not be slips of their own: they go on from an earlier slip, are
    about the same quantity, use its value or apply the same wrong rule once more."""
    again: set[tuple[int, int]] = set()
    before: list[tuple[int, Finding]] = []
    for place, line in read.items():
        for number, finding in enumerate(line.findings):
            if finding.status == "wrong" and not line.unsure and not finding.guessed:
                if any(_is_same(finding, f, place == p) for p, f in before):
                    again.add((place, number))
                before.append((place, finding))
    return again


def _is_same(later: Finding, earlier: Finding, same_line: bool) -> bool:
    if same_line and later.chain == earlier.chain:
        return True
    if earlier.diagnosis is None or later.diagnosis is None:
        return False
    if set(later.keys) & set(earlier.keys):
        return True
    used = set(_NUMBER.findall(earlier.written)) & set(_NUMBER.findall(later.text))
    if is_weak(later) and any(len(digits) > 2 for digits in used):
        return True
    shared = set(_NUMBER.findall(earlier.text)) & set(_NUMBER.findall(later.text))
    if shared and earlier.diagnosis.kinds[0] == later.diagnosis.kinds[0] in _OF_WRITING:
        return True
    rule = earlier.diagnosis.kinds[0]
    return rule in later.diagnosis.kinds and SLIPS[rule].predict is not None
