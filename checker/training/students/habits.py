"""What one student does alike all over a page.

How common each habit is, is an assumption without a source; the weights only see to it that every
habit turns up.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

from checker.problem.network import Element, Node, Series, elements
from checker.training.students.numbers import NumberHabit
from checker.training.students.working import Key, Pen

ROOT_C = ("C_{eq}", "C_{eq}", "C_{T}", "C_{tot}", "C_{total}", "C", "C_{e}", "C_{AB}")
ROOT_Q = ("", "", "_{T}", "_{tot}", "_{total}", "_{eq}")
SUPPLY = ("", "", "_{T}", "_{s}", "_{0}", "_{tot}", "_{total}")
WORDS = ("left", "right", "top", "bottom")


@dataclass(frozen=True)
class Habits:
    """One student's ways; see ``draw`` for the choices."""

    numbers: NumberHabit
    pen: Pen
    group_label: str  # digits | comma | letters | prime | eq | kind | words | none
    root_label: str
    subscripts: bool  # C_{1} or C1
    charge: str  # Q | q
    voltage: str  # V | ΔV | U
    energy: str  # U | E | W
    total_suffix: str
    supply_suffix: str
    units: str  # all | end | none | base
    rescales: bool  # 1068 pC written as 1.07 nC
    fractions: bool  # exact fractions where they are short
    carries: str  # rounded | exact | mixed
    combining: str  # pairwise | at once | mixed
    series_rule: str  # reciprocal | product | inverse
    reciprocal_sum: str  # common | decimal | none
    layout: str  # chain | lines | continued
    approx: bool
    shows_symbols: float
    shows_numbers: float
    middle: float  # probability of a collapsed step such as 48/16
    words: float
    connective: str  # so | ∴ | → | ⇒ | since | ""
    same: str  # statement | chain | word | silent
    refers_to_group: bool  # V1 = Q/C1 rather than Q1/C1
    difference: float
    divider: float
    several: float  # probability of joining two short results on a line
    table: str  # none | rows | columns
    lists_givens: bool
    answers: bool  # restates answers at the end
    silent: float  # probability that a step is not written at all
    inline: float
    order: str  # derived | symbols | random
    checks: float  # probability of adding up voltages or charges at the end
    bars: float  # C2 ∥ C3 written for a parallel group
    converts: float  # 1070 pC = 1.07 nC


def draw(rng: random.Random) -> Habits:
    """A random student."""
    units = rng.choices(("all", "end", "none", "base"), (3, 4, 2, 1.3))[0]
    comma = rng.random() < 0.1
    times = rng.choices(("×", "·", "()"), (5, 3, 1))[0]
    truncates = rng.random() < 0.12
    numbers = NumberHabit(
        figures=rng.choices((2, 3, 4, 5), (1.5, 5, 2.5, 1))[0],
        truncates=truncates,
        strips_zeros=rng.random() < 0.6,
        rounds_tens=rng.random() < 0.3,
        comma=comma,
        times="·" if times == "·" else "×",
        power=(rng.choice(("sci", "eng")) if units == "base" else ""),
    )
    subscripts = rng.random() < 0.75
    pen = Pen(
        stacked=rng.random() < 0.65,
        times=times,
        # Without subscripts CtotV would run together.
        symbol_times=rng.choices(("", "·", "×"), (6 if subscripts else 0, 2, 2))[0],
        half=rng.choice(("fraction", "fraction", "0.5")),
        inverse_power=rng.random() < 0.08,
        comma=comma,
    )
    voltage = rng.choices(("V", "ΔV", "U"), (7, 1.5, 1))[0]
    shows_numbers = rng.choice((1.0, 1.0, 0.9, 0.6, 0.2))
    group_label = rng.choices(
        ("digits", "comma", "letters", "prime", "eq", "kind", "words", "none"),
        (6, 0.7, 1, 1, 1, 1, 0.7, 0.5),
    )[0]
    if group_label == "comma" and not subscripts:
        group_label = "digits"  # "C1,2" would read as a list
    return Habits(
        numbers=numbers,
        pen=pen,
        group_label=group_label,
        root_label=rng.choice([t for t in ROOT_C if t != "C_{AB}" or group_label != "letters"]),
        subscripts=subscripts,
        charge=rng.choices(("Q", "q"), (8, 1))[0],
        voltage=voltage,
        energy=rng.choice(("E", "W") if voltage == "U" else ("U", "U", "E", "W")),
        total_suffix=rng.choice(ROOT_Q),
        # Where groups are called s and p, s cannot be the supply as well.
        supply_suffix=rng.choice([t for t in SUPPLY if t != "_{s}" or group_label != "kind"]),
        units=units,
        rescales=rng.random() < 0.5,
        fractions=rng.random() < 0.12 and units != "base",
        carries=rng.choice(("rounded", "rounded", "exact", "mixed")),
        combining=rng.choice(("pairwise", "at once", "mixed")),
        series_rule=rng.choices(("reciprocal", "product", "inverse"), (4, 3, 1))[0],
        reciprocal_sum=rng.choice(("common", "decimal", "none")),
        layout=rng.choices(("chain", "lines", "continued"), (5, 2, 2))[0],
        approx=rng.random() < 0.2,
        shows_symbols=rng.choice((1.0, 0.8, 0.5, 0.2, 0.0)),
        shows_numbers=shows_numbers,
        middle=rng.choice((0.0, 0.2, 0.6)),
        words=rng.choice((0.0, 0.0, 0.2, 0.5)),
        connective=rng.choice(("", "", "so", "∴", "→", "⇒", "since")),
        same=rng.choice(("statement", "statement", "chain", "word", "silent")),
        refers_to_group=rng.random() < 0.4,
        difference=rng.choice((0.0, 0.3, 0.8)),
        divider=rng.choice((0.0, 0.0, 0.15, 0.6)),
        several=rng.choice((0.0, 0.0, 0.3, 0.7)),
        table=rng.choices(("none", "rows", "columns"), (9, 1, 1))[0],
        lists_givens=rng.random() < 0.25,
        answers=rng.random() < 0.2,
        silent=rng.choices((0.0, 0.1, 0.4, 1.0), (12, 4, 4, 1))[0],
        inline=rng.choice((0.0, 0.0, 0.3)),
        order=rng.choices(("derived", "symbols", "random"), (5, 2, 2))[0],
        checks=rng.choice((0.0, 0.0, 0.0, 0.5)),
        bars=rng.choice((0.0, 0.0, 0.0, 0.6)),
        converts=rng.choice((0.0, 0.0, 0.5)),
    )


