"""The reference written out as a person would write it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from checker.problem.caution import caution
from checker.problem.labels import labels
from checker.problem.network import Element, Node, Series, nodes
from checker.problem.reduction import Reference, State
from checker.quantity import (
    Dimension,
    Quantity,
    Unit,
    format_quantity,
    parse_quantity,
    unit_for,
)

DEFAULT_FIGURES = 3
EXACT = 12  # figures for what is given, which is not to be rounded
_SYMBOLS: Mapping[str, Dimension] = {
    "C": "capacitance",
    "Q": "charge",
    "V": "voltage",
    "U": "energy",
}


def write_solution(reference: Reference) -> str:
    """The whole solution as text: the givens, the reduction, the walk back, a table.

    Values are exact until they are written; "≈" stands where writing rounded one, to the problem's
    significant figures (3 if it names none).
    """
    pen = _Pen(reference)
    blocks = [[reference.problem.title], _givens(pen)]
    if reference.stages:
        blocks.append(["Reduction", *_reduction(pen)])
    if reference.problem.supply is not None:
        blocks.append(["Walk back", *_walk_back(pen)])
        if "energy" in reference.problem.find:
            blocks.append(["Stored energy", *_energies(pen)])
    blocks.append(_table(pen))
    if any("≈" in line for block in blocks for line in block):
        figures = (
            "1 significant figure" if pen.figures == 1 else f"{pen.figures} significant figures"
        )
        blocks.append(
            [f"≈ marks a value rounded to {figures} for writing; the working keeps the exact one."]
        )
    notice = caution(reference)
    if notice:
        blocks.append([notice])
    return "\n\n".join("\n".join(block) for block in blocks) + "\n"


class _Pen:
    """Names and values of one reference as they are written."""

    def __init__(self, reference: Reference) -> None:
        self.reference = reference
        self.network = reference.problem.network
        self.figures = reference.problem.significant_figures or DEFAULT_FIGURES
        self.supply = reference.problem.supply
        self.elements = [Element(name) for name in reference.problem.capacitors]
        self._labels = labels(self.network)
        self._units = self._usual_units()

    def _usual_units(self) -> dict[Dimension, Unit]:
        """For each dimension the unit that suits most of the elements."""
        units: dict[Dimension, Unit] = {}
        for dimension in _SYMBOLS.values():
            values = [getattr(self.state(element), dimension) for element in self.elements]
            suiting = Counter(unit_for(Quantity(value, dimension)) for value in values if value)
            units.update((dimension, unit) for unit, _count in suiting.most_common(1))
        return units

    def state(self, node: Node) -> State:
        return self.reference.states[node]

    def symbol(self, letter: str, node: Node) -> str:
        """C12, Q3; for the whole network Ceq, Q, V, U."""
        if node == self.network and not isinstance(node, Element):
            return "Ceq" if letter == "C" else letter
        return letter + self._labels[node]

    def written(self, letter: str, node: Node) -> str:
        return self._format(letter, node)[0]

    def result(self, letter: str, node: Node) -> str:
        """The value behind its equals sign: "= 3 µF", "≈ 0.833 µF"."""
        text, exact = self._format(letter, node)
        return f"{'=' if exact else '≈'} {text}"

    def _format(self, letter: str, node: Node) -> tuple[str, bool]:
        dimension = _SYMBOLS[letter]
        quantity = Quantity(getattr(self.state(node), dimension), dimension)
        given = (letter == "C" and isinstance(node, Element)) or quantity == self.supply
        figures = EXACT if given else self.figures
        text = format_quantity(quantity, figures, self._units[dimension])
        return text, parse_quantity(text) == quantity


def _givens(pen: _Pen) -> list[str]:
    problem = pen.reference.problem
    values = ", ".join(
        f"{name} = {format_quantity(value, EXACT)}" for name, value in problem.capacitors.items()
    )
    supply = f"V = {format_quantity(problem.supply, EXACT)}, " if problem.supply is not None else ""
    return [f"Given: {supply}{values}"]


def _reduction(pen: _Pen) -> list[str]:
    lines = []
    for stage in pen.reference.stages:
        symbols = [pen.symbol("C", part) for part in stage.parts]
        values = [pen.written("C", part) for part in stage.parts]
        lines.append(f"{_lead(stage.number)}{_listed(symbols)} are in {stage.kind}:")
        result = pen.result("C", stage.node)
        if stage.kind == "series":
            formula, numbers = (
                f"1/({' + '.join(f'1/{term}' for term in terms)})" for terms in (symbols, values)
            )
        else:
            formula, numbers = (" + ".join(terms) for terms in (symbols, values))
        lines.append(f"    {pen.symbol('C', stage.node)} = {formula} = {numbers} {result}")
    return lines


def _walk_back(pen: _Pen) -> list[str]:
    whole = pen.network
    number = len(pen.reference.stages) + 1
    lines = [f"{_lead(number)}The whole network is across the supply: {_charge(pen, whole)}"]
    for node in nodes(whole):
        if isinstance(node, Element):
            continue
        number += 1
        in_series = isinstance(node, Series)
        shared = "Q" if in_series else "V"
        same = " = ".join(pen.symbol(shared, part) for part in node.members)
        lines.append(
            f"{_lead(number)}{_listed([pen.symbol('C', part) for part in node.members])} are in "
            f"{'series: same charge' if in_series else 'parallel: same voltage'} "
            f"{same} = {pen.symbol(shared, node)} {pen.result(shared, node)}"
        )
        each = _voltage if in_series else _charge
        lines += [f"    {each(pen, part)}" for part in node.members]
    return lines


def _charge(pen: _Pen, node: Node) -> str:
    c, v = pen.symbol("C", node), pen.symbol("V", node)
    numbers = f"{pen.written('C', node)} × {pen.written('V', node)}"
    return f"{pen.symbol('Q', node)} = {c} {v} = {numbers} {pen.result('Q', node)}"


def _voltage(pen: _Pen, node: Node) -> str:
    q, c = pen.symbol("Q", node), pen.symbol("C", node)
    numbers = f"{pen.written('Q', node)} / {pen.written('C', node)}"
    return f"{pen.symbol('V', node)} = {q}/{c} = {numbers} {pen.result('V', node)}"


def _energies(pen: _Pen) -> list[str]:
    lines = []
    whole = [] if isinstance(pen.network, Element) else [pen.network]
    for node in [*pen.elements, *whole]:
        c, v = pen.symbol("C", node), pen.symbol("V", node)
        numbers = f"½ × {pen.written('C', node)} × ({pen.written('V', node)})²"
        lines.append(f"{pen.symbol('U', node)} = ½ {c} {v}² = {numbers} {pen.result('U', node)}")
    return lines


def _table(pen: _Pen) -> list[str]:
    """C, Q, ΔV and U = C ΔV²/2 of every element, group and the whole."""
    letters = "CQVU" if pen.reference.problem.supply is not None else "C"
    rows = [["", *("ΔV" if letter == "V" else letter for letter in letters)]]
    for node in pen.reference.states:
        name = node.name if isinstance(node, Element) else pen.symbol("C", node)
        rows.append([name, *(pen.written(letter, node) for letter in letters)])
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
            for row in rows]  # fmt: skip


def _lead(number: int) -> str:
    return f"{number}.".ljust(4)


def _listed(names: Sequence[str]) -> str:
    return f"{', '.join(names[:-1])} and {names[-1]}"
