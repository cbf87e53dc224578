"""Series/parallel networks between two terminals, as trees."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Element:
    """A single element, by its name in the problem ("C1")."""

    name: str


@dataclass(frozen=True)
class Series:
    """Two members or more, one after the other; none of them a Series itself."""

    members: tuple[Node, ...]

    def __post_init__(self) -> None:
        _check_members(self)


@dataclass(frozen=True)
class Parallel:
    """Two members or more between the same two nodes; none of them a Parallel itself."""

    members: tuple[Node, ...]

    def __post_init__(self) -> None:
        _check_members(self)


Node = Element | Series | Parallel


def _check_members(group: Series | Parallel) -> None:
    if len(group.members) < 2:
        raise ValueError("a group has at least two members")
    if any(type(member) is type(group) for member in group.members):
        raise ValueError("a group does not directly hold a group of its own kind")


def series(*members: Node) -> Node:
    """The members in series, normalised: inner series are merged, one member stands alone."""
    return _grouped(Series, members)


def parallel(*members: Node) -> Node:
    """The members in parallel, normalised likewise."""
    return _grouped(Parallel, members)


def _grouped(kind: type[Series] | type[Parallel], members: Sequence[Node]) -> Node:
    flat: list[Node] = []
    for member in members:
        flat.extend(member.members if isinstance(member, kind) else [member])
    return flat[0] if len(flat) == 1 else kind(tuple(flat))


def elements(node: Node) -> tuple[str, ...]:
    """The names of the elements in ``node``, in order."""
    if isinstance(node, Element):
        return (node.name,)
    return tuple(name for member in node.members for name in elements(member))


def name_of(node: Node) -> str:
    """How ``node`` is spoken of: its elements' names, "C1, C2"."""
    return ", ".join(elements(node))


def nodes(node: Node) -> Iterator[Node]:
    """``node`` and all below it, outermost first."""
    yield node
    if not isinstance(node, Element):
        for member in node.members:
            yield from nodes(member)


def groups(network: Node) -> list[Series | Parallel]:
    """The groups in the order in which they are reduced: deepest first, as written among equals."""

    def below(node: Node, depth: int) -> Iterator[tuple[int, Series | Parallel]]:
        if not isinstance(node, Element):
            for member in node.members:
                yield from below(member, depth + 1)
            yield depth, node

    return [group for _depth, group in sorted(below(network, 0), key=lambda found: -found[0])]


def in_order(node: Node, names: Sequence[str]) -> Node:
    """The same network with the members of every group in the order of ``names``.

    A group stands where its first element stands, so two descriptions of one network give equal
    trees.  Every element must be among ``names``.
    """
    place = {name: index for index, name in enumerate(names)}

    def ordered(part: Node) -> Node:
        if isinstance(part, Element):
            return part
        members = sorted(
            map(ordered, part.members), key=lambda m: min(place[name] for name in elements(m))
        )
        return type(part)(tuple(members))

    return ordered(node)
