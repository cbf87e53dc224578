"""Which values honest rounding could give: intervals carried along every route.

Used to make sure that an invented slip cannot be explained by rounding, nor a second slip by the
first.  Intervals are floats with a hair of slack; correlations are ignored, so they are too wide
rather than too narrow.
"""

from __future__ import annotations

from collections.abc import Mapping

from checker.problem.network import Element, Node, Parallel, Series
from checker.training.students.numbers import Written
from checker.training.students.working import (
    Bar,
    Expr,
    Key,
    Less,
    Num,
    Over,
    Ref,
    Square,
    Sum,
    Times,
)

Interval = tuple[float, float]
HAIR = 1e-9


def value_range(expr: Expr, known: Mapping[Key, Interval]) -> Interval | None:
    """The range of a tree, None where a reference is not known or a difference is not positive."""
    match expr:
        case Ref(key):
            return known.get(key)
        case Num(value):
            return float(value), float(value)
        case Sum(parts) | Bar(parts):
            ranges = [value_range(p, known) for p in parts]
            if None in ranges:
                return None
            return sum(r[0] for r in ranges if r), sum(r[1] for r in ranges if r)
        case Times(parts):
            low = high = 1.0
            for part in parts:
                found = value_range(part, known)
                if found is None:
                    return None
                low, high = low * found[0], high * found[1]
            return low, high
        case Over(a, b):
            top, bottom = value_range(a, known), value_range(b, known)
            if top is None or bottom is None or bottom[0] <= 0:
                return None
            return top[0] / bottom[1], top[1] / bottom[0]
        case Less(a, b):
            left, right = value_range(a, known), value_range(b, known)
            if left is None or right is None or left[1] - right[0] <= 0:
                return None
            return max(left[0] - right[1], 0.0), left[1] - right[0]
        case Square(base):
            found = value_range(base, known)
            return None if found is None else (found[0] ** 2, found[1] ** 2)


def parents(network: Node) -> dict[Node, Series | Parallel]:
    """The group each node of a network belongs to."""
    found: dict[Node, Series | Parallel] = {}

    def walk(node: Node) -> None:
        if not isinstance(node, Element):
            for member in node.members:
                found[member] = node
                walk(member)

    walk(network)
    return found


def routes(key: Key, network: Node, above: Mapping[Node, Series | Parallel]) -> list[Expr]:
    """Valid ways to a quantity from its neighbours."""
    symbol, node = key
    c, q, v = (Ref((s, node)) for s in "CQV")
    out: list[Expr] = []
    group = above.get(node)
    if symbol == "C":
        if isinstance(node, Parallel):
            out.append(Sum(tuple(Ref(("C", m)) for m in node.members)))
        elif isinstance(node, Series):
            one = Num(1)  # type: ignore[arg-type]
            out.append(Over(one, Sum(tuple(Over(one, Ref(("C", m))) for m in node.members))))
        return out
    if symbol == "U":
        half, two = Num(0.5), Num(2)  # type: ignore[arg-type]
        out = [Times((half, c, v, v)), Times((half, q, v)), Over(Times((q, q)), Times((two, c)))]
        if not isinstance(node, Element):
            out.append(Sum(tuple(Ref(("U", m)) for m in node.members)))
        return out
    out.append(Times((c, v)) if symbol == "Q" else Over(q, c))
    shared = Series if symbol == "Q" else Parallel
    if group is not None:
        if isinstance(group, shared):
            out.append(Ref((symbol, group)))
            out.extend(Ref((symbol, m)) for m in group.members if m != node)
        else:
            total: Expr = Ref((symbol, group))
            for member in group.members:
                if member != node:
                    total = Less(total, Ref((symbol, member)))
            out.append(total)
            ratio = (c, Ref(("C", group))) if symbol == "Q" else (Ref(("C", group)), c)
            out.append(Over(Times((Ref((symbol, group)), ratio[0])), ratio[1]))
    if not isinstance(node, Element):
        if isinstance(node, shared):
            out.extend(Ref((symbol, m)) for m in node.members)
        else:
            out.append(Sum(tuple(Ref((symbol, m)) for m in node.members)))
    return out


class Honest:
    """What the page so far allows; feed it every quantity in the order of writing."""

    def __init__(self, network: Node, known: Mapping[Key, Interval]) -> None:
        self._network = network
        self._above = parents(network)
        self.known: dict[Key, Interval] = dict(known)

    def expected(self, key: Key, formula: Expr) -> Interval | None:
        """The hull of all routes, among them ``formula``, from what is known."""
        found = [
            r
            for r in (
                value_range(e, self.known)
                for e in [formula, *routes(key, self._network, self._above)]
            )
            if r is not None
        ]
        if not found:
            return None
        return min(r[0] for r in found) * (1 - HAIR), max(r[1] for r in found) * (1 + HAIR)

    def take(self, key: Key, expected: Interval | None, written: Written | None) -> None:
        """Learn a quantity: exact where it came out even, else what its figures may stand for."""
        if written is None:
            if expected is not None:
                self.known[key] = expected
            return
        value, step = float(written.value), float(written.step)
        even = expected is not None and max(expected[1] - value, value - expected[0]) < 1e-8 * value
        self.known[key] = expected if even and expected else (value - step, value + step)


def explains(expected: Interval, written: Written, slack: float) -> bool:
    """Whether rounding, truncation, and ``slack`` of unseen rounding cover a written value."""
    value, step = float(written.value), float(written.step)
    return expected[0] * (1 - slack) <= value + step and value - step <= expected[1] * (1 + slack)
