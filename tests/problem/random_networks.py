"""Random series/parallel networks, and any network as branches between nodes."""

from __future__ import annotations

from random import Random

from checker.exact import Fraction
from checker.problem.given import Problem, make_problem
from checker.problem.network import Element, Node, Series, parallel, series
from checker.quantity import Quantity


def random_network(rng: Random, names: list[str]) -> Node:
    """A network of all ``names``, split at random into series and parallel groups."""
    if len(names) == 1:
        return Element(names[0])
    cuts = sorted(rng.sample(range(1, len(names)), rng.randint(1, min(3, len(names) - 1))))
    pieces = [names[a:b] for a, b in zip([0, *cuts], [*cuts, len(names)], strict=True)]
    return rng.choice([series, parallel])(*(random_network(rng, piece) for piece in pieces))


def random_problem(rng: Random, largest: int = 10) -> Problem:
    names = [f"C{number}" for number in range(1, rng.randint(1, largest) + 1)]
    order = rng.sample(names, len(names))
    network = random_network(rng, order)
    capacitors = {
        name: Quantity(Fraction(rng.randint(1, 999), 10 ** rng.randint(6, 9)), "capacitance")
        for name in names
    }
    supply = Quantity(Fraction(rng.randint(1, 4000), 10), "voltage")
    return make_problem("random", supply, network, capacitors)


def branches_of(network: Node) -> dict[str, tuple[str, str]]:
    """The nodes that each element of ``network`` joins; the terminals are "a" and "b"."""
    branches: dict[str, tuple[str, str]] = {}
    inner = 0

    def lay(node: Node, start: str, end: str) -> None:
        nonlocal inner
        if isinstance(node, Element):
            branches[node.name] = (start, end)
            return
        for index, member in enumerate(node.members):
            if not isinstance(node, Series):
                lay(member, start, end)
                continue
            last = index == len(node.members) - 1
            inner += not last
            nxt = end if last else f"n{inner}"
            lay(member, start, nxt)
            start = nxt

    lay(network, "a", "b")
    return branches
