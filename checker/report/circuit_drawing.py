"""The circuit of a problem as a drawing: its network above, the supply in the wire that closes it.

Lengths are in schemdraw's units, of which a capacitor is drawn 2.4 long.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

import schemdraw
from schemdraw import elements as parts

from checker.problem.network import Element, Node, Parallel, Series
from checker.problem.problem_file import Problem
from checker.quantity import format_quantity

_LENGTH = 2.4  # of an element
_HALF = 1.05  # the room an element takes above and below its wire, with its labels
_LEAD = 0.5  # wire at both ends of a parallel group
_INK = "#20262d"
_FIGURES = 12  # what is given is not rounded


def circuit_of(problem: Problem) -> str:
    """The circuit of ``problem`` with its values, as an SVG document."""
    values = {name: format_quantity(value, _FIGURES) for name, value in problem.capacitors.items()}
    supply = format_quantity(problem.supply, _FIGURES) if problem.supply else ""
    return circuit_svg(problem.network, values, supply)


def circuit_svg(network: Node, values: Mapping[str, str], supply: str = "") -> str:
    """The circuit as an SVG document; ``values`` and ``supply`` are written as they are given,
    and what has no value yet has only its name."""
    shown = tuple(sorted((name, _label(value)) for name, value in values.items()))
    return _drawn(network, shown, _label(supply))


def _label(text: str) -> str:
    """``text`` without what schemdraw takes for a formula or leaves as an entity."""
    return text.replace("$", "").replace("&", "&amp;")


@lru_cache(maxsize=64)
def _drawn(network: Node, values: tuple[tuple[str, str], ...], supply: str) -> str:
    drawing = schemdraw.Drawing(canvas="svg", show=False)
    drawing.config(fontsize=15, color=_INK, lw=1.8, font="DejaVu Sans, sans-serif")
    width, height = _size(network)
    start = _last_level(network) if isinstance(network, Parallel) else 0.0
    _draw(drawing, network, 0.0, 0.0, dict(values), start)
    low = -height / 2 - 0.9
    middle = width / 2
    for x, end in ((0.0, middle - 0.6), (width, middle + 0.6)):
        _wire(drawing, (x, start), (x, low))
        _wire(drawing, (x, low), (end, low))
    drawing.add(parts.BatteryCell().at((middle + 0.6, low)).to((middle - 0.6, low)))
    drawing.add(parts.Label().at((middle, low - 0.75)).label(supply or "V", halign="center"))
    return str(drawing.get_imagedata("svg").decode())


def _size(node: Node) -> tuple[float, float]:
    """Width and height of what ``node`` is drawn as; its wire enters and leaves half-way up."""
    if isinstance(node, Element):
        return _LENGTH, 2 * _HALF
    widths, heights = zip(*map(_size, node.members), strict=True)
    if isinstance(node, Series):
        return sum(widths), max(heights)
    return max(widths) + 2 * _LEAD, sum(heights)


def _last_level(group: Parallel) -> float:
    """Where the wire of the lowest member runs, from the middle of the group."""
    return (_size(group.members[-1])[1] - _size(group)[1]) / 2


def _draw(
    drawing: schemdraw.Drawing,
    node: Node,
    x: float,
    y: float,
    values: Mapping[str, str],
    joined: float,
) -> None:
    """Draw ``node`` with the left end of its wire at (x, y); a parallel group is joined to the
    rest at the height ``joined``."""
    width, height = _size(node)
    if isinstance(node, Element):
        element = parts.Capacitor().at((x, y)).to((x + width, y))
        drawing.add(element.label(node.name, loc="top").label(values.get(node.name, ""), loc="bot"))
        return
    if isinstance(node, Series):
        for member in node.members:
            _draw(drawing, member, x, y, values, y)
            x += _size(member)[0]
        return
    top = y + height / 2
    levels = []
    for member in node.members:
        its_width, its_height = _size(member)
        level = top - its_height / 2
        levels.append(level)
        left = x + (width - its_width) / 2
        _draw(drawing, member, left, level, values, level)
        _wire(drawing, (x, level), (left, level))
        _wire(drawing, (left + its_width, level), (x + width, level))
        top -= its_height
    for end in (x, x + width):
        _wire(drawing, (end, levels[0]), (end, levels[-1]))
        for level in {*levels[1:-1], joined}:
            drawing.add(parts.Dot(radius=0.07).at((end, level)))


def _wire(drawing: schemdraw.Drawing, start: tuple[float, float], end: tuple[float, float]) -> None:
    if start != end:
        drawing.add(parts.Line().at(start).to(end))
