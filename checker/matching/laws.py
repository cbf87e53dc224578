"""The laws that tie the quantities of a network together, as data that can be worked out.

Sources: capacitors in series and in parallel, Q = C V and U = C V²/2 as in University Physics 2
(OpenStax), sections 8.1 to 8.3.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from checker.exact import Fraction
from checker.matching.circuit import Circuit, Key
from checker.matching.intervals import Interval, add, multiply, power

Form = Literal["product", "sum", "reciprocal sum", "product over sum", "share"]
HALF = Fraction(1, 2)
_ONE = Fraction(1)


@dataclass(frozen=True, slots=True)
class Law:
    """A quantity from others.

    "product": ``factor`` times every operand to its power; "sum": operands times their powers as
    signs; "reciprocal sum": 1/Σ(1/x); "product over sum": Πx/Σx; "share": the first operand times
    the part that the second is of the sum of the others.  ``inverted``: one over that.
    ``in_page_units``: a wrong rule that only makes sense with the bare numbers of the page, such
    as a sum of reciprocals taken for a capacitance.
    """

    form: Form
    operands: tuple[tuple[Key, int], ...]
    factor: Fraction = _ONE
    in_page_units: bool = False
    inverted: bool = False

    @property
    def subtracts(self) -> bool:
        """Whether it takes some of its operands away from another."""
        return self.form == "sum" and any(power < 0 for _key, power in self.operands)

    def work_out(self, values: Sequence[Interval]) -> Interval | None:
        """The value that the law gives for values of its operands, in their order; None where that
        divides by zero."""
        if self.form == "product over sum":
            return self._finished(_product_over_sum(values))
        if self.form == "share":
            return _share(values, self.inverted)
        result: Interval | None = None
        for (_key, exponent), value in zip(self.operands, values, strict=True):
            if self.form == "sum":
                result = add(result, value, exponent) if result else (
                    value if exponent > 0 else None
                )  # fmt: skip
                if result is None:
                    return None
                continue
            raised = power(value, -1 if self.form == "reciprocal sum" else exponent)
            if raised is None:
                return None
            if self.form == "product":
                result = multiply(result, raised) if result else raised
            else:
                result = add(result, raised) if result else raised
        if self.form == "reciprocal sum" and result is not None:
            result = power(result, -1)
        return self._finished(result)

    def _finished(self, result: Interval | None) -> Interval | None:
        if self.inverted and result is not None:
            result = power(result, -1)
        if result is None or self.factor == 1:
            return result
        exact = isinstance(result.low, Fraction)
        return result.scaled(self.factor if exact else float(self.factor))  # type: ignore[arg-type]


def _product_over_sum(values: Sequence[Interval]) -> Interval | None:
    over, under = values[0], values[0]
    for value in values[1:]:
        over, under = multiply(over, value), add(under, value)
    inverse = power(under, -1)
    return multiply(over, inverse) if inverse else None


def _share(values: Sequence[Interval], inverse: bool) -> Interval | None:
    """whole × own/Σ members, or with ``inverse`` in proportion to 1/own."""
    parts = [power(v, -1) for v in values[1:]] if inverse else list(values[1:])
    if any(part is None for part in parts):
        return None
    own, *members = [part for part in parts if part is not None]
    under = members[0]
    for member in members[1:]:
        under = add(under, member)
    inverse_sum = power(under, -1)
    return multiply(multiply(values[0], own), inverse_sum) if inverse_sum else None


def product(*operands: tuple[Key, int], factor: Fraction = _ONE) -> Law:
    """Operands to their powers, multiplied."""
    return Law("product", operands, factor)


def total(keys: Sequence[Key]) -> Law:
    """The sum of some quantities."""
    return Law("sum", tuple((key, 1) for key in keys))


def remainder(whole: Key, others: Sequence[Key]) -> Law:
    """What others leave of a whole."""
    return Law("sum", ((whole, 1), *((key, -1) for key in others)))


def same(key: Key) -> Law:
    """A quantity that is equal to another."""
    return Law("product", ((key, 1),))


Known = frozenset[int]


def laws(circuit: Circuit, key: Key, known: Known) -> Iterator[Law]:
    """Every way to get a quantity from others in one step.  ``known``: groups the page names."""
    yield from _ROUTES[key.kind](circuit, key.group, known)


def _relatives(circuit: Circuit, group: int, known: Known) -> Iterator[int]:
    """The members beside this one in its holder, and the partial groups formed of them."""
    holder = circuit.holder(group)
    if holder is None:
        return
    for member in holder.members:
        if member != group and not member & group:
            yield member
    for other in known:
        if other != group and other not in holder.members and other != holder.group and (
            other & holder.group == other and circuit.holder(other) is holder
        ):  # fmt: skip
            yield other


def _others(circuit: Circuit, group: int, known: Known) -> Iterator[tuple[int, ...]]:
    """What is left of the holder without this group, member by member and as one group."""
    holder = circuit.holder(group)
    if holder is None:
        return
    rest = tuple(member for member in holder.members if not member & group)
    yield rest
    if len(rest) > 1 and sum(rest) in known:
        yield (sum(rest),)


def _capacitance(circuit: Circuit, g: int, known: Known) -> Iterator[Law]:
    home = circuit.parts(g)
    if home is not None:
        for blocks in circuit.blockings(home, known):
            keys = [Key("C", block) for block in blocks]
            yield (
                Law("reciprocal sum", tuple((k, 1) for k in keys))
                if home.is_series
                else total(keys)
            )
    yield product((Key("Q", g), 1), (Key("V", g), -1))
    if home is not None:
        yield product((Key("U", g), 1), (Key("V", g), -2), factor=Fraction(2))


def _charge(circuit: Circuit, g: int, known: Known) -> Iterator[Law]:
    yield product((Key("C", g), 1), (Key("V", g), 1))
    home, holder = circuit.parts(g), circuit.holder(g)
    if home is not None:
        if home.is_series:
            for member in (*home.members, *_within(circuit, home.group, known)):
                yield same(Key("Q", member))
        else:
            for blocks in circuit.blockings(home, known):
                yield total([Key("Q", block) for block in blocks])
    if holder is not None:
        if holder.is_series:
            yield same(Key("Q", holder.group))
            for other in _relatives(circuit, g, known):
                yield same(Key("Q", other))
        else:
            whole = holder.group
            yield product((Key("Q", whole), 1), (Key("C", g), 1), (Key("C", whole), -1))
            for rest in _others(circuit, g, known):
                yield remainder(Key("Q", whole), [Key("Q", other) for other in rest])
            for other in _relatives(circuit, g, known):
                yield product((Key("Q", other), 1), (Key("C", g), 1), (Key("C", other), -1))
    yield product((Key("U", g), 1), (Key("V", g), -1), factor=Fraction(2))


def _voltage(circuit: Circuit, g: int, known: Known) -> Iterator[Law]:
    yield product((Key("Q", g), 1), (Key("C", g), -1))
    home, holder = circuit.parts(g), circuit.holder(g)
    if home is not None:
        if home.is_series:
            for blocks in circuit.blockings(home, known):
                yield total([Key("V", block) for block in blocks])
        else:
            for member in (*home.members, *_within(circuit, home.group, known)):
                yield same(Key("V", member))
    if holder is not None:
        if holder.is_series:
            whole = holder.group
            yield product((Key("V", whole), 1), (Key("C", whole), 1), (Key("C", g), -1))
            for rest in _others(circuit, g, known):
                yield remainder(Key("V", whole), [Key("V", other) for other in rest])
            for other in _relatives(circuit, g, known):
                yield product((Key("V", other), 1), (Key("C", other), 1), (Key("C", g), -1))
        else:
            yield same(Key("V", holder.group))
            for other in _relatives(circuit, g, known):
                yield same(Key("V", other))


def _energy(circuit: Circuit, g: int, known: Known) -> Iterator[Law]:
    yield product((Key("C", g), 1), (Key("V", g), 2), factor=HALF)
    yield product((Key("Q", g), 1), (Key("V", g), 1), factor=HALF)
    yield product((Key("Q", g), 2), (Key("C", g), -1), factor=HALF)
    home, holder = circuit.parts(g), circuit.holder(g)
    if home is not None:
        for blocks in circuit.blockings(home, known):
            yield total([Key("U", block) for block in blocks])
        singles = [1 << place for place in range(len(circuit.names)) if g >> place & 1]
        if len(singles) > len(home.members):
            yield total([Key("U", single) for single in singles])
    if holder is not None:
        whole = holder.group
        inner, outer = (-1, 1) if holder.is_series else (1, -1)
        yield product((Key("U", whole), 1), (Key("C", g), inner), (Key("C", whole), outer))
        for rest in _others(circuit, g, known):
            yield remainder(Key("U", whole), [Key("U", other) for other in rest])
        for other in _relatives(circuit, g, known):
            yield product((Key("U", other), 1), (Key("C", g), inner), (Key("C", other), outer))


def _within(circuit: Circuit, group: int, known: Known) -> Iterator[int]:
    """The partial groups of this group's own members that the page has formed."""
    for other in known:
        holder = circuit.holder(other)
        if holder is not None and holder.group == group and other not in holder.members:
            yield other


_ROUTES: dict[str, Callable[[Circuit, int, Known], Iterator[Law]]] = {
    "C": _capacitance, "Q": _charge, "V": _voltage, "U": _energy
}  # fmt: skip
