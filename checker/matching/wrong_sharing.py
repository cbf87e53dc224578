"""Wrong rules for charges, voltages and energies, as laws, so that the values they give are
predicted; also a right law used with the value of something else.

Every function gives the wrong laws of one kind of slip for one quantity.  The rules and the
numbers they give on a worked circuit are listed in the project's reference facts, section C.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from checker.exact import Fraction
from checker.matching.circuit import Circuit, Home, Key
from checker.matching.laws import HALF, Known, Law, laws, product, same


def supply_on_every_element(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """The supply voltage taken for that of an element that has only a part of it."""
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
    """The charge of a series group divided among its members."""
    holder = circuit.holder(key.group)
    if holder is None or not holder.is_series or key.kind != "Q":
        return
    whole, count = Key("Q", holder.group), len(holder.members)
    yield product((whole, 1), factor=Fraction(1, count))
    members = tuple((Key("C", member), 1) for member in holder.members)
    for part in holder.members:
        yield Law("share", ((whole, 1), (Key("C", part), 1), *members))


def voltage_split_in_parallel(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """The voltage of a parallel group divided among its members."""
    holder = circuit.holder(key.group)
    if holder is None or holder.is_series or key.kind != "V":
        return
    whole = Key("V", holder.group)
    yield product((whole, 1), factor=Fraction(1, len(holder.members)))
    for part in holder.members:
        yield product((whole, 1), (Key("C", part), 1), (Key("C", holder.group), -1))


def voltage_wrong_way(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """The larger share of the voltage given to the larger capacitance."""
    holder = circuit.holder(key.group)
    if holder is None or not holder.is_series or key.kind != "V":
        return
    yield from _wrong_way(circuit, holder, key)


def charge_wrong_way(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """The larger share of the charge given to the smaller capacitance."""
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
    """A voltage in series or a charge in parallel divided into equal shares."""
    holder = circuit.holder(key.group)
    if holder is None or key.kind not in ("Q", "V"):
        return
    if holder.is_series is (key.kind == "V"):
        yield product((Key(key.kind, holder.group), 1), factor=Fraction(1, len(holder.members)))


def law_inverted(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """Q = C V solved wrongly: Q = V/C, V = C/Q and so on."""
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
                operands = (*law.operands[:place], other, *law.operands[place + 1 :])
                yield Law("product", operands, law.factor)
    home = circuit.parts(key.group)
    if key.kind == "C" and home is not None:
        for group in groups:
            if not circuit.is_element(group):
                yield same(Key("C", group))


def label_swapped(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """The value of another element, or of another group."""
    for group in circuit.groups[: 2 * len(circuit.names)]:
        if group != key.group and circuit.is_element(group) == circuit.is_element(key.group):
            yield same(Key(key.kind, group))


def half_missing(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """The energy without its factor one half."""
    if key.kind != "U":
        return
    for law in laws(circuit, key, known):
        if law.form == "product" and law.factor == HALF:
            yield replace(law, factor=Fraction(1))


def not_squared(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """The energy with the square missing or on the wrong factor."""
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
