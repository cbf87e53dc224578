"""The indices under which elements and groups are written: C3, C12, QA."""

from __future__ import annotations

from itertools import count, islice

from checker.problem.network import Element, Node, elements, groups

# Not C, Q, U, V, I, O and the like: "CV" would read as a product, "CO" as a word or a zero.
_LETTERS = "ABDEFGHKLMNPRSTWXYZ"


def labels(network: Node) -> dict[Node, str]:
    """The index of every element and every group of a network.

    C3 has "3"; an element whose name does not begin with C keeps it whole, "_X1".  The group of
    C1 and C2 has "12"; where an element's index is longer than one sign, or "12" is taken, all
    groups have letters instead, innermost first.
    """
    found: dict[Node, str] = {
        Element(name): name[1:].removeprefix("_")
        if name[0] == "C" and name.strip("C_")
        else f"_{name}"
        for name in elements(network)
    }
    taken = set(found.values())
    reduced = groups(network)
    indices = ["".join(found[Element(name)] for name in elements(group)) for group in reduced]
    if any(len(index) > 1 for index in taken) or taken & set(indices):
        endless = (f"{letter}{turn or ''}" for turn in count() for letter in _LETTERS)
        indices = list(islice((index for index in endless if index not in taken), len(reduced)))
    found.update(zip(reduced, indices, strict=True))
    return found
