"""Wrong values that the student put right later."""

from __future__ import annotations

import re
from dataclasses import replace

from checker.matching.finding import Finding
from checker.matching.readings import ReadLine
from checker.notation.tree import Number

# The right unit further down does not put these right.
_OF_UNITS = ("unit-kind", "prefix", "power-of-ten")
PUT_RIGHT = "put right later"
_OPENING = re.compile(r"^(?:[a-z]{2,} )+")  # "so", "now"
_SUM = re.compile(r"[A-Za-z]\S* *\+ *[A-Za-z]")
_EQUALS = re.compile("[=≈]")


def undo_put_right(read: dict[int, ReadLine]) -> dict[int, ReadLine]:
    """Wrong values that the student replaced by right ones further down, nothing wrong after."""
    flat, found = _down_the_page(read)
    for at, spot in enumerate(flat):
        wrong = found[spot]
        if wrong.status != "wrong" or read[spot[0]].unsure:
            continue
        again = next((n for n in range(at + 1, len(flat)) if _restates(flat, found, at, n)), None)
        if again is None:
            continue
        if any(found[s].status in ("carried", "wrong") for s in flat[again:]):
            continue
        for s in flat[at:again]:
            found[s] = _put_right(found[s])
    return {
        place: replace(
            line, findings=tuple(found[place, n] for n in range(len(line.findings)))
        )
        for place, line in read.items()
    }  # fmt: skip


def restated(read: dict[int, ReadLine]) -> list[int]:
    """The places of lines with a value whose label has another one further down and that may have
    been put right there: wrong ones and, where that other one seems wrong, those which happen to be
    right for something else that the student's own label might stand for."""
    flat, found = _down_the_page(read)
    return [
        spot[0] for at, spot in enumerate(flat)
        if found[spot].result and not read[spot[0]].unsure and (label := _label(flat, found, at))
        and any(
            (found[spot].status == "wrong" or _is_rival(found[spot], found[flat[later]]))
            and found[flat[later]].result
            and found[flat[later]].number != _number_in(flat, found, at)
            and label == _label(flat, found, later)
            for later in range(at + 1, len(flat)) if flat[later][0] > spot[0]
        )
    ]  # fmt: skip


def _is_rival(right: Finding, wrong: Finding) -> bool:
    """Whether two plain values of one label of the student's own contradict each other."""
    return (right.status, wrong.status) == ("follows", "wrong") and all(
        one.own_label and one.start == one.chain for one in (right, wrong)
    )


def put_right(line: ReadLine) -> ReadLine:
    """The line with what is wrong in it and what comes from that, or else its values, as put right
    further down."""
    its = line.findings
    if not any(finding.status == "wrong" for finding in its):
        its = tuple(replace(f, status="wrong") if f.result and f.own_label else f for f in its)
    return replace(line, findings=tuple(map(_put_right, its)))


def _put_right(finding: Finding) -> Finding:
    if finding.status not in ("carried", "wrong"):
        return finding
    return replace(finding, status="words", remark=PUT_RIGHT)


def _down_the_page(
    read: dict[int, ReadLine],
) -> tuple[list[tuple[int, int]], dict[tuple[int, int], Finding]]:
    """The (line, number) of every finding as they stand on the page, and what is found there."""
    flat = [(place, at) for place in sorted(read) for at in range(len(read[place].findings))]
    return flat, {spot: read[spot[0]].findings[spot[1]] for spot in flat}


