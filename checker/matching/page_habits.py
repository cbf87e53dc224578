"""The habits of a page: its decimal sign, the units it leaves out, what its letters stand for."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from fractions import Fraction

from checker.markup import fold
from checker.matching.circuit import Circuit, Kind
from checker.matching.habit import Habit, habit_of
from checker.matching.labels import Usage
from checker.notation.parse import parse
from checker.notation.tree import Chain, Measured, Number, Symbol, symbols
from checker.reading.page import Line

_DECIMAL_COMMA = re.compile(r"\d,\d{1,2}(?!\d)|\d,\d{4,}|\b0,\d")
_THREE_DIGITS = re.compile(r"[1-9]\d{0,2},\d{3}(?!\d)")
_HEAD = re.compile(r"(?<![\w])([UuE]) ?[(\[/] ?[pnµumkM]?([VJ])\b")  # of a table: "U (V)"
_POINT = re.compile(r"\d\.\d")


def commas(lines: Sequence[Line]) -> tuple[bool, ...]:
    """Whether a comma is a decimal comma here, likeliest first; both, where that is open."""
    texts = [fold(line.candidates[0].text) for line in lines if line.role == "working"]
    points = sum(len(_POINT.findall(text)) for text in texts)
    if points:  # then "400,1/C" is two statements
        decimals = sum(len(_DECIMAL_COMMA.findall(text)) for text in texts)
        # A comma among many points is one of them misread.
        return (False, True) if 3 * decimals > points else (False,)
    if any(_DECIMAL_COMMA.search(text) for text in texts):
        return (True,)
    return (True, False) if any(_THREE_DIGITS.search(text) for text in texts) else (True,)


def page_habit(circuit: Circuit, lines: Sequence[Line], comma: bool) -> tuple[Habit, Usage]:
    """The units that a page leaves out, and what its letters stand for."""
    texts = [line.candidates[0].text for line in lines if line.role == "working"]
    chains = [s for text in texts for s in parse(text, comma) if isinstance(s, Chain)]
    expressions = [s.expression for c in chains for s in c.sides if s.expression is not None]
    return habit_of(circuit, expressions, comma), Usage(
        letters=_letters(chains, texts, circuit.supply)
    )


def _letters(
    chains: Sequence[Chain], texts: Sequence[str], supply: Fraction | None
) -> tuple[tuple[str, Kind], ...]:
    """What U and E stand for on this page: by the units written, else U is the energy where there
    is also V."""
    votes: Counter[tuple[str, str]] = Counter()
    used: set[str] = set()
    heads: set[str] = set()  # letters that something is said about
    for chain in chains:
        its = [s.expression for s in chain.sides if s.expression is not None]
        used |= {symbol.letter for expression in its for symbol in symbols(expression)}
        units = [e.unit.dimension for e in its if isinstance(e, Measured)]
        if len(its) == 2 and isinstance(its[1], Number) and its[1].value == supply:
            units = ["voltage"]
        if its and isinstance(its[0], Symbol):
            heads.add(its[0].letter)
        if its and isinstance(its[0], Symbol) and units:
            votes[its[0].letter, units[-1]] += 1
    for head in (head for text in texts for head in _HEAD.finditer(text)):
        votes[head[1], "voltage" if head[2] == "V" else "energy"] += 3
    found: list[tuple[str, Kind]] = []
    for letter in ("U", "u", "E"):
        voltage, energy = votes[letter, "voltage"], votes[letter, "energy"]
        if voltage != energy:
            found.append((letter, "V" if voltage > energy else "U"))
        elif letter != "E" and letter in used and heads & {"V", "v"}:
            found.append((letter, "U"))
        elif letter != "E" and letter in used and heads & {"E", "W"}:
            found.append((letter, "V"))
    return tuple(found)