def typed_label(text: str) -> str:
    """A label with its index on the line: C12, Ceq."""
    return text.replace("_{", "").replace("}", "")


class Labels:
    """The names one student gives; a group keeps the name it got first."""

    def __init__(self, habits: Habits, network: Node) -> None:
        self._habits = habits
        self._network = network
        self._suffixes: dict[Node, str] = {}
        self._kinds = {"s": 0, "p": 0}

    def of(self, key: Key) -> str:
        """Markup of the label of a quantity."""
        symbol, node = key
        habits = self._habits
        if symbol == "C" and node == self._network:
            lettered = not elements(node)[0][1:].isdigit()
            text = "C_{eq}" if lettered and habits.root_label == "C_{AB}" else habits.root_label
        else:
            letter = {"C": "C", "Q": habits.charge, "V": habits.voltage, "U": habits.energy}[symbol]
            text = letter + self._suffix(symbol, node)
        if habits.subscripts:
            return text
        return typed_label(text)

    def opaque(self, node: Node) -> bool:
        """Whether the label of a group does not say which elements it is."""
        return (
            not isinstance(node, Element)
            and node != self._network
            and self._habits.group_label not in ("digits", "comma")
        )

    def _suffix(self, symbol: str, node: Node) -> str:
        if node == self._network:
            if symbol == "V":
                return self._habits.supply_suffix
            return self._habits.total_suffix
        if isinstance(node, Element):
            return f"_{{{node.name[1:]}}}"
        if node not in self._suffixes:
            self._suffixes[node] = self._new_suffix(node)
        return self._suffixes[node]

    def _new_suffix(self, node: Node) -> str:
        names = sorted(name[1:] for name in elements(node))
        count = len(self._suffixes)
        style = self._habits.group_label
        if style == "comma":
            return f"_{{{','.join(names)}}}"
        if style == "prime" and count < 3:
            return "'" * (count + 1)
        if style == "letters" and count < 6 and names[0].isdigit():
            return f"_{{{'ABDGHK'[count]}}}"
        if style == "eq":
            return f"_{{eq{count + 1}}}"
        if style == "words" and count < 4:
            return f"_{{{WORDS[count]}}}"
        if style == "kind":
            letter = "s" if isinstance(node, Series) else "p"
            self._kinds[letter] += 1
            return f"_{{{letter}{'' if self._kinds[letter] == 1 else self._kinds[letter]}}}"
        return f"_{{{''.join(names)}}}"
