"""Invented problems: network shapes, values as textbooks and component drawers have them."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from checker.exact import Fraction, rational
from checker.problem.network import Element, Node, Parallel, Series, elements

# A shape is a tree over places; the numbers become C1, C2, … in this order.
Shape = int | tuple

SHAPES: tuple[tuple[float, Shape], ...] = (  # weight (an assumption, no source), shape
    (2.0, ("s", 1, 2)),
    (1.0, ("p", 1, 2)),
    (3.0, ("s", 1, 2, 3)),
    (2.0, ("p", 1, 2, 3)),
    (6.0, ("s", 1, ("p", 2, 3))),
    (6.0, ("p", ("s", 1, 2), 3)),
    (4.0, ("s", ("p", 1, 2), ("p", 3, 4))),
    (4.0, ("p", ("s", 1, 2), ("s", 3, 4))),
    (3.0, ("s", 1, 2, ("p", 3, 4))),
    (3.0, ("p", 1, 2, ("s", 3, 4))),
    (3.0, ("s", 1, ("p", 2, ("s", 3, 4)))),
    (3.0, ("p", 1, ("s", 2, ("p", 3, 4)))),
    (2.0, ("s", 1, ("p", 2, 3, 4))),
    (2.0, ("p", 1, ("s", 2, 3, 4))),
    (1.0, ("s", 1, 2, 3, 4)),
    (2.0, ("s", 1, ("p", ("s", 2, 3), 4), 5)),
    (2.0, ("s", ("p", 1, 2), ("p", 3, 4), 5)),
    (2.0, ("p", ("s", 1, 2), ("s", 3, ("p", 4, 5)))),
    (1.5, ("p", 1, ("s", 2, ("p", 3, ("s", 4, 5))))),
    (1.0, ("s", ("p", 1, 2), ("p", 3, 4), ("p", 5, 6))),
    (1.0, ("p", ("s", 1, 2, 3), ("s", 4, ("p", 5, 6)))),
    (0.7, ("s", 1, ("p", 2, ("s", 3, ("p", 4, 5)), 6), 7)),
    (0.5, ("p", ("s", 1, ("p", 2, 3)), ("s", ("p", 4, 5), 6), ("s", 7, 8))),
    (0.5, ("s", ("p", 1, 2), 3, ("p", ("s", 4, 5), 6), ("p", 7, 8))),
    (0.5, ("s", 1, ("p", 2, ("s", 3, ("p", 4, ("s", 5, ("p", 6, ("s", 7, 8)))))))),
)

E12 = (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82)  # IEC 60063
SUPPLIES = (
    *(1.5, 3, 4.5, 5, 6, 9, 10, 12, 15, 18, 20, 24, 30, 36, 48, 50, 60, 100, 120, 150, 200, 230),
    *(240, 300, 350, 400, 500, "9.00", "12.0", "24.0"),
)  # V
PREFIX = {"k": 3, "": 0, "m": -3, "µ": -6, "n": -9, "p": -12}


@dataclass(frozen=True)
class Given:
    """A datum as the problem prints it: number text, unit text, SI value."""

    number: str
    unit: str
    value: Fraction

    @property
    def text(self) -> str:
        return f"{self.number} {self.unit}"


@dataclass(frozen=True)
class Circuit:
    """An invented problem before it becomes a ``Problem``; ``prefix`` is the commonest one."""

    network: Node
    capacitors: dict[str, Given]
    supply: Given
    prefix: str
    find: tuple[str, ...]
    significant_figures: int | None = None


def given(text: str) -> Given:
    """A datum from text such as ``4.7 µF``."""
    number, unit = text.split()
    return Given(number, unit, rational(number) * Fraction(10) ** PREFIX[unit[:-1]])


def tree(shape: Shape, names: Sequence[str] | None = None) -> Node:
    """The network of a shape; its places are named C1, C2, … or by ``names``."""
    if isinstance(shape, int):
        return Element(names[shape - 1] if names else f"C{shape}")
    members = tuple(tree(part, names) for part in shape[1:])
    return Series(members) if shape[0] == "s" else Parallel(members)


def connection(node: Node) -> str:
    """The network as a problem file writes it."""
    if isinstance(node, Element):
        return node.name
    word = "series" if isinstance(node, Series) else "parallel"
    return f"{word}({', '.join(connection(member) for member in node.members)})"


def capacitance(node: Node, values: dict[str, Fraction]) -> Fraction:
    """Equivalent capacitance, written anew here: the truth must not come from what it judges."""
    if isinstance(node, Element):
        return values[node.name]
    parts = [capacitance(member, values) for member in node.members]
    if isinstance(node, Parallel):
        return sum(parts, Fraction(0))
    return 1 / sum((1 / part for part in parts), Fraction(0))


def _value_texts(rng: random.Random, count: int) -> list[tuple[str, str]]:
    """Number and prefix of each element, all in one style of value."""
    prefix = rng.choices(("µ", "n", "p"), (7, 2, 2))[0]
    style = rng.choices(("integers", "E12", "zeros", "mixed"), (4, 3, 2, 1.5))[0]
    if style == "integers":
        pool = rng.choice((range(1, 13), range(2, 31), range(2, 61), range(10, 101, 5)))
        return [(str(n), prefix) for n in rng.sample(list(pool), count)]
    if style == "E12":
        decades = rng.choice(((1,), (1, 10), (10, 100)))
        picks = rng.sample([(n, d) for n in E12 for d in decades], count)
        return [(f"{n / 10 * d:g}", prefix) for n, d in picks]
    if style == "zeros":
        places = rng.choice((1, 2, 3))
        top = 120 if places < 3 else 90
        return [(f"{n / 10:.{places}f}", prefix) for n in rng.sample(range(10, top), count)]
    # Two neighbouring prefixes in one circuit, so that prefixes can be mixed up.
    prefix = rng.choice(("µ", "n"))
    lower = {"µ": "n", "n": "p"}[prefix]
    high, low = rng.sample(E12, count), rng.sample(E12, count)
    small = [k < max(1, count // 3) for k in range(count)]
    rng.shuffle(small)
    return [
        (str(low[k] * 10), lower) if small[k] else (f"{high[k] / 10:g}", prefix)
        for k in range(count)
    ]


def states(
    network: Node, values: dict[str, Fraction], supply: Fraction
) -> dict[tuple[str, Node], Fraction]:
    """C, Q, V and U of every group and element, keyed ("Q", node)."""
    found: dict[tuple[str, Node], Fraction] = {}

    def walk(node: Node, volts: Fraction) -> None:
        c = capacitance(node, values)
        found["C", node], found["V", node] = c, volts
        found["Q", node], found["U", node] = c * volts, c * volts * volts / 2
        if not isinstance(node, Element):
            for member in node.members:
                share = c / capacitance(member, values) if isinstance(node, Series) else 1
                walk(member, volts * share)

    walk(network, supply)
    return found


def collides(network: Node, values: dict[str, Fraction], supply: Fraction, within: float) -> bool:
    """Whether two quantities that physics does not make equal lie within a relative distance."""
    found = states(network, values, supply)
    series_groups: dict[Node, Node] = {}
    for _, node in list(found):
        if isinstance(node, Series):
            for member in node.members:
                series_groups[member] = node
    for symbol in "CV":
        numbers = [(float(v), k[1]) for k, v in found.items() if k[0] == symbol]
        if symbol == "V":  # one voltage for all that lie in parallel
            numbers = [(v, n) for v, n in numbers if n == network or n in series_groups]
        numbers.sort(key=lambda item: item[0])
        for (a, _), (b, _) in pairwise(numbers):
            if b - a < within * b:
                return True
    charges = sorted(float(v) for (s, n), v in found.items() if s == "Q" and n not in series_groups)
    return any(b - a < within * b for a, b in pairwise(charges))


def circuit(rng: random.Random, shape: Shape | None = None, distinct: bool = True) -> Circuit:
    """A random problem; with ``distinct`` no two of its quantities are within 1 %."""
    for _ in range(60):
        picked = shape or rng.choices([s for _, s in SHAPES], [w for w, _ in SHAPES])[0]
        names = list(elements(tree(picked)))
        style = rng.random()
        if style < 0.25:
            rng.shuffle(names)  # C1 need not come first in the circuit
        elif style < 0.29:
            names = [f"C{letter}" for letter in "abcdfghk"[: len(names)]]
        network = tree(picked, names)
        texts = _value_texts(rng, len(names))
        capacitors = {n: given(f"{t} {p}F") for n, (t, p) in zip(sorted(names), texts, strict=True)}
        supply = given(
            rng.choice(("1 kV", "1.0 kV")) if rng.random() < 0.06 else f"{rng.choice(SUPPLIES)} V"
        )
        values = {n: g.value for n, g in capacitors.items()}
        if not distinct or not collides(network, values, supply.value, 0.01):
            break
    prefixes = [p for _, p in texts]
    find = ["equivalent capacitance"]
    size = len(names)
    if rng.random() < (0.85 if size <= 5 else 0.4):
        find += rng.choice((["charge"], ["voltage"], ["charge", "voltage"], ["charge", "voltage"]))
        if rng.random() < 0.2:
            find.append("energy")
    commonest = max(sorted(set(prefixes)), key=prefixes.count)
    asked_figures = rng.choice((None, None, None, 2, 3))
    return Circuit(network, capacitors, supply, commonest, tuple(find), asked_figures)
