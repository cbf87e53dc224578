"""Elements combined that lie neither in series nor in parallel: the circuit misread."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import product

from checker.problem.network import Element, Node, Parallel, Series
from checker.training.students.circuits import Circuit
from checker.training.students.plan import rest
from checker.training.students.record import Unsuitable


def misread(circuit: Circuit, rng: random.Random) -> Circuit:
    """Another tree over the same elements, as one may misread the drawing.

    A member outside a group is drawn into it: s(a, p(b, c)) becomes p(s(a, b), c) or s(p(a, b), c).
    Raises Unsuitable where there is no such pair.
    """
    choices: list[Node] = []
    for outer in _groups(circuit.network):
        for inner in _groups(outer)[1:]:
            if inner in outer.members:
                for lone, drawn in product(_elements(outer), _elements(inner)):
                    choices += [
                        _with(circuit.network, outer, whole)
                        for whole in _drawn_in(outer, inner, lone, drawn)
                    ]
    if not choices:
        raise Unsuitable
    return replace(circuit, network=rng.choice(choices))


def _drawn_in(
    outer: Series | Parallel, inner: Series | Parallel, lone: Element, drawn: Element
) -> Iterator[Node]:
    """``outer`` with its member ``lone`` combined with the member ``drawn`` of ``inner``."""
    couple = tuple(sorted((lone, drawn), key=lambda element: element.name))
    left = rest(inner, drawn)
    others = tuple(m for m in outer.members if m not in (inner, lone))
    new = type(inner)((type(outer)(couple), *left))  # combined as the outer group combines
    yield type(outer)((new, *others)) if others else new
    remaining = left[0] if len(left) == 1 else type(inner)(left)  # or as the inner one does
    flat = remaining.members if isinstance(remaining, type(outer)) else (remaining,)
    yield type(outer)((type(inner)(couple), *flat, *others))


def _elements(group: Series | Parallel) -> list[Element]:
    return [member for member in group.members if isinstance(member, Element)]


def _groups(node: Node) -> list[Series | Parallel]:
    if isinstance(node, Element):
        return []
    return [node, *(g for m in node.members for g in _groups(m))]


def _with(node: Node, old: Node, new: Node) -> Node:
    """The tree with ``old`` replaced, inner groups of one kind merged."""
    if node == old:
        return new
    if isinstance(node, Element):
        return node
    members: list[Node] = []
    for member in node.members:
        changed = _with(member, old, new)
        members.extend(changed.members if isinstance(changed, type(node)) else [changed])
    return type(node)(tuple(members))
