"""What each kind of slip computes instead: wrong rules as laws, so that their values are predicted.

Every function gives the wrong laws of one kind of slip for one quantity.  The rules and the
numbers they give on a worked circuit are listed in the project's reference facts, section C.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from checker.matching.circuit import Circuit, Home, Key, Kind
from checker.matching.laws import HALF, Known, Law, laws, product, same, total


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
    for keys in _blocks(circuit, key, known, series=True):
        yield total(keys)


def parallel_as_series(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    for keys in _blocks(circuit, key, known, series=False):
        yield _reciprocals(keys)


def not_inverted(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    for keys in _blocks(circuit, key, known, series=True):
        yield replace(_reciprocals(keys), inverted=True, in_page_units=True)


def added_wrongly(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    for keys in _blocks(circuit, key, known, series=True):
        yield replace(total(keys), inverted=True, in_page_units=True)  # C = 1/(a + b)
        yield replace(total(keys), factor=Fraction(1, len(keys)))  # 1/C = 2/(a + b)
        yield total(keys)  # 1/C = 1/(a + b)
        # 1/a + 1/b = 2/(ab) or 1/(ab): denominators multiplied, numerators just added.
        several = tuple((k, 1) for k in keys)
        yield Law("product", several, Fraction(1, len(keys)), in_page_units=True)
        yield Law("product", several, in_page_units=True)


def product_over_sum_of_three(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    for keys in _blocks(circuit, key, known, series=True):
        if len(keys) > 2:
            yield Law("product over sum", tuple((k, 1) for k in keys), in_page_units=True)


def sum_over_product(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    for keys in _blocks(circuit, key, known, series=True):
        operands = tuple((k, 1) for k in keys)
        yield Law("product over sum", operands, in_page_units=True, inverted=True)


def _combined(home: Home, keys: tuple[Key, ...]) -> Law:
    if len(keys) == 1:
        return same(keys[0])
    return _reciprocals(keys) if home.is_series else total(keys)


def left_out(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
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


def supply_on_every_element(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    whole = Key("V", circuit.total)
    if key.group == circuit.total or circuit.value(Key("V", key.group)) == circuit.value(whole):
        return
    yield from _with_voltage(key, whole)


def _with_voltage(key: Key, voltage: Key) -> Iterator[Law]:
    own = Key("C", key.group)
    if key.kind == "V":
        yield same(voltage)
    elif key.kind == "Q":
        yield product((own, 1), (voltage, 1))
    elif key.kind == "U":
        yield product((own, 1), (voltage, 2), factor=HALF)
        yield product((Key("Q", key.group), 1), (voltage, 1), factor=HALF)


def voltage_into_series(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """The voltage of a series group taken for that of each of its members."""
    holder = circuit.holder(key.group)
    if holder is not None and holder.is_series:
        yield from _with_voltage(key, Key("V", holder.group))
        for other in holder.members:
            if not other & key.group:
                yield from _with_voltage(key, Key("V", other))


def charge_into_parallel(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """The charge of a parallel group (or of the whole) taken for that of each of its members."""
    holder = circuit.holder(key.group)
    if holder is None or holder.is_series:
        return
    wholes = dict.fromkeys((holder.group, circuit.total))
    others = [member for member in holder.members if not member & key.group]
    for charge in (Key("Q", group) for group in (*wholes, *others)):
        if key.kind == "Q":
            yield same(charge)
        elif key.kind == "V":
            yield product((charge, 1), (Key("C", key.group), -1))
        elif key.kind == "U":
            yield product((charge, 2), (Key("C", key.group), -1), factor=HALF)


def charge_split_in_series(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    holder = circuit.holder(key.group)
    if holder is None or not holder.is_series or key.kind != "Q":
        return
    whole, count = Key("Q", holder.group), len(holder.members)
    yield product((whole, 1), factor=Fraction(1, count))
    members = tuple((Key("C", member), 1) for member in holder.members)
    for part in holder.members:
        yield Law("share", ((whole, 1), (Key("C", part), 1), *members))


def voltage_split_in_parallel(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    holder = circuit.holder(key.group)
    if holder is None or holder.is_series or key.kind != "V":
        return
    whole = Key("V", holder.group)
    yield product((whole, 1), factor=Fraction(1, len(holder.members)))
    for part in holder.members:
        yield product((whole, 1), (Key("C", part), 1), (Key("C", holder.group), -1))


def voltage_wrong_way(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    holder = circuit.holder(key.group)
    if holder is None or not holder.is_series or key.kind != "V":
        return
    yield from _wrong_way(circuit, holder, key)


def charge_wrong_way(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    holder = circuit.holder(key.group)
    if holder is None or holder.is_series or key.kind != "Q":
        return
    yield from _wrong_way(circuit, holder, key)


def _wrong_way(circuit: Circuit, holder: Home, key: Key) -> Iterator[Law]:
    """Voltage shared in proportion to C, or charge in inverse proportion."""
    whole = Key(key.kind, holder.group)
    members = [Key("C", member) for member in holder.members]
    own = Key("C", key.group)
    yield Law(
        "share", ((whole, 1), (own, 1), *((m, 1) for m in members)), inverted=not holder.is_series
    )


def shared_equally(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    holder = circuit.holder(key.group)
    if holder is None or key.kind not in ("Q", "V"):
        return
    if holder.is_series is (key.kind == "V"):
        yield product((Key(key.kind, holder.group), 1), factor=Fraction(1, len(holder.members)))


def law_inverted(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    charge, voltage, own = (Key(kind, key.group) for kind in ("Q", "V", "C"))
    pairs = {
        "Q": ((voltage, own, -1), (own, voltage, -1)),
        "V": ((own, charge, -1), (charge, own, 1)),
        "C": ((voltage, charge, -1), (charge, voltage, 1)),
    }.get(key.kind, ())
    for first, second, exponent in pairs:
        yield Law("product", ((first, 1), (second, exponent)), in_page_units=True)


def wrong_equivalent(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """A law used with the value of another group in one place."""
    groups = [g for g in circuit.groups[: 2 * len(circuit.names)] if g != key.group]
    groups += [g for g in known if g != key.group and g not in groups]
    for law in laws(circuit, key, frozenset()):
        if law.form != "product" or len(law.operands) < 2:
            continue
        for place, (operand, exponent) in enumerate(law.operands):
            for group in groups:
                other = (Key(operand.kind, group), exponent)
                yield replace(
                    law, operands=(*law.operands[:place], other, *law.operands[place + 1 :])
                )
    home = circuit.parts(key.group)
    if key.kind == "C" and home is not None:
        for group in groups:
            if not circuit.is_element(group):
                yield same(Key("C", group))


def label_swapped(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    for group in circuit.groups[: 2 * len(circuit.names)]:
        if group != key.group and circuit.is_element(group) == circuit.is_element(key.group):
            yield same(Key(key.kind, group))


def half_missing(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    if key.kind != "U":
        return
    for law in laws(circuit, key, known):
        if law.form == "product" and law.factor == HALF:
            yield replace(law, factor=Fraction(1))


def not_squared(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    if key.kind != "U":
        return
    own, charge, voltage = (Key(kind, key.group) for kind in ("C", "Q", "V"))
    for operands in (((own, 1), (voltage, 1)), ((charge, 1), (own, -1))):
        for factor in (HALF, Fraction(1)):
            yield Law("product", operands, factor, in_page_units=True)
    # The square put on the wrong letter, or "squared" taken for doubled.
    yield Law("product", ((own, 2), (voltage, 1)), HALF, in_page_units=True)
    yield Law("product", ((charge, 1), (voltage, 2)), HALF, in_page_units=True)
    yield Law("product", ((own, 1), (voltage, 1)), Fraction(1), in_page_units=True)
