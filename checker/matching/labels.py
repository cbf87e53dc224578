"""What a symbol may mean: C12, C_{eq}, Q', V_{C1} …

A label that names elements is certain.  A label that names the whole ("total", "eq", none at all)
usually does, but may be used for a group.  Any other label (C', C_A, C_left) is the student's own
and means whatever group it was first used for.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from checker.matching.circuit import Circuit, Kind
from checker.notation.tree import Phrase, Symbol

_KINDS: dict[str, tuple[Kind, ...]] = {
    "C": ("C",), "Q": ("Q",), "q": ("Q",), "V": ("V",), "v": ("V",), "U": ("U", "V"),
    "u": ("U", "V"), "E": ("U", "V"), "W": ("U",), "w": ("U",), "e": ("V",),
}  # fmt: skip
_WHOLE = {"", "eq", "eqv", "equiv", "equivalent", "tot", "total", "t", "T", "net", "ab", "AB",
          "supply", "source", "bat", "batt", "battery", "sys", "e", "res"}  # fmt: skip
_SUPPLY = {"s", "S", "in", "b", "B", "g", "0"}  # of a voltage
_SURELY_WHOLE = {
    "tot",
    "total",
    "T",
    "supply",
    "source",
    "battery",
    "batt",
    "bat",
    "net",
    "ab",
    "AB",
}
_SPOKEN_KINDS: tuple[tuple[str, Kind], ...] = (
    ("capacitance", "C"), ("charge", "Q"), ("voltage", "V"), ("p.d", "V"), ("pd", "V"),
    ("potential", "V"), ("energy", "U"), ("capacitor", "C"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Usage:
    """How a page uses its letters.  ``strict``: a label for the whole ("eq", none at all) is
    never used for a group.  ``letters``: what U or E stands for where the page shows it.
    ``in_doubt``: the page may have been misread."""

    strict: bool = False
    letters: tuple[tuple[str, Kind], ...] = ()
    in_doubt: bool = False

    def kinds(self, letter: str) -> tuple[Kind, ...] | None:
        """The kinds of quantity a letter may stand for, None where it is none."""
        for known, kind in self.letters:
            if known == letter:
                return (kind,)
        return _KINDS.get(letter)


PLAIN_USAGE = Usage()
Label = tuple[str, int]  # index and primes of the student's own label
Bound = Mapping[Label, tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Meaning:
    """The kinds and groups a symbol may stand for, likeliest first.  ``certain``: the label names
    its elements.  ``label``: the student's own label, to be remembered once its group is known.
    ``misfit``: the elements it names may not be combined.  ``whole``: it usually names
    the whole."""

    kinds: tuple[Kind, ...]
    groups: tuple[int, ...]
    certain: bool
    label: Label | None = None
    misfit: int | None = None
    whole: bool = False


def meaning(circuit: Circuit, symbol: Symbol, bound: Bound, usage: Usage) -> Meaning | None:
    """None for letters that are no quantity of this problem."""
    strict = usage.strict
    kinds = usage.kinds(symbol.letter)
    if kinds is None:
        return None
    index = _stripped(symbol.index)
    label = (index, symbol.primes)
    if label in bound and not (strict and not symbol.primes and index in _WHOLE):
        return Meaning(kinds, bound[label], True, label)
    everything = circuit.groups
    if symbol.primes:
        return Meaning(kinds, everything, False, label)
    whole = (circuit.total, *(g for g in everything if g != circuit.total))
    named = _named(circuit, index)
    if named:
        groups = tuple(g for g in named if circuit.is_group(g))
        if groups:
            return Meaning(kinds, groups, True)
    if index in _SURELY_WHOLE:
        return Meaning(kinds, (circuit.total,), True)
    if named:
        return Meaning(kinds, everything, False, label, misfit=named[0])
    is_whole = index in _WHOLE or (index in _SUPPLY and "V" in kinds)
    if is_whole and strict:
        return Meaning(kinds, (circuit.total,), True)
    if is_whole and index:  # several elements at least
        groups = tuple(g for g in whole if not circuit.is_element(g)) or whole
        return Meaning(kinds, groups, False, label, whole=True)
    if is_whole:
        return Meaning(kinds, whole, False, None, whole=True)
    return Meaning(kinds, everything, False, label)


@lru_cache(maxsize=4096)
def _stripped(index: str) -> str:
    return re.sub(r"^(?:eq|tot|total|s|p|ser|par|series|parallel)(?=\d\d)", "", index)


@lru_cache(maxsize=4096)
def _split(index: str, names: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    """Every way to read an index as elements: "12" in C1, C2, C12 is C12, or C1 and C2."""
    ways: list[tuple[str, ...]] = []

    def read(at: int, found: tuple[str, ...]) -> None:
        if at == len(index):
            ways.append(found)
            return
        for name in names:
            for short in dict.fromkeys((name, name[1:])):
                if short and name not in found and index.startswith(short, at):
                    read(at + len(short), (*found, name))

    if index and len(index) <= 24:
        read(0, ())
    return tuple(sorted(ways, key=len))


def _named(circuit: Circuit, index: str) -> tuple[int, ...]:
    return tuple(dict.fromkeys(circuit.mask(way) for way in _split(index, circuit.names)))


def spoken(circuit: Circuit, phrase: Phrase, bound: Bound, usage: Usage) -> Meaning | None:
    """What a phrase such as "charge on C2" or "total charge" speaks of."""
    text = " ".join(phrase.words)
    kind = next((kind for word, kind in _SPOKEN_KINDS if word in text), None)
    elements = [m for s in phrase.symbols if (m := meaning(circuit, s, bound, usage)) and m.certain]
    own = [s for s in phrase.symbols if s.letter in _KINDS]
    if kind is None or (kind == "C" and len(own) == 1 and "capacitor" in text):
        if len(own) == 1 and own[0].letter != "C":
            return meaning(circuit, own[0], bound, usage)
        if kind is None:
            return (
                meaning(circuit, own[0], bound, usage)
                if len(own) == 1 and "same" not in text
                else None
            )
    if len(elements) == 1 and len(own) == 1:
        return Meaning((kind,), elements[0].groups, True)
    if elements:
        mask = 0
        for element in elements:
            mask |= element.groups[0]
        return Meaning((kind,), (mask,), True) if circuit.is_group(mask) else None
    if any(word in text for word in ("total", "equivalent", "supply", "source", "battery")):
        rest = tuple(g for g in circuit.groups if g != circuit.total)
        return Meaning((kind,), (circuit.total, *rest), False, whole=True)
    return Meaning((kind,), circuit.groups, False)
