"""A problem described field by field, with what is wrong told for each field."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from checker.problem.connection import parse_connection
from checker.problem.fault import Fault
from checker.problem.network import Node, elements
from checker.problem.problem_file import Problem, make_problem

TITLE = "My own circuit"
_STAND_INS = {"supply": "1 V", "capacitors": "1 µF"}  # for a field whose fault is already told
_LONGEST = 2000  # characters of a connection; 60 elements need fewer


@dataclass(frozen=True)
class Described:
    """``faults`` maps a field ("connection", "supply", "find" or an element's name) to its one
    sentence; ``missing`` names the fields that are still empty.  ``problem`` is None until there
    are neither."""

    network: Node | None = None
    problem: Problem | None = None
    faults: Mapping[str, str] = field(default_factory=dict)
    missing: tuple[str, ...] = ()


def network_of(connection: str) -> Described:
    """The network alone, for the fields that ask for its values."""
    if not connection.strip():
        return Described(missing=("connection",))
    try:
        return Described(parse_connection(connection[:_LONGEST]))
    except Fault as fault:
        return Described(faults={"connection": str(fault)})


def described(
    connection: str, supply: str, values: Mapping[str, str], find: tuple[str, ...]
) -> Described:
    """The problem that the fields describe."""
    drawn = network_of(connection)
    if drawn.network is None:
        return drawn
    capacitors = {name: values.get(name, "").strip() for name in elements(drawn.network)}
    given = {"supply": supply.strip()}
    missing = [name for name, text in [*given.items(), *capacitors.items()] if not text]
    faults: dict[str, str] = {}
    while True:
        try:
            problem = make_problem(
                TITLE,
                given["supply"] or _STAND_INS["supply"],
                drawn.network,
                {name: text or _STAND_INS["capacitors"] for name, text in capacitors.items()},
                find,
            )
        except Fault as fault:
            place = fault.key[-1]
            if place in faults or fault.key[0] not in _STAND_INS or len(capacitors) > 60:
                return Described(
                    drawn.network, faults=faults | {place: str(fault)}, missing=tuple(missing)
                )
            faults[place] = str(fault)
            where = given if place == "supply" else capacitors
            where[place] = _STAND_INS[fault.key[0]]
            continue
        done = not faults and not missing
        return Described(drawn.network, problem if done else None, faults, tuple(missing))
