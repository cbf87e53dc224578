"""Lines that were judged before from the same state: ways to read a page that begin alike, and
orders of its lines that do, are judged only once as far as that goes."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from checker.exact import Fraction
from checker.matching.circuit import Circuit
from checker.matching.finding import Finding
from checker.matching.habit import Habit
from checker.matching.labels import Usage
from checker.matching.readings import goes_on
from checker.matching.state import State, start
from checker.matching.steps import read_line
from checker.matching.unread_values import with_results
from checker.matching.working import Working
from checker.reading.page import Candidate

_WIDEST = Fraction(1, 4)  # what values written further down may differ by between themselves
UNREAD = "<unread>"
_ILLEGIBLE = "?"  # nothing follows from it, and nothing goes on from it
_NOTHING = "so"  # what comes next goes on from the line before
Judged = tuple[tuple[Finding, ...], State]


@dataclass
class Memory:
    """Judges lines of one page with one habit."""

    circuit: Circuit
    habit: Habit
    usage: Usage
    _starts: dict[tuple[bool, int], State] = field(default_factory=dict)
    _judged: dict[tuple[str, int, bool], Judged] = field(default_factory=dict)
    _kept: list[State] = field(default_factory=list)  # so that no identity is used again
    _workings: dict[object, Working] = field(default_factory=dict)
    _states: dict[object, State] = field(default_factory=dict)

    def start(self, strict: bool = False, known: State | None = None) -> State:
        """The state before any line; ``known``: its right values are taken as written before."""
        its = strict, id(known)
        if its not in self._starts:
            state = start(self.circuit, replace(self.usage, strict=strict))
            if known is not None:
                self._kept.append(known)
                narrow = {
                    key: value for key, value in known.working.written.items()
                    if value.high - value.low <= _WIDEST * value.high
                    and key not in known.working.wrong
                }  # fmt: skip
                working = Working(self.circuit, narrow, ahead=frozenset(narrow))
                state = replace(state, working=working)
            self._starts[its] = state
        return self._starts[its]

    def read(self, text: str, state: State, explain: bool) -> Judged:
        """As ``read_line``; a text after ``UNREAD`` only stands for a line that says something
        else."""
        if text.startswith(UNREAD):
            return self._unread(text.removeprefix(UNREAD), state, explain)
        its = text, id(state), explain
        plain = self._judged.get((text, id(state), False)) if explain else None
        if plain is not None and not any(finding.status == "wrong" for finding in plain[0]):
            return plain  # there is nothing to explain
        if its not in self._judged:
            self._kept.append(state)
            findings, after = read_line(text, state, self.habit, explain)
            self._judged[its] = findings, self._same(after)
        return self._judged[its]

    def _unread(self, text: str, state: State, explain: bool) -> Judged:
        on = goes_on(Candidate(text, 0.0))
        findings, _after = self.read(_NOTHING if on else _ILLEGIBLE, state, explain)
        said, _after = self.read(text, state, explain=False)
        after = state if on else self.unnamed(state)
        return findings, self._same(replace(after, working=with_results(said, after.working)))

    def unnamed(self, state: State) -> State:
        """The state with nothing that "= …" could go on from."""
        its = "", id(state), False
        if its not in self._judged:
            self._kept.append(state)
            self._judged[its] = (
                (),
                self._same(
                    replace(
                        state, subject=(), before=None, before_hull=None, pending=None, label=None
                    )
                ),
            )
        return self._judged[its][1]

    def _same(self, state: State) -> State:
        """The state itself or one with the same content that was met before, so that what
        follows from it is judged once."""
        working = state.working
        its: object = (
            frozenset(working.written.items()), tuple(working.wrong.items()), working.known,
            frozenset(working.stated.items()), working.ahead,
        )  # fmt: skip
        working = self._workings.setdefault(its, working)
        if working is not state.working:
            state = replace(state, working=working)
        content = (
            id(working), frozenset(state.bound.items()), state.subject, state.before,
            state.before_status, state.before_hull, state.earlier, state.pending, state.table,
            state.usage, state.aliases, state.label, state.cuts_off,
        )  # fmt: skip
        return self._states.setdefault(content, state)
