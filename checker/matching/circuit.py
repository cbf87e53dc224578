"""The network as the matcher sees it: every group that may be combined, with its exact values.

A group is a set of elements, held as a bit mask in the problem's order.  Groups are the elements,
the series and parallel groups of the reduction, and any two or more members of one of these taken
together, for members may be combined in any order.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import Literal, NamedTuple

from checker.exact import Fraction
from checker.problem.network import Element, Node, Series, elements
from checker.problem.reduction import Reference

Kind = Literal["C", "Q", "V", "U"]
KINDS: tuple[Kind, ...] = ("C", "Q", "V", "U")
DIMENSIONS: dict[Kind, str] = {
    "C": "capacitance", "Q": "charge", "V": "voltage", "U": "energy"
}  # fmt: skip
_SPOKEN = {"C": "equivalent capacitance of", "Q": "charge on", "V": "voltage across",
           "U": "stored energy of"}  # fmt: skip
_MOST_MEMBERS = 8  # beyond it only pairs, neighbours and the whole are looked for unasked


class Key(NamedTuple):
    """A physical quantity of a group."""

    kind: Kind
    group: int


@dataclass(frozen=True)
class Home:
    """A series or parallel group and its members, innermost groups as single members."""

    group: int
    is_series: bool
    members: tuple[int, ...]


class Circuit:
    """Groups and exact reference values of one problem."""

    def __init__(self, reference: Reference) -> None:
        problem = reference.problem
        self.names = tuple(problem.capacitors)
        self._bit = {name: 1 << place for place, name in enumerate(self.names)}
        self.total = (1 << len(self.names)) - 1
        self.homes: dict[int, Home] = {}
        self._holder: dict[int, Home] = {}
        self._cache: dict[Key, Fraction | None] = {}
        self._shared: dict[Key, Key] = {}
        self._walk(problem.network)
        for node, state in reference.states.items():
            mask = self.mask(elements(node))
            its = state.capacitance, state.charge, state.voltage, state.energy
            for kind, value in zip(KINDS, its, strict=True):
                self._cache[Key(kind, mask)] = None if value is None else Fraction(value)
        self.supply = Fraction(problem.supply.value) if problem.supply is not None else None

    def _walk(self, node: Node) -> int:
        mask = self.mask(elements(node))
        if not isinstance(node, Element):
            members = tuple(self._walk(member) for member in node.members)
            home = Home(mask, isinstance(node, Series), members)
            self.homes[mask] = home
            for member in members:
                self._holder[member] = home
        return mask

    def mask(self, names: Iterable[str]) -> int:
        """The group of some elements."""
        return sum(self._bit[name] for name in set(names))

    def elements(self, group: int) -> tuple[str, ...]:
        """The names of the elements of a group."""
        return tuple(name for name in self.names if self._bit[name] & group)

    def is_element(self, group: int) -> bool:
        """Whether a group is a single element."""
        return group & (group - 1) == 0

    def is_given(self, key: Key) -> bool:
        """Whether the problem gives a quantity: an element's capacitance, the supply voltage."""
        return (key.kind == "C" and self.is_element(key.group)) or key == Key("V", self.total)

    def is_of_supply(self, key: Key) -> bool:
        """Whether a quantity is the supply voltage, if only because it is across the supply."""
        return key.kind == "V" and self.supply is not None and self.value(key) == self.supply

    @cached_property
    def unknown(self) -> dict[Kind, tuple[Key, ...]]:
        """The quantities that the problem does not give, by their kind."""
        return {
            kind: tuple(key for group in self.groups if not self.is_given(key := Key(kind, group)))
            for kind in KINDS
        }

    def parts(self, group: int) -> Home | None:
        """The group as a series or parallel combination of members, None for an element and for
        elements that may not be combined."""
        home = self.homes.get(group)
        if home is not None or self.is_element(group):
            return home
        for whole in self.homes.values():
            if group & whole.group == group:
                members = tuple(m for m in whole.members if m & group)
                if len(members) > 1 and sum(members) == group:
                    return Home(group, whole.is_series, members)
        return None

    def holder(self, group: int) -> Home | None:
        """The series or parallel group of which this one is a member, or several members."""
        if group in self._holder:
            return self._holder[group]
        if group in self.homes or self.is_element(group):
            return None
        for whole in self.homes.values():
            if group & whole.group == group and all(m & group in (0, m) for m in whole.members):
                return whole
        return None

    def shared(self, key: Key) -> Key:
        """The same quantity of the group whose members share it, if a quantity is one that they do:
        their charge in series, their voltage in parallel."""
        if key not in self._shared:
            holder = self.holder(key.group) if key.kind in ("Q", "V") else None
            is_shared = holder is not None and holder.is_series == (key.kind == "Q")
            self._shared[key] = Key(key.kind, holder.group) if holder and is_shared else key
        return self._shared[key]

    def is_whole(self, key: Key) -> bool:
        """Whether a charge or voltage is that of a group whose members' add up to it, or equal to
        that of one."""
        its = self.shared(key)
        home = self.homes.get(its.group)
        alike = home.members if home is not None and its != key else ()
        return any(
            (parts := self.parts(group)) is not None and parts.is_series == (key.kind == "V")
            for group in (key.group, its.group, *alike)
        )

    def is_group(self, group: int) -> bool:
        """Whether these elements may be combined."""
        return self.is_element(group) or self.parts(group) is not None

    @cached_property
    def groups(self) -> tuple[int, ...]:
        """Elements, groups of the reduction, then partial groups."""
        single = [self._bit[name] for name in self.names]
        partial: list[int] = []
        for home in self.homes.values():
            count = len(home.members)
            sizes = range(2, count) if count <= _MOST_MEMBERS else (2,)
            for size in sizes:
                partial += [sum(chosen) for chosen in combinations(home.members, size)]
            if count > _MOST_MEMBERS:
                partial += [sum(home.members[:size]) for size in range(3, count)]
        return tuple(dict.fromkeys([*single, *self.homes, *partial]))

    def value(self, key: Key) -> Fraction | None:
        """The exact value in SI units; None where the problem gives no supply."""
        if key in self._cache:
            return self._cache[key]
        home, whole = self.parts(key.group), self.holder(key.group)
        value: Fraction | None = None
        if home is not None and whole is not None:
            each = [self.value(Key(key.kind, member)) for member in home.members]
            shared = {"C": False, "Q": home.is_series, "V": not home.is_series, "U": False}
            if any(item is None for item in each):
                value = None
            elif shared[key.kind]:
                value = each[0]
            elif key.kind == "C" and home.is_series:
                value = 1 / sum((1 / item for item in each if item), Fraction(0))
            else:
                value = sum((item for item in each if item is not None), Fraction(0))
        self._cache[key] = value
        return value

    def name(self, key: Key) -> str:
        """How a person names the quantity: "equivalent capacitance of C1, C2"."""
        names = ", ".join(self.elements(key.group))
        if self.is_element(key.group) and key.kind == "C":
            return f"capacitance of {names}"
        if key.group == self.total and not self.is_element(key.group):
            return {
                "C": f"equivalent capacitance of {names}", "Q": "total charge",
                "V": "supply voltage", "U": "total stored energy",
            }[key.kind]  # fmt: skip
        return f"{_SPOKEN[key.kind]} {names}"

    def blockings(self, home: Home, known: frozenset[int]) -> Iterator[tuple[int, ...]]:
        """Ways to take the members of a group together: one by one, and with those partial
        groups in ``known`` (which the page has formed) in place of their members."""
        blocks = [
            b for b in known
            if b & home.group == b and b != home.group and b not in home.members
            and all(m & b in (0, m) for m in home.members)
        ]  # fmt: skip

        def fill(chosen: tuple[int, ...], start: int) -> Iterator[tuple[int, ...]]:
            used = sum(chosen)
            yield (*chosen, *(m for m in home.members if not m & used))
            for place in range(start, len(blocks)):
                if not blocks[place] & used:
                    yield from fill((*chosen, blocks[place]), place + 1)

        for count, blocking in enumerate(fill((), 0)):
            if count >= 24:
                return
            if len(blocking) > 1:
                yield blocking
