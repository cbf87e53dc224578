"""The route of a student: which quantity is worked out from which, in what order."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, replace

from checker.problem.network import Element, Node, Parallel, Series
from checker.training.students.circuits import Circuit
from checker.training.students.habits import Habits
from checker.training.students.working import (
    HALF,
    ONE,
    TWO,
    Expr,
    Key,
    Less,
    Over,
    Ref,
    Square,
    Sum,
    Times,
    references,
)


@dataclass(frozen=True)
class Step:
    """One quantity found.  ``rule`` names the route; ``group`` is the group the step belongs to.

    ``more``: further quantities stated to equal it (Q1 = Q2 = Q).  ``silent``: not on the page.
    ``form`` of a series combination: reciprocal (1/C first), product, inverse, or "" elsewhere.
    """

    key: Key
    rule: str
    formula: Expr
    group: Node
    more: tuple[Key, ...] = ()
    silent: bool = False
    form: str = ""


def c(node: Node) -> Ref:
    return Ref(("C", node))


def q(node: Node) -> Ref:
    return Ref(("Q", node))


def v(node: Node) -> Ref:
    return Ref(("V", node))


def series_formula(members: tuple[Expr, ...], form: str) -> Expr:
    """The capacitance of members in series, in one of its forms."""
    if form == "product" and len(members) == 2:
        return Over(Times(members), Sum(members))
    return Over(ONE, Sum(tuple(Over(ONE, m) for m in members)))


def rest(node: Series | Parallel, member: Node) -> tuple[Node, ...]:
    return tuple(m for m in node.members if m != member)


class Planner:
    """Plans the steps of one page; ``steps`` afterwards holds them in order of derivation."""

    def __init__(self, circuit: Circuit, habits: Habits, rng: random.Random) -> None:
        self.network = circuit.network
        self.habits = habits
        self.rng = rng
        self.find = circuit.find
        self.steps: list[Step] = []
        self.known: set[Key] = {("V", self.network)}

    def plan(self) -> tuple[Step, ...]:
        """All steps, in the order in which they are written."""
        self._reduce(self.network)
        asked = [s for s in ("charge", "voltage", "energy") if s in self.find]
        if asked:
            self._walk_back(self.network)
            self._energies()
        return self._ordered()

    def _add(self, step: Step) -> None:
        if step.key in self.known:
            return
        self.steps.append(step)
        self.known.update((step.key, *step.more))

    def _chance(self, probability: float) -> bool:
        return self.rng.random() < probability

    # Reduction

    def _reduce(self, node: Node) -> None:
        if isinstance(node, Element):
            return
        groups = [m for m in node.members if not isinstance(m, Element)]
        if self._chance(0.3):
            self.rng.shuffle(groups)
        for member in groups:
            self._reduce(member)
        members = list(node.members)
        pairwise = len(members) > 2 and (
            self.habits.combining == "pairwise"
            or (self.habits.combining == "mixed" and self._chance(0.5))
        )
        if pairwise:
            if self._chance(0.4):
                self.rng.shuffle(members)
            while len(members) > 2:
                place = {e: i for i, e in enumerate(node.members)}
                pair = sorted(_flat(node, members[:2]), key=lambda m: place[m])
                partial = type(node)(tuple(pair))
                self._combine(partial, members[:2])
                members = [partial, *members[2:]]
        self._combine(node, members)

    def _combine(self, node: Series | Parallel, members: list[Node]) -> None:
        parts: list[Expr] = []
        for member in members:
            step = next((s for s in self.steps if s.key == ("C", member)), None)
            if step and self._chance(self.habits.inline):
                self.steps[self.steps.index(step)] = replace(step, silent=True)
                parts.append(step.formula)
            else:
                parts.append(c(member))
        if isinstance(node, Parallel):
            self._add(Step(("C", node), "parallel", Sum(tuple(parts)), node))
            return
        form = self.habits.series_rule
        if form == "product" and len(parts) > 2:
            form = "reciprocal"
        formula = series_formula(tuple(parts), form)
        self._add(Step(("C", node), "series", formula, node, form=form))

    # Walking back

    def _charge(self, node: Node) -> None:
        """The charge of a group whose capacitance and voltage are known."""
        self._add(Step(("Q", node), "law", Times((c(node), v(node))), node))

    def _wants(self, member: Node, symbol: str) -> bool:
        if not isinstance(member, Element):
            return True
        word = {"Q": "charge", "V": "voltage"}[symbol]
        return word in self.find or "energy" in self.find

    def _walk_back(self, node: Node) -> None:
        if isinstance(node, Series):
            self._walk_series(node)
        elif isinstance(node, Parallel):
            self._walk_parallel(node)

    def _walk_series(self, node: Series) -> None:
        by_divider = (
            ("V", node) in self.known
            and all(self._wants(m, "V") for m in node.members)
            and self._chance(self.habits.divider)
        )
        members = list(node.members)
        if self._chance(0.15):
            self.rng.shuffle(members)
        if not by_divider:
            self._charge(node)
            told = tuple(m for m in node.members if self._wants(m, "Q"))
            self._same("Q", node, told)
        for place, member in enumerate(members):
            if not (self._wants(member, "V")):
                continue
            others = rest(node, member)
            volts_known = ("V", node) in self.known and all(("V", m) in self.known for m in others)
            if volts_known and place and self._chance(self.habits.difference):
                self._difference("V", node, member)
            elif by_divider:
                self._voltage_divider(node, member)
            else:
                source = q(node if self.habits.refers_to_group else member)
                if source.key not in self.known:
                    source = q(node)
                self._add(Step(("V", member), "law", Over(source, c(member)), node))
        for member in members:
            if isinstance(member, Parallel):
                self._walk_parallel(member)
            elif ("Q", member) not in self.known and self._wants(member, "Q"):
                self._charge(member)

    def _voltage_divider(self, node: Series, member: Node) -> None:
        others = rest(node, member)
        formula: Expr
        if len(others) == 1 and self._chance(0.7):
            share = Over(c(others[0]), Sum(tuple(c(m) for m in node.members)))
        else:
            share = Over(c(node), c(member))
        if self._chance(0.5):
            formula = Times((v(node), share))
        else:
            formula = Over(Times((v(node), share.top)), share.bottom)
        self._add(Step(("V", member), "divider", formula, node))

    def _walk_parallel(self, node: Parallel) -> None:
        if node == self.network and self._chance(0.5):
            self._charge(node)
        told = tuple(m for m in node.members if self._wants(m, "V"))
        self._same("V", node, told)
        members = list(node.members)
        if self._chance(0.15):
            self.rng.shuffle(members)
        by_divider = (
            len(members) == 2 and ("Q", node) in self.known and self._chance(self.habits.divider)
        )
        for place, member in enumerate(members):
            if not self._wants(member, "Q"):
                continue
            others = rest(node, member)
            charges = ("Q", node) in self.known and all(("Q", m) in self.known for m in others)
            if charges and place and self._chance(self.habits.difference):
                self._difference("Q", node, member)
            elif by_divider:
                share = Over(c(member), Sum(tuple(c(m) for m in node.members)))
                self._add(Step(("Q", member), "divider", Times((q(node), share)), node))
            else:
                source = v(node if self.habits.refers_to_group else member)
                if source.key not in self.known:
                    source = v(node)
                self._add(Step(("Q", member), "law", Times((c(member), source)), node))
        for member in members:
            if isinstance(member, Series):
                self._walk_series(member)
        if all(("Q", m) in self.known for m in members) and self._chance(0.3):
            self._add(Step(("Q", node), "sum", Sum(tuple(q(m) for m in members)), node))

    def _difference(self, symbol: str, node: Series | Parallel, member: Node) -> None:
        others = [Ref((symbol, m)) for m in rest(node, member)]
        formula: Expr = Ref((symbol, node))
        for other in others:
            formula = Less(formula, other)
        self._add(Step((symbol, member), "difference", formula, node))

    def _same(self, symbol: str, node: Series | Parallel, members: tuple[Node, ...]) -> None:
        if not members:
            return
        keys: tuple[Key, ...] = tuple((symbol, m) for m in members)
        silent = self.habits.same == "silent"
        self._add(Step(keys[0], "same", Ref((symbol, node)), node, more=keys[1:], silent=silent))

    def _energies(self) -> None:
        if "energy" not in self.find:
            return
        nodes: list[Node] = [self.network] if self._chance(0.6) else []
        if not nodes or self._chance(0.6):
            parts = [Element(name) for name in _names(self.network)]
            nodes = [*parts, *nodes] if self._chance(0.5) else [*nodes, *parts]
        form = self.rng.choice(("CV²", "CV²", "QV", "Q²/C"))
        for node in nodes:
            has_q, has_v = ("Q", node) in self.known, ("V", node) in self.known
            formula: Expr
            if form == "QV" and has_q and has_v:
                formula = Times((HALF, q(node), v(node)))
            elif has_q and (form == "Q²/C" or not has_v):
                formula = Over(Square(q(node)), Times((TWO, c(node))))
            elif has_v:
                formula = Times((HALF, c(node), Square(v(node))))
            else:
                continue
            self._add(Step(("U", node), "energy", formula, node))

    # Order of writing

    def _ordered(self) -> tuple[Step, ...]:
        steps = [replace(s, silent=True) if self._may_be_silent(s) else s for s in self.steps]
        if self.habits.order == "derived":
            return tuple(steps)
        done: set[Key] = {("V", self.network)}
        left, out = list(steps), []
        rank = {"C": 0, "Q": 1, "V": 2, "U": 3}
        if self._chance(0.5):
            rank = {"C": 0, "V": 1, "Q": 2, "U": 3}
        while left:
            ready = [
                s
                for s in left
                if all(_is_given(r.key) or r.key in done for r in references(s.formula))
            ]
            if self.habits.order == "symbols":
                step = min(ready, key=lambda s: rank[s.key[0]])
            else:
                step = self.rng.choice(ready)
            left.remove(step)
            out.append(step)
            done.update((step.key, *step.more))
        return tuple(out)

    def _may_be_silent(self, step: Step) -> bool:
        symbol, node = step.key
        asked = node == self.network and symbol == "C"
        if isinstance(node, Element):
            asked = {"Q": "charge", "V": "voltage", "U": "energy", "C": ""}[symbol] in self.find
        return step.silent or (not asked and self._chance(self.habits.silent))


def _is_given(key: Key) -> bool:
    return key[0] == "C" and isinstance(key[1], Element)


def _names(node: Node) -> Iterator[str]:
    if isinstance(node, Element):
        yield node.name
    else:
        for member in node.members:
            yield from _names(member)


def _flat(node: Series | Parallel, members: list[Node]) -> list[Node]:
    """Members of partial groups of the same kind, unpacked."""
    out: list[Node] = []
    for member in members:
        out.extend(member.members if isinstance(member, type(node)) else [member])
    return out
