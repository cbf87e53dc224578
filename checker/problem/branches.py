"""A network given branch by branch: which two nodes each element joins."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from checker.problem.fault import Fault
from checker.problem.network import Element, Node, name_of, parallel, series

Ends = tuple[str, str]
_Edges = list[tuple[str, str, Node]]


def network_of(branches: Mapping[str, Ends], terminals: Ends) -> Node:
    """The series/parallel network that ``branches`` form between two terminals.

    Raises Fault for an element that carries nothing and for a network in which something is left
    that is neither in series nor in parallel with anything.
    """
    _check_terminals(branches, terminals)
    for name, ends in branches.items():
        if ends[0] == ends[1]:
            raise Fault(
                f"{name} carries nothing, because both its ends are at {ends[0]}; "
                "join it to two nodes or take it out.",
                *("branches", name),
            )
        if not _carries(ends, branches.values(), terminals):
            raise Fault(
                f"{name} carries nothing, because no path from {terminals[0]} to {terminals[1]} "
                "runs through it; correct its nodes or take it out.",
                *("branches", name),
            )
    edges: _Edges = [(a, b, Element(name)) for name, (a, b) in branches.items()]
    while len(edges) > 1:
        reduced = _merge_parallel(edges) or _merge_series(edges, terminals)
        if reduced is None:
            left = ", ".join(name_of(part) for _a, _b, part in edges)
            raise Fault(
                f"The branches are no series/parallel network: {left} form a bridge, which neither "
                "rule combines; give a network of series and parallel groups alone.",
                "branches",
            )
        edges = reduced
    return edges[0][2]


def _check_terminals(branches: Mapping[str, Ends], terminals: Ends) -> None:
    if terminals[0] == terminals[1]:
        raise Fault(
            f'Both terminals are "{terminals[0]}", so everything is shorted; name two nodes.',
            "terminals",
        )
    for terminal in terminals:
        if not any(terminal in ends for ends in branches.values()):
            raise Fault(
                f'No branch ends at the terminal "{terminal}"; correct its name or the branches.',
                "terminals",
            )


def _carries(ends: Ends, branches: Collection[Ends], terminals: Ends) -> bool:
    """Whether a path between the terminals that visits no node twice runs through a branch.

    That is so unless taking away some one node (perhaps an end of the branch) cuts an end of the
    branch off from both terminals.
    """
    for cut in {node for pair in branches for node in pair}:
        reached = {terminal for terminal in terminals if terminal != cut}
        grown = True
        while grown:
            grown = False
            for a, b in branches:
                if cut not in (a, b) and (a in reached) != (b in reached):
                    reached |= {a, b}
                    grown = True
        if any(end != cut and end not in reached for end in ends):
            return False
    return True


def _merge_parallel(edges: _Edges) -> _Edges | None:
    """The edges with the first set of them that join the same two nodes made one."""
    for a, b, _part in edges:
        alike = [edge for edge in edges if {edge[0], edge[1]} == {a, b}]
        if len(alike) > 1:
            merged = (a, b, parallel(*(part for _a, _b, part in alike)))
            return [merged if edge is alike[0] else edge for edge in edges if edge not in alike[1:]]
    return None


def _merge_series(edges: _Edges, terminals: Ends) -> _Edges | None:
    """The edges with the first two of them that alone meet at an inner node made one."""
    for node in (node for a, b, _part in edges for node in (a, b)):
        meeting = [edge for edge in edges if node in edge[:2]]
        if node not in terminals and len(meeting) == 2:
            first, second = meeting
            far = [a if b == node else b for a, b, _part in meeting]
            merged = (far[0], far[1], series(first[2], second[2]))
            return [merged if edge is first else edge for edge in edges if edge is not second]
    return None