def _restates(
    flat: list[tuple[int, int]], found: dict[tuple[int, int], Finding], at: int, later: int
) -> bool:
    """Whether a later statement gives a value for what the wrong one is about, rightly."""
    wrong, right = found[flat[at]], found[flat[later]]
    same_chain = _goes_straight_on(flat, found, at, later)
    number = _number_in(flat, found, at)
    left_out = right.unitless and not wrong.unitless  # repeats the number without its unit
    return (
        right.status == "follows" and right.result and not same_chain and not left_out
        and not wrong.inverse and not _is_of_units(wrong, number, right.number)
        and (
            (
                right.keys[0] in wrong.keys and _is_labelled_alike(wrong, right)
                and not (_label(flat, found, at) and _is_of_sum(flat, found, later))
            )
            or (
                not right.whole_label  # which then is that of a group
                and _label(flat, found, at) == _label(flat, found, later) != ""
            )
            or _goes_on_from(wrong, right, found[flat[later - 1]])
        )
        and (right.number is None or right.number != number)
        and not _is_the_same(wrong, right)
    )  # fmt: skip


def _is_the_same(wrong: Finding, right: Finding) -> bool:
    """Whether a fraction is only said again: {406}/{26}, then {203}/{13} V."""
    return right.number is None and right.value is not None and right.value == wrong.value


def _goes_straight_on(
    flat: list[tuple[int, int]], found: dict[tuple[int, int], Finding], at: int, later: int
) -> bool:
    """Whether all after a statement, down to a later one, only goes on from it with "= …"."""
    on = (found[spot] for spot in flat[at + 1 : later + 1])
    return all(finding.text.startswith(("=", "≈")) for finding in on)


def _is_labelled_alike(wrong: Finding, right: Finding) -> bool:
    """Whether two statements about one quantity mean it: V_A = 44 V, after V1 = 56 V, is rather
    the voltage of another group, and so is Q3 = 1 µC after Q = 12 µC."""
    if wrong.own_label or right.own_label:
        return wrong.own_label == right.own_label
    return not (wrong.whole_label and right.named) and not (right.whole_label and wrong.named)


def _is_of_units(wrong: Finding, number: Number | None, again: Number | None) -> bool:
    """Whether a slip is one of units or powers of ten only, with the same digits ``again``."""
    if wrong.diagnosis is None or wrong.diagnosis.kinds[0] not in _OF_UNITS:
        return False
    if number is None or again is None:
        return True
    # One of the two may be rounded further.
    one, other = number.figures.rstrip("0"), again.figures.rstrip("0")
    return one.startswith(other) or other.startswith(one)


def _goes_on_from(wrong: Finding, right: Finding, before: Finding) -> bool:
    """Whether a result stands at the head of a line that goes on from one about what the wrong
    statement is about, as "= 22 = Q2" does."""
    return right.start == right.chain and right.text.startswith(("=", "≈")) and (
        before.status == "follows" and before.keys[:1] == wrong.keys[:1] != ()
        and _is_labelled_alike(wrong, before)
    )  # fmt: skip


def _is_of_sum(flat: list[tuple[int, int]], found: dict[tuple[int, int], Finding], at: int) -> bool:
    """Whether a result is that of a sum of symbols, as where Q2 + Q3 = 33 µC checks another."""
    place, chain = flat[at][0], found[flat[at]].chain
    head = next(found[s].text for s in flat if s[0] == place and found[s].chain == chain)
    return _SUM.search(head.partition("=")[0]) is not None


def _number_in(
    flat: list[tuple[int, int]], found: dict[tuple[int, int], Finding], at: int
) -> Number | None:
    """The number that a wrong statement comes to, perhaps further on in its chain."""
    place, chain = flat[at][0], found[flat[at]].chain
    its = [found[s] for s in flat[at:] if s[0] == place and found[s].chain == chain]
    return next((f.number for f in its if f.number is not None), None)


def _label(flat: list[tuple[int, int]], found: dict[tuple[int, int], Finding], at: int) -> str:
    """The student's own label over a result: that of its chain, or of the one it goes on from."""
    for spot in reversed(flat[: at + 1]):
        label, *value = _EQUALS.split(found[spot].text, maxsplit=1)
        if value and label.strip():
            return _OPENING.sub("", label).strip()
        if not value or found[spot].status == "words":
            return ""
    return ""
