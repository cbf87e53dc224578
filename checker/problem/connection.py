"""The written form of a connection: ``parallel(series(C1, C2), C3)``.

connection = NAME | ("series" | "parallel") "(" connection ("," connection)+ ")"
"""

from __future__ import annotations

import re

from checker.problem.fault import Fault
from checker.problem.network import Element, Node, Series, parallel, series
from checker.quantity import shown

_TOKEN = re.compile(r"\s*([A-Za-z]\w*|[(),]|\S)", re.ASCII)
_GROUPS = {"series": series, "parallel": parallel}
NAME = re.compile(r"[A-Za-z]\w{0,11}", re.ASCII)
DEEPEST = 40  # nested groups; far beyond any exercise, and it bounds the recursion


def parse_connection(text: str) -> Node:
    """The network that ``text`` describes, in the order written.  Raises Fault."""
    tokens = _TOKEN.findall(text)
    node, rest = _connection(tokens, 0, 0)
    if rest < len(tokens):
        raise _fault(f'ends before "{shown(tokens[rest])}"; put everything inside one group')
    return node


def write_connection(node: Node) -> str:
    """The text that ``parse_connection`` reads back as ``node``."""
    if isinstance(node, Element):
        return node.name
    kind = "series" if isinstance(node, Series) else "parallel"
    return f"{kind}({', '.join(write_connection(member) for member in node.members)})"


def _connection(tokens: list[str], at: int, depth: int) -> tuple[Node, int]:
    """The connection that starts at token ``at``, and where it ends."""
    if at == len(tokens):
        raise _fault("stops too early; name an element or close the group")
    word = tokens[at]
    if not NAME.fullmatch(word):
        raise _fault(f'has "{shown(word)}" where an element or a group belongs')
    if word not in _GROUPS:
        if tokens[at + 1 : at + 2] == ["("]:
            raise _fault(
                f'has a group "{shown(word)}(...)"; groups are series(...) and parallel(...)'
            )
        return Element(word), at + 1
    if depth == DEEPEST:
        raise _fault(f"nests more than {DEEPEST} groups; write it flatter")
    if tokens[at + 1 : at + 2] != ["("]:
        raise _fault(f'has "{word}" without its members in brackets')
    members: list[Node] = []
    at += 1
    while True:
        member, at = _connection(tokens, at + 1, depth + 1)
        members.append(member)
        if at == len(tokens):
            raise _fault(f'does not close the bracket of "{word}("')
        if tokens[at] == ")":
            break
        if tokens[at] != ",":
            raise _fault(f'has "{shown(tokens[at])}" where a comma or a closing bracket belongs')
    if len(members) < 2:
        raise _fault(f"has a {word} group of one member; give it two or leave the group out")
    return _GROUPS[word](*members), at + 1


def _fault(what: str) -> Fault:
    return Fault(f'The connection {what}, as in "parallel(series(C1, C2), C3)".', "connection")
