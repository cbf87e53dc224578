"""The order of reasoning in which the lines of a page are read."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from checker.exact import rational
from checker.matching.circuit import Key
from checker.matching.finding import CONFIDENT, Finding, decisive
from checker.matching.memory import Memory
from checker.matching.put_right import undo_put_right
from checker.matching.readings import ReadLine, ask_whether, goes_on
from checker.matching.slipped_lines import (
    NOWHERE,
    count_wrong,
    first_wrong,
    is_earlier,
    is_used,
    is_weak,
    is_wrong_line,
    moved_up,
    numbers_in,
    place_of_first,
)
from checker.matching.state import State
from checker.problem.given import EQUIVALENT
from checker.reading.page import Line

_PLAIN = re.compile(r"\d+(?:\.\d+)?")


@dataclass
class Reading:
    """Reads the lines in some order, each as its first candidate says."""

    memory: Memory
    wanted: tuple[str, ...]
    lines: Sequence[Line]
    last: State | None = None  # what the latest reading left

    def in_order(
        self, order: Sequence[int], strict: bool = False, known: State | None = None
    ) -> dict[int, ReadLine]:
        """Read the lines in an order.  ``known``: a state whose right values are taken as written
        before."""
        state = self.memory.start(strict, known)
        read: dict[int, ReadLine] = {}
        for place in order:
            line = self.lines[place]
            if not _is_working(line):
                continue
            read[place], state = self._line(line, state)
            before = next(reversed(list(read)[:-1]), None)
            if before is not None:
                read[before], read[place] = moved_up(read[before], read[place])
        self.last = state
        return read

    def _line(self, line: Line, state: State) -> tuple[ReadLine, State]:
        text = line.candidates[0].text
        findings, after = self.memory.read(text, state, explain=True)
        wrong = decisive(findings)
        if not wrong or wrong[0].sure:  # the first decides
            return ReadLine(line, line.candidates[0], findings), after
        question = ask_whether(findings, text)
        after = self.memory.unnamed(after)
        return ReadLine(line, line.candidates[0], findings, True, question), after

    def best_order(self) -> dict[int, ReadLine]:
        """The order in which the fewest lines are wrong: first means first in reasoning, and an
        answer may stand above the line it came from."""
        order = list(range(len(self.lines)))
        read = self.in_order(order)
        if not count_wrong(undo_put_right(read)) and not self._lacks_the_whole(read):
            return read
        # A value may have been rounded differently because it was worked out from one that is
        # written further down.
        known: State | None = self.last
        wrong = [place for place, line in read.items() if is_wrong_line(line)]
        again = self.in_order(self._as_far_as(wrong), known=known)
        righted = [read[place] for place in wrong if not is_wrong_line(again[place])]
        if righted:
            again = self.in_order(order, known=known)
        if righted and count_wrong(again):  # what stood below a wrong value may now be right
            further = self.in_order(order, known=self.last)
            again = further if count_wrong(further) < count_wrong(again) else again
        left = count_wrong(again)
        if (
            righted
            and left < count_wrong(read)
            and not any(
                _is_misquoted(f)
                or self._is_given(f)
                or (f.far and left)
                or not self._may_come_from_below(f, place, read)
                for place in wrong
                if not is_wrong_line(again[place])
                for f in read[place].findings
            )
        ):
            read = again
        else:
            known = None
        strict = False
        first = place_of_first(read)
        if place_of_first(self.in_order(self._as_far_as([first]), strict=True)) < first:
            stricter = self.in_order(order, strict=True)
            if count_wrong(stricter) <= count_wrong(read) or self._lacks_the_whole(read):
                read, strict = stricter, True
        if not any(map(is_wrong_line, read.values())):
            return read
        for _attempt in range(3):
            if (first := place_of_first(read)) == NOWHERE:
                break
            block = self._block(first)
            moved = [place for place in order if place not in block] + block
            again = self.in_order(moved, strict)
            if not is_earlier(first_wrong(again), first_wrong(read)):
                break
            if count_wrong(again) > count_wrong(read):
                break
            if is_used(first_wrong(read), read):
                break
            if count_wrong(again) == count_wrong(read) and not is_weak(first_wrong(read)):
                break
            if _copies_wrongly(first_wrong(read)):
                break
            if _is_copied_before(first_wrong(again), first_wrong(read)):
                break
            if is_weak(first_wrong(again)) and (
                not is_weak(first_wrong(read)) or count_wrong(again) == count_wrong(read)
            ):  # fmt: skip
                break
            if _names_the_same(first_wrong(again), first_wrong(read)):
                break
            if _has_label_of(first_wrong(again), first_wrong(read)):
                break
            if _speaks_of(read.get(place_of_first(again)), first_wrong(read)):
                break
            if _is_unsupported(first_wrong(again)) and count_wrong(again) == count_wrong(read):
                break
            order, read = moved, again
        pages = list(dict.fromkeys(line.page for line in self.lines))
        if len(pages) > 1 and count_wrong(read) > 1:
            turned = sorted(range(len(self.lines)), key=lambda p: -pages.index(self.lines[p].page))
            again = self.in_order(turned, strict)
            if count_wrong(again) < count_wrong(read):
                order, read = turned, again
        return read

    def _as_far_as(self, wanted: Sequence[int]) -> list[int]:
        """The lines down to the last of the ``wanted`` ones and the one after, which may move a
        slip up into it."""
        working = [place for place, line in enumerate(self.lines) if _is_working(line)]
        last = max(wanted, default=-1)
        return [p for at, p in enumerate(working) if at == 0 or working[at - 1] <= last]

    def _may_come_from_below(self, finding: Finding, place: int, read: dict[int, ReadLine]) -> bool:
        """Whether a wrong working has a number that is not given and stands further down."""
        if finding.status != "wrong" or finding.number is not None or finding.formula:
            return True
        below = {
            number for other, line in read.items() if other > place
            for f in line.findings for number in numbers_in(f.text)
        }  # fmt: skip
        givens = self.memory.habit.givens
        return any(
            number in below and not (_PLAIN.fullmatch(number) and rational(number) in givens)
            for number in numbers_in(finding.text)
        )

    def _is_given(self, finding: Finding) -> bool:
        """Whether a wrong value is one that the problem gives."""
        return finding.status == "wrong" and finding.result and any(
            map(self.memory.circuit.is_given, finding.keys[:1])
        )  # fmt: skip

    def _lacks_the_whole(self, read: dict[int, ReadLine]) -> bool:
        """Whether a page walks back without the whole capacitance, though it gives a value with
        the label of the whole ("C_eq"), which then was taken for that of a group."""
        found = [f for line in read.values() for f in line.findings if f.keys]
        whole = Key("C", self.memory.circuit.total)
        return (
            EQUIVALENT in self.wanted
            and any(f.whole_label and f.keys[0].kind == "C" and whole not in f.keys for f in found)
            and (
                any(f.keys[0].kind != "C" for f in found)
                or any(f.whole_label and set(f.keys) & set(found[-1].keys) for f in found)
            )
            and not any(whole in f.keys and f.status != "words" and f.result for f in found)
        )

    def _block(self, place: int) -> list[int]:
        """A line with those that go on from it with "= …", and those that it goes on from."""
        block = [place]
        while block[0] > 0 and self._goes_on(block[0]):
            block.insert(0, block[0] - 1)
        while block[-1] + 1 < len(self.lines) and self._goes_on(block[-1] + 1):
            block.append(block[-1] + 1)
        return block

    def _goes_on(self, place: int) -> bool:
        candidates = self.lines[place].candidates
        return bool(candidates) and goes_on(candidates[0])


def _is_working(line: Line) -> bool:
    """Whether a line has anything to be judged."""
    return line.role == "working" and bool(line.candidates)


def _names_the_same(one: Finding | None, other: Finding | None) -> bool:
    """Whether two slips are about the same elements, which may not be combined."""
    return one is not None and other is not None and (
        one.misfit is not None and one.misfit == other.misfit
    )  # fmt: skip


def _label(finding: Finding) -> str:
    """What a statement says that something is worth, as it stands there."""
    return finding.text.partition("=")[0].strip()


def _speaks_of(line: ReadLine | None, wrong: Finding | None) -> bool:
    """Whether a line names what an earlier wrong value is about, as where it comes from it."""
    if line is None or wrong is None or wrong.start != wrong.chain:
        return False
    label = _label(wrong)
    return len(label) > 1 and any(label in f.text.partition("=")[2] for f in line.findings)


def _has_label_of(later: Finding | None, first: Finding | None) -> bool:
    """Whether a wrong value only goes on from a wrong formula with the same label of the student's
    own, which says itself what that stands for."""
    if later is None or first is None or not later.own_label or first.number is not None:
        return False
    return bool(_label(later)) and _label(later) == _label(first)


def _is_unsupported(wrong: Finding | None) -> bool:
    """Whether a slip may be a value that nothing leads to, no better known than an earlier one."""
    return wrong is not None and wrong.diagnosis is not None and (
        "answer-unsupported" in wrong.diagnosis.kinds
    )  # fmt: skip


def _is_misquoted(finding: Finding) -> bool:
    """Whether a formula has a number copied wrongly or that of something else, which no rounding
    further down makes right."""
    explained = finding.diagnosis is not None and finding.diagnosis.score >= CONFIDENT
    return finding.far and finding.number is None and explained and not is_weak(finding)


def _is_copied_before(later: Finding | None, first: Finding | None) -> bool:
    """Whether a given value that is written wrongly further down, in a table of results, was worked
    with in the line that is wrong first."""
    if later is None or first is None or not _copies_wrongly(later):
        return False
    written = numbers_in(later.written)
    return bool(written) and written[0] in numbers_in(first.text)


def _copies_wrongly(wrong: Finding | None) -> bool:
    """Whether a slip is one of copying a number, which stands where it was made."""
    return wrong is not None and wrong.diagnosis is not None and (
        wrong.diagnosis.kinds[0] in ("given-miscopied", "digits-swapped")
    )  # fmt: skip
