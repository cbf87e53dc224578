"""The order of reasoning in which the lines of a page are read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from checker.matching.circuit import Circuit, Key
from checker.matching.doubts import is_hidden, may_be_misread, traced_back
from checker.matching.labels import Usage
from checker.matching.readings import ReadLine, choose
from checker.matching.slipped_lines import (
    NOWHERE,
    count_wrong,
    first_wrong,
    is_earlier,
    is_sure,
    is_used,
    is_weak,
    is_wrong_line,
    place_of_first,
    trust,
)
from checker.matching.state import State
from checker.matching.state import start as start_state
from checker.matching.values import Habit
from checker.matching.working import Working
from checker.notation.parse import prepared
from checker.problem.given import EQUIVALENT
from checker.rational import Fraction
from checker.reading.page import Line

_WIDEST = Fraction(1, 20)  # what values written further down may differ by between themselves
_MOST_DOUBTS = 6  # lines in doubt that are looked at one by one


@dataclass
class Reading:
    """Reads the lines in some order."""

    circuit: Circuit
    habit: Habit
    usage: Usage
    wanted: tuple[str, ...]
    lines: Sequence[Line]
    last: State | None = None  # what the latest reading left
    _starts: dict[tuple[bool, int], State] = field(default_factory=dict)
    _choices: dict[tuple[int, int, bool], tuple[ReadLine, State]] = field(default_factory=dict)
    _kept: list[State] = field(default_factory=list)  # so that no identity is used again

    def in_order(
        self,
        order: Sequence[int],
        strict: bool = False,
        doubted: frozenset[int] = frozenset(),
        known: State | None = None,
    ) -> dict[int, ReadLine]:
        """Read the lines in an order; nothing follows from wrong values on ``doubted`` lines.
        ``known``: a state whose right values are taken as written before."""
        state = self._start(strict, known)
        read: dict[int, ReadLine] = {}
        for place in order:
            line = self.lines[place]
            if line.role != "working" or not line.candidates:
                continue
            read[place], state = self._choose(place, state, place in doubted)
        self.last = state
        return read

    def _start(self, strict: bool, known: State | None) -> State:
        its = strict, id(known)
        if its not in self._starts:
            state = start_state(self.circuit, replace(self.usage, strict=strict))
            if known is not None:
                self._kept.append(known)
                narrow = {
                    key: value for key, value in known.working.written.items()
                    if value.high - value.low <= _WIDEST * value.high
                }  # fmt: skip
                working = Working(self.circuit, narrow)
                state = replace(state, working=working)
            self._starts[its] = state
        return self._starts[its]

    def _choose(self, place: int, state: State, doubted: bool) -> tuple[ReadLine, State]:
        """What ``choose`` says; orders that begin alike are read only once as far as that goes."""
        its = place, id(state), doubted
        if its not in self._choices:
            self._kept.append(state)
            self._choices[its] = choose(self.lines[place], state, self.habit, doubted)
        return self._choices[its]

    def best_order(self) -> dict[int, ReadLine]:
        """The order in which the fewest lines are wrong: first means first in reasoning, and an
        answer may stand above the line it came from."""
        order = list(range(len(self.lines)))
        read = self.in_order(order)
        if not any(map(is_wrong_line, read.values())) and not self._lacks_the_whole(read):
            return read
        # A value may have been rounded differently because it was worked out from one that is
        # written further down.
        known: State | None = self.last
        again = self.in_order(order, known=known)
        righted = [line for p, line in read.items() if is_wrong_line(line)
                   and not is_wrong_line(again[p])]  # fmt: skip
        if righted and count_wrong(again) < count_wrong(read) and not any(
            f.far for line in righted for f in line.findings
        ):  # fmt: skip
            read = again
        else:
            known = None
        strict = False
        stricter = self.in_order(order, strict=True)
        if place_of_first(stricter) < place_of_first(read) and (
            count_wrong(stricter) <= count_wrong(read) or self._lacks_the_whole(read)
        ):
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
            order, read = moved, again
        pages = list(dict.fromkeys(line.page for line in self.lines))
        if len(pages) > 1 and count_wrong(read) > 1:
            turned = sorted(range(len(self.lines)), key=lambda p: -pages.index(self.lines[p].page))
            again = self.in_order(turned, strict)
            if count_wrong(again) < count_wrong(read):
                order, read = turned, again
        if all(is_sure(line) for line in read.values()):
            return read
        return self._settled(order, strict, known)

    def _settled(self, order: list[int], strict: bool, known: State | None) -> dict[int, ReadLine]:
        """Decide on the lines in doubt.

        One whose wrong value explains later lines was read rightly.  Where nothing comes of a
        wrong value, a reader less than certain is asked; so is it where the slip may stand on an
        earlier line that could not be read.
        """

        def run(doubts: set[int]) -> dict[int, ReadLine]:
            return self.in_order(order, strict, frozenset(doubts), known)

        read = run(set())
        doubts = {place for place in order if place in read and read[place].unsure}
        trusted: set[int] = set()
        if doubts:
            read = run(doubts)
            for place in [p for p in order if p in doubts][:_MOST_DOUBTS]:
                with_it = run(doubts - {place})
                if count_wrong(with_it) < count_wrong(read):
                    doubts.discard(place)
                    trusted.add(place)
                    read = with_it
        for _attempt in range(_MOST_DOUBTS):
            read = {p: trust(line) if p in trusted else line for p, line in read.items()}
            first = place_of_first(read)
            if first == NOWHERE or first in trusted or is_sure(read[first]):
                break
            without = run(doubts | {first})
            without = {p: trust(line) if p in trusted else line for p, line in without.items()}
            alone = count_wrong(without) < count_wrong(read)
            if not (alone and may_be_misread(read, first)) and not is_hidden(read, first):
                break
            doubts.add(first)
            read = without
        return traced_back(read)

    def _lacks_the_whole(self, read: dict[int, ReadLine]) -> bool:
        """Whether a page walks back without the whole capacitance, though it gives a value with
        the label of the whole ("C_eq"), which then was taken for that of a group."""
        found = [f for line in read.values() for f in line.findings if f.keys]
        whole = Key("C", self.circuit.total)
        return (
            EQUIVALENT in self.wanted
            and any(f.whole_label and f.keys[0].kind == "C" and whole not in f.keys for f in found)
            and (
                any(f.keys[0].kind != "C" for f in found)
                or any(f.whole_label and set(f.keys) & set(found[-1].keys) for f in found)
            )
            and not any(whole in f.keys and f.status != "words" for f in found)
        )

    def _block(self, place: int) -> list[int]:
        """A line and the lines that go on from it with "= …"."""
        block = [place]
        while block[-1] + 1 < len(self.lines):
            text = prepared(self.lines[block[-1] + 1].candidates[0].text).lstrip()
            if not text.startswith(("=", "≈")):
                break
            block.append(block[-1] + 1)
        return block
