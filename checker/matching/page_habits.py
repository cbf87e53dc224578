"""The habits of a page: its decimal sign, the units it leaves out, what its letters stand for."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import accumulate

from checker.exact import Fraction
from checker.markup import fold
from checker.matching.circuit import Circuit, Kind
from checker.matching.forms import is_numeric, is_structure
from checker.matching.habit import Habit, habit_of
from checker.matching.labels import Usage
from checker.matching.rule import SURE
from checker.notation.lexer import Comma
from checker.notation.parse import parse
from checker.notation.tree import (
    Chain,
    Expression,
    Measured,
    Number,
    Power,
    Product,
    Quotient,
    Symbol,
    parts,
    symbols,
)
from checker.reading.page import Candidate, Line

_DECIMAL_COMMA = re.compile(r"\d,\d{1,2}(?!\d)|\d,\d{4,}|\b0,\d")
_THREE_DIGITS = re.compile(r"[1-9]\d{0,2},\d{3}(?!\d)")
_HEAD = re.compile(r"(?<![\w])([UuE]) ?[(\[/] ?[pnµumkM]?([VJ])\b")  # of a table: "U (V)"
_CONTINUED = re.compile(r"\s*=")  # a line that goes on from the one before
_LIST = re.compile(r"(?<=\d),(?=1 ?/ ?[CcQqVv])")  # "24,1/C": two statements rather than 24.1
_POINT = re.compile(r"\d\.\d")
_DOUBTED = 0.6  # what a line that may be misread counts at most, beside one that may not
_SETTLED = 0.9  # how much must be found on a page: one sure line or two others
_HALVES = (2, Fraction(1, 2))
_SQUARE = 2
_BALANCED = 0.2  # units written do not tell


def commas(lines: Sequence[Line]) -> tuple[Comma, ...]:
    """What a comma between digits may be here, likeliest first."""
    texts = [fold(line.candidates[0].text) for line in lines if line.role == "working"]
    points = sum(len(_POINT.findall(text)) for text in texts)
    thousands = any(_THREE_DIGITS.search(text) for text in texts)
    if points:  # then "400,1/C" is two statements
        decimals = sum(len(_DECIMAL_COMMA.findall(text)) for text in texts)
        # A comma among many points is one of them misread.
        ways: tuple[Comma, ...] = (False, True) if 3 * decimals > points else (False,)
        return (*ways, None) if thousands else ways  # "V = 30,120 × 5/7" is a list
    without_lists = [_LIST.sub("", text) for text in texts]
    decimals = sum(len(_DECIMAL_COMMA.findall(text)) for text in without_lists)
    if decimals:
        return (True, None) if decimals == 1 else (True,)
    if texts != without_lists:
        return (False, True)
    return (True, False, None) if thousands else (True,)


def is_in_doubt(lines: Sequence[Line]) -> bool:
    """Whether a line of working may say something else than its first reading."""
    return any(
        line.role == "working" and line.candidates and line.candidates[0].probability < SURE
        for line in lines
    )


def page_habit(circuit: Circuit, lines: Sequence[Line], comma: Comma) -> tuple[Habit, Usage]:
    """The units that a page leaves out, and what its letters stand for."""
    texts = [line.candidates[0].text for line in lines if line.role == "working"]
    chains = [s for text in texts for s in parse(text, comma) if isinstance(s, Chain)]
    expressions = [expression for chain in chains for expression in _sides(chain)]
    readings = [line.candidates for line in lines if line.role == "working" and line.candidates]
    heads: Iterable[Chain] = accumulate(chains, lambda head, its: head if its.continued else its)
    of_each = zip(heads, chains, strict=True)
    capacitances = [s for head, chain in of_each if _head(head) == "C" for s in _sides(chain)]
    return habit_of(circuit, expressions, comma, capacitances), Usage(
        letters=_letters(readings, comma, circuit.supply),
        in_doubt=is_in_doubt(lines),
    )


def _sides(chain: Chain) -> list[Expression]:
    return [side.expression for side in chain.sides if side.expression is not None]


def _head(chain: Chain) -> str | None:
    """The letter of the symbol that a chain says something about."""
    first = chain.sides[0].expression
    return first.letter if isinstance(first, Symbol) else None


def _letters(
    lines: Sequence[Sequence[Candidate]], comma: Comma, supply: Fraction | None
) -> tuple[tuple[str, Kind], ...]:
    """What U and E stand for on this page: by the units written, else U is the energy where there
    is also V.  Every reading of a line counts for what it is worth, and no single line that may
    be misread settles it."""
    votes: defaultdict[tuple[str, str], float] = defaultdict(float)
    used: defaultdict[str, float] = defaultdict(float)
    heads: defaultdict[str, float] = defaultdict(float)  # letters that something is said about
    before = ""
    for line in lines:
        for reading in line:
            worth = 1.0 if reading.probability >= SURE else _DOUBTED * reading.probability
            its_votes, its_used, its_heads = _said(reading.text, comma, supply)
            if _CONTINUED.match(reading.text):
                its_votes, _, _ = _said(before + reading.text, comma, supply)
            for letter_and_unit, times in its_votes.items():
                votes[letter_and_unit] += times * worth
            for letter in its_used:
                used[letter] += worth
            for letter in its_heads:
                heads[letter] += worth
        before = before if _CONTINUED.match(line[0].text) else line[0].text
    letters: list[tuple[str, Kind]] = []
    for letter in ("U", "u", "E"):
        more = votes[letter, "voltage"] - votes[letter, "energy"]
        if abs(more) >= _SETTLED:
            letters.append((letter, "V" if more > 0 else "U"))
        elif letter != "E" and used[letter] >= _SETTLED and abs(more) < _BALANCED:
            if heads["V"] + heads["v"] >= _SETTLED:
                letters.append((letter, "U"))
            elif heads["E"] + heads["W"] >= _SETTLED:
                letters.append((letter, "V"))
    return tuple(letters)


@lru_cache(maxsize=1024)
def _said(
    text: str, comma: Comma, supply: Fraction | None
) -> tuple[Counter[tuple[str, str]], set[str], set[str]]:
    """What one reading of a line says of letters: the units given to each, those it uses, those
    it says something about."""
    votes: Counter[tuple[str, str]] = Counter()
    used: set[str] = set()
    heads: set[str] = set()
    for chain in (s for s in parse(text, comma) if isinstance(s, Chain)):
        its = _sides(chain)
        used |= {symbol.letter for expression in its for symbol in symbols(expression)}
        units = [e.unit.dimension for e in its if isinstance(e, Measured)]
        if _is_supply(its[1:], supply):
            units = ["voltage"]
        if its and isinstance(its[0], Symbol):
            heads.add(its[0].letter)
            if units:
                votes[its[0].letter, units[-1]] += 1
            if any(map(_is_of_energy, its[1:])):
                votes[its[0].letter, "energy"] += 2
            if any(map(_is_of_voltage, its[1:])):
                votes[its[0].letter, "voltage"] += 2
    for head in _HEAD.finditer(text):
        votes[head[1], "voltage" if head[2] == "V" else "energy"] += 3
    return votes, used, heads


def _is_of_energy(said: Expression) -> bool:
    """Whether something is a formula of an energy, whatever unit its value then has: ½ C V², or
    the numbers of one, ½ × 8.2 × 1.5²."""
    factors = parts(said) if isinstance(said, Product | Quotient) else ()
    inside = [f for part in factors for f in (part, *parts(part))]
    letters = {symbol.letter for symbol in symbols(said)}
    squares = any(isinstance(f, Power) and f.exponent == _SQUARE for f in inside)
    if letters.isdisjoint("CQq") and not (is_numeric(said) and squares):
        return False
    return any(is_structure(f) and f.value in _HALVES for f in inside if isinstance(f, Number))


def _is_of_voltage(said: Expression) -> bool:
    """Whether something is a charge over a capacitance."""
    over, under = (said.over, said.under) if isinstance(said, Quotient) else (None, None)
    return isinstance(over, Symbol) and isinstance(under, Symbol) and (
        over.letter in "Qq" and under.letter == "C"
    )  # fmt: skip


def _is_supply(said: Sequence[Expression], supply: Fraction | None) -> bool:
    """Whether something is said to be the supply voltage, perhaps by way of other symbols."""
    return bool(said) and isinstance(said[-1], Number) and said[-1].value == supply and (
        all(isinstance(one, Symbol) for one in said[:-1])
    )  # fmt: skip
