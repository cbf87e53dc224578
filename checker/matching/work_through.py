"""A whole problem worked out with the values a page gives in place of the exact ones."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from checker.exact import Fraction
from checker.matching.circuit import Circuit, Home, Key, Kind
from checker.matching.intervals import Interval, add, exactly, multiply, power
from checker.matching.laws import HALF, Form, Law

_HALF = exactly(HALF)
_NARROW = 10  # times that an unwritten voltage is known better than what it leaves over


def _partly_kept(circuit: Circuit, home: Home, kept: dict[Key, Interval]) -> list[Key]:
    """The capacitances kept for some members of a group taken together."""
    return [
        key for key in kept
        if key.kind == "C" and key.group not in circuit.homes and not circuit.is_element(key.group)
        and circuit.holder(key.group) is home
    ]  # fmt: skip


def work_through(
    circuit: Circuit,
    kept: dict[Key, Interval],
    wrong: dict[Key, Interval],
    values: dict[Key, Interval],
    differences: bool = True,
) -> None:
    """Reduce the network and walk back into ``values``, with ``kept`` values where there are any;
    what is made of a wrong one is worked out anew even if a right value was written for it.
    ``differences``: what the other members of a group leave over counts as well."""
    anew: set[int] = set()

    def reduce(group: int) -> Interval:
        home, key = circuit.homes.get(group), Key("C", group)
        exact = exactly(circuit.value(key) or Fraction(0))
        if home is None:
            value = kept.get(key) or exact
            if key in wrong:
                anew.add(group)
        else:
            members = {member: reduce(member) for member in home.members}
            partial = next(
                (k for k in wrong if k.kind == "C" and k.group not in members
                 and circuit.holder(k.group) is home),
                None,
            )  # fmt: skip
            if partial is not None:
                members = {m: v for m, v in members.items() if not m & partial.group}
                members[partial.group] = wrong[partial]
                anew.add(partial.group)
            keys = tuple((Key("C", member), 1) for member in members)
            form: Form = "reciprocal sum" if home.is_series else "sum"
            worked_out = Law(form, keys).work_out(list(members.values()))
            for other in () if wrong else _partly_kept(circuit, home, kept):
                rest = {m: v for m, v in members.items() if not m & other.group}
                law = Law(form, tuple((Key("C", group), 1) for group in (*rest, other.group)))
                again = law.work_out([*rest.values(), kept[other]])
                worked_out = worked_out.hull(again) if worked_out and again else worked_out
            if key in wrong or anew & set(members):
                anew.add(group)
            kept_value = None if group in anew else kept.get(key)
            value = wrong.get(key) or kept_value or worked_out or exact
        values[key] = value
        return value

    def walk_back(group: int, charge: Interval, voltage: Interval) -> None:
        charge = kept.get(Key("Q", group)) or charge
        voltage = kept.get(Key("V", group)) or voltage
        values[Key("Q", group)], values[Key("V", group)] = charge, voltage
        worked_out = multiply(multiply(values[Key("C", group)], multiply(voltage, voltage)), _HALF)
        values[Key("U", group)] = kept.get(Key("U", group)) or worked_out
        home = circuit.homes.get(group)
        for member in home.members if home else ():
            capacitance = values[Key("C", member)]
            if home is not None and home.is_series:
                its = kept.get(Key("Q", member)) or shared("Q", home) or charge
                inverse = power(capacitance, -1)
                drop = multiply(its, inverse) if inverse else voltage
                if (rest := left_over("V", home, member, voltage)) is not None:
                    drop = drop.hull(rest)
                walk_back(member, its, drop)
            else:
                its = kept.get(Key("V", member)) or shared("V", home) or voltage
                own = multiply(capacitance, its)
                if home is not None and (rest := left_over("Q", home, member, charge)) is not None:
                    own = own.hull(rest)
                walk_back(member, own, its)

    def left_over(kind: Kind, home: Home, member: int, whole: Interval) -> Interval | None:
        """What the other members leave of a voltage or charge, as written or exact."""
        if wrong or not differences:
            return None
        for other in (m for m in home.members if m != member):
            key, its = Key(kind, other), circuit.homes.get(other)
            written = kept.get(key)
            if written is None and its is not None and its.is_series == (kind == "Q"):
                written = shared(kind, its)
            if written is None:
                exact = circuit.value(key)
                if exact is None:
                    return None
                written = unwritten(key, exactly(exact), home, whole)
            whole = add(whole, written, -1)
        return whole

    def unwritten(key: Key, exact: Interval, home: Home, whole: Interval) -> Interval:
        """A charge or voltage that is on no line: exact, or as Q = CV or V = Q/C gives it."""
        alike: Kind = "V" if key.kind == "Q" else "Q"  # the same for all members
        given = kept.get(Key(alike, home.group)) or shared(alike, home)
        factor = power(values[Key("C", key.group)], 1 if key.kind == "Q" else -1)
        if factor is None:
            return exact
        again = multiply(given or values[Key(alike, home.group)], factor)
        narrow = (again.high - again.low) * _NARROW <= whole.low - again.high
        return exact.hull(again) if narrow or (given and key.kind == "Q") else exact

    def shared(kind: Kind, home: Home | None) -> Interval | None:
        """What the page gives for the other members of a group that share it."""
        if home is None or wrong or Key(kind, home.group) in kept:
            return None
        given = [kept[key] for m in home.members if (key := Key(kind, m)) in kept]
        if not given:
            return None
        hull = given[0]
        for other in given[1:]:
            hull = hull.hull(other)
        return hull

    whole = reduce(circuit.total)
    if circuit.supply is not None:
        supply = kept.get(Key("V", circuit.total)) or exactly(circuit.supply)
        walk_back(circuit.total, multiply(whole, supply), supply)


def value_in(
    values: dict[Key, Interval], circuit: Circuit, key: Key,
    laws_for: Callable[[Key], Sequence[Law]],
) -> Interval | None:  # fmt: skip
    """A value of a problem worked out; a partial group takes its own from its members."""
    value = values.get(key)
    if value is None and circuit.parts(key.group) is not None:
        its = laws_for(key)
        law = its[1] if key.kind in ("Q", "V") else its[0]
        operands = [values.get(operand) for operand, _power in law.operands]
        if all(v is not None for v in operands):
            value = law.work_out([v for v in operands if v is not None])
            if value is not None:
                values[key] = value
    return value
