"""What a problem gives: supply, network, capacitances, and what is to be found."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from checker.problem.connection import NAME, parse_connection
from checker.problem.fault import Fault
from checker.problem.marking import MarkingScheme
from checker.problem.network import Node, elements, in_order
from checker.quantity import Dimension, Quantity, QuantityError, parse_quantity, shown

EQUIVALENT = "equivalent capacitance"
FINDABLE = (EQUIVALENT, "charge", "voltage", "energy")
FIND_BY_DEFAULT = (EQUIVALENT, "charge", "voltage")
MOST_FIGURES = 10
MOST_ELEMENTS = 60  # far beyond any exercise, and it bounds the work


@dataclass(frozen=True)
class Problem:
    """A problem ready to be solved.

    ``supply`` is a positive voltage; None only where nothing but the equivalent capacitance is
    asked for.  ``capacitors`` maps every element of ``network`` to a positive capacitance, in the
    problem's order, which is also the order of the members in every group of ``network``.
    ``source`` is the file it came from and ``text`` that file's text ("" when made in code).
    """

    title: str
    supply: Quantity | None
    network: Node
    capacitors: Mapping[str, Quantity]
    find: tuple[str, ...] = FIND_BY_DEFAULT
    significant_figures: int | None = None
    marking: MarkingScheme | None = None
    source: str = field(default="", compare=False)
    text: str = field(default="", compare=False, repr=False)


def make_problem(
    title: str,
    supply: Quantity | str | None,
    connection: Node | str,
    capacitors: Mapping[str, Quantity | str],
    find: Sequence[str] | None = None,
    significant_figures: int | None = None,
) -> Problem:
    """A checked Problem; quantities and the connection may be given as text.

    Raises Fault, a ProblemError, for anything that makes no problem.
    """
    values = {name: _capacitance(name, value) for name, value in capacitors.items()}
    check_count(values)
    _check_distinct(values)
    network = parse_connection(connection) if isinstance(connection, str) else connection
    _check_elements(network, tuple(values))
    wanted = _check_find(FIND_BY_DEFAULT if find is None else tuple(find))
    if significant_figures is not None and not 1 <= significant_figures <= MOST_FIGURES:
        raise Fault(
            f"significant_figures is out of range; give a whole number from 1 to {MOST_FIGURES}.",
            "significant_figures",
        )
    return Problem(
        title=title,
        supply=_supply(supply, wanted),
        network=in_order(network, tuple(values)),
        capacitors=values,
        find=wanted,
        significant_figures=significant_figures,
    )


def _capacitance(name: str, value: Quantity | str) -> Quantity:
    key = ("capacitors", name)
    if not NAME.fullmatch(name) or name in ("series", "parallel"):
        raise Fault(
            f'"{shown(name)}" cannot name an element; '
            "use a letter, then letters and digits, like C1.",
            *key,
        )
    return _positive(value, "capacitance", f"The capacitance of {name}", "4 µF", key)


def _supply(value: Quantity | str | None, find: tuple[str, ...]) -> Quantity | None:
    if value is not None:
        return _positive(value, "voltage", "The supply", "24 V", ("supply",))
    if find != (EQUIVALENT,):
        raise Fault(
            'The supply is missing; add a line such as supply = "24 V", or ask only for '
            f'find = ["{EQUIVALENT}"].',
            "supply",
        )
    return None


def _positive(
    value: Quantity | str, dimension: Dimension, what: str, example: str, key: tuple[str, ...]
) -> Quantity:
    try:
        quantity = parse_quantity(value) if isinstance(value, str) else value
    except QuantityError as error:
        raise Fault(f"{what} cannot be read: {error}", *key) from None
    if quantity.dimension != dimension:
        found = "a plain number" if quantity.dimension == "number" else f"a {quantity.dimension}"
        raise Fault(f'{what} is {found}; give a {dimension} with its unit, like "{example}".', *key)
    if quantity.value <= 0:
        size = "zero" if quantity.value == 0 else "negative"
        raise Fault(f'{what} is {size}; give a positive {dimension}, like "{example}".', *key)
    return quantity


def check_count(capacitors: Collection[str]) -> None:
    """Raise Fault where there are too many elements to work on."""
    if len(capacitors) > MOST_ELEMENTS:
        raise Fault(
            f"There are {len(capacitors)} elements; give at most {MOST_ELEMENTS}.", "capacitors"
        )


def _check_distinct(names: Collection[str]) -> None:
    """C1 and C_1 are written alike on paper."""
    seen: dict[str, str] = {}
    for name in names:
        other = seen.setdefault(name.replace("_", ""), name)
        if other != name:
            raise Fault(
                f"{name} and {other} are one name on paper; give one of them another name.",
                *("capacitors", name),
            )


def unlisted(name: str, *key: str) -> Fault:
    """The fault of connecting an element that has no capacitance."""
    return Fault(
        f"The connection uses {name}, which [capacitors] does not list; "
        f'add a line such as {name} = "4 µF" there, or correct the name.',
        *key,
    )


def _check_elements(network: Node, given: tuple[str, ...]) -> None:
    used = elements(network)
    for name in used:
        if name not in given:
            raise unlisted(name, "connection")
        if used.count(name) > 1:
            raise Fault(
                f"The connection uses {name} more than once; "
                "give each element of the circuit a name of its own.",
                "connection",
            )
    for name in given:
        if name not in used:
            raise Fault(
                f"{name} is not in the connection, so it would carry nothing; "
                "connect it or take it out of [capacitors].",
                "capacitors",
                name,
            )


def _check_find(find: tuple[str, ...]) -> tuple[str, ...]:
    if not find:
        raise Fault(f'There is nothing to find; write for example find = ["{EQUIVALENT}"].', "find")
    for wanted in find:
        if wanted not in FINDABLE:
            raise Fault(
                f'"{shown(wanted)}" cannot be asked for; choose from {", ".join(FINDABLE)}.', "find"
            )
    return find
