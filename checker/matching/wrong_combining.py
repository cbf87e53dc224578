"""Wrong rules for combining capacitances, as laws, so that the values they give are predicted.

Every function gives the wrong laws of one kind of slip for one quantity.  The rules and the
numbers they give on a worked circuit are listed in the project's reference facts, section C.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from checker.exact import Fraction
from checker.matching.circuit import Circuit, Home, Key, Kind
from checker.matching.laws import Known, Law, same, total


def _keys(kind: Kind, blocks: tuple[int, ...]) -> tuple[Key, ...]:
    return tuple(Key(kind, block) for block in blocks)


def _blocks(circuit: Circuit, key: Key, known: Known, *, series: bool) -> Iterator[tuple[Key, ...]]:
    """The member capacitances of a series (or parallel) group, in every way they are combined."""
    home = circuit.parts(key.group)
    if key.kind == "C" and home is not None and home.is_series is series:
        for blocks in circuit.blockings(home, known):
            yield _keys("C", blocks)


def _reciprocals(keys: tuple[Key, ...]) -> Law:
    return Law("reciprocal sum", tuple((key, 1) for key in keys))


def series_as_parallel(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """Capacitances in series added up, perhaps after some of them were combined rightly."""
    for keys in _blocks(circuit, key, known, series=True):
        yield total(keys)
    home = circuit.parts(key.group) if key.kind == "C" else None
    if home is not None and home.is_series and len(home.members) > 2:
        for member in home.members:
            yield total(_keys("C", (home.group - member, member)))


def parallel_as_series(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """Capacitances in parallel combined by their reciprocals."""
    for keys in _blocks(circuit, key, known, series=False):
        yield _reciprocals(keys)


def not_inverted(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """The sum of the reciprocals taken for the capacitance."""
    for keys in _blocks(circuit, key, known, series=True):
        yield replace(_reciprocals(keys), inverted=True, in_page_units=True)


def added_wrongly(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """Fractions added by adding or multiplying their denominators."""
    for keys in _blocks(circuit, key, known, series=True):
        yield replace(total(keys), inverted=True, in_page_units=True)  # C = 1/(a + b)
        yield replace(total(keys), factor=Fraction(1, len(keys)))  # 1/C = 2/(a + b)
        yield total(keys)  # 1/C = 1/(a + b)
        # 1/a + 1/b = 2/(ab) or 1/(ab): denominators multiplied, numerators just added.
        several = tuple((k, 1) for k in keys)
        yield Law("product", several, Fraction(1, len(keys)), in_page_units=True)
        yield Law("product", several, in_page_units=True)


def product_over_sum_of_three(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """Product over sum of more than two."""
    for keys in _blocks(circuit, key, known, series=True):
        if len(keys) > 2:
            yield Law("product over sum", tuple((k, 1) for k in keys), in_page_units=True)


def sum_over_product(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """Product over sum turned upside down."""
    for keys in _blocks(circuit, key, known, series=True):
        operands = tuple((k, 1) for k in keys)
        yield Law("product over sum", operands, in_page_units=True, inverted=True)


def _combined(home: Home, keys: tuple[Key, ...]) -> Law:
    if len(keys) == 1:
        return same(keys[0])
    return _reciprocals(keys) if home.is_series else total(keys)


def left_out(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """One member, or one element of a member, forgotten."""
    home = circuit.parts(key.group)
    if home is None or key.kind != "C":
        yield from _left_out_of_sum(circuit, key)
        return
    for blocks in circuit.blockings(home, known):
        for place, block in enumerate(blocks):
            rest = (*blocks[:place], *blocks[place + 1 :])
            yield _combined(home, _keys("C", rest))
            for name in circuit.elements(block):
                smaller = block & ~circuit.mask((name,))
                if smaller and circuit.is_group(smaller):
                    yield _combined(home, _keys("C", (*rest, smaller)))


def _left_out_of_sum(circuit: Circuit, key: Key) -> Iterator[Law]:
    """A charge, voltage or energy added up from its parts, one forgotten."""
    home = circuit.parts(key.group)
    adds = key.kind == "U" or (home is not None and home.is_series is (key.kind == "V"))
    if home is None or key.kind == "C" or not adds:
        return
    for groups in (
        home.members,
        tuple(1 << i for i in range(len(circuit.names)) if key.group >> i & 1),
    ):
        if len(groups) > 2:
            for place in range(len(groups)):
                yield total(_keys(key.kind, (*groups[:place], *groups[place + 1 :])))


def used_twice(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """One member, or one element, counted twice."""
    home = circuit.parts(key.group)
    if home is None or key.kind != "C":
        return
    for blocks in circuit.blockings(home, known):
        for block in blocks:
            yield _combined(home, _keys("C", (*blocks, block)))
            for inner in circuit.groups[: 2 * len(circuit.names)]:
                if inner != block and inner & block == inner:
                    yield _combined(home, _keys("C", (*blocks, inner)))


def wrong_elements(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """Another member in the place of one, or one too many, that is not in this group."""
    home = circuit.parts(key.group)
    if home is None or key.kind != "C":
        return
    strangers = [g for g in circuit.groups[: 2 * len(circuit.names)] if not g & key.group]
    for stranger in strangers:
        yield _combined(home, _keys("C", (*home.members, stranger)))
        for place in range(len(home.members)):
            rest = (*home.members[:place], *home.members[place + 1 :])
            yield _combined(home, _keys("C", (*rest, stranger)))
