"""Labels of a table that were misread: the one that is not readable among those that are.

A table names every element once, so where a single label is not readable it is the element left
over.  It stays a guess: what is wrong under it is asked about, and nobody is accused of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from checker.matching.labels import Meaning, meaning
from checker.matching.state import State, Table
from checker.notation.tree import (
    Chain,
    Expression,
    Measured,
    Number,
    Product,
    Statement,
    Symbol,
    Words,
)


def head_of(expression: Expression | None) -> Symbol | None:
    """The symbol of a table's head, perhaps with its unit: "C (µF)"."""
    if isinstance(expression, Product) and len(expression.factors) == 2:
        expression = expression.factors[0]
    return expression if isinstance(expression, Symbol) else None


def element_of(symbol: Symbol | None, state: State) -> int | None:
    """The single element that a label names, as a group."""
    its = _meaning(symbol, state)
    if its is None or not its.certain or len(its.groups) != 1:
        return None
    group = its.groups[0]
    return group if group in _elements(state) else None


def names_all(state: State) -> bool:
    """Whether the head of the table names every element once."""
    named = [element_of(symbol, state) for symbol in state.table.columns]
    return len(named) == len(_elements(state)) and set(named) == set(_elements(state))


def mended_head(statements: Sequence[Statement], state: State) -> Table | None:
    """The head of a table of elements of which a single label was misread."""
    elements = _elements(state)
    if len(statements) == len(elements) + 1 and isinstance(statements[0], Words):
        statements = statements[1:]  # in the corner
    if not state.usage.in_doubt or len(statements) != len(elements):
        return None
    cells = [_expression(statement) for statement in statements]
    heads = [head_of(cell) for cell in cells]
    named = [element_of(head, state) for head in heads]
    # Of two with the same name the one that is not in its place was misread.
    odd = [
        place for place, group in enumerate(named)
        if group is None or (named.count(group) > 1 and group != elements[place])
    ]  # fmt: skip
    if len(odd) != 1 or len(elements) == 1:
        return None
    place = odd[0]
    others = [group for at, group in enumerate(named) if at != place]
    left = [group for group in elements if group not in others]
    if len(left) != 1 or (named[place] is None and _is_readable(cells[place], state)):
        return None
    like = next(head for at, head in enumerate(heads) if at != place)
    assert like is not None  # it names an element
    columns = [head or like for head in heads]
    columns[place] = _label(like.letter, left[0], state)
    return Table(tuple(columns), place)


def mended_label(statements: Sequence[Statement], state: State) -> Symbol | None:
    """The label of a row that was misread, where the rows above tell which it is: the only
    element left or, of what is no symbol or names a row above, the next in the problem's order."""
    table, elements = state.table, _elements(state)
    if (
        not state.usage.in_doubt or not table.columns or None in table.rows
        or len(statements) != len(table.columns) + 1
        or any(symbol.index for symbol in table.columns)
        or not all(isinstance(_expression(s), Measured | Number) for s in statements[1:])
    ):  # fmt: skip
        return None
    first = _expression(statements[0])
    left = [group for group in elements if group not in table.rows]
    in_order = table.rows == elements[: len(table.rows)]
    named = element_of(head_of(first), state)
    if named is not None and named in table.rows:
        is_known = in_order  # else the row above may be the one that was misread
    else:
        only_one = len(left) == 1 or (in_order and head_of(first) is None)
        is_known = only_one and not _is_readable(first, state)
    if not left or not is_known:
        return None
    return _label("C", left[0], state)


def _is_readable(cell: Expression | None, state: State) -> bool:
    """Whether a label may stand as it is, or is no label: a value."""
    symbol = head_of(cell)
    if symbol is None:  # "61" may be C1
        is_short = isinstance(cell, Number) and cell.digits.isdecimal() and len(cell.digits) == 2
        return cell is not None and not is_short
    its = _meaning(symbol, state)
    return its is not None and (
        its.certain or its.misfit is not None or bool(symbol.primes)
        or (its.whole and bool(symbol.index))
    )  # fmt: skip


def _meaning(symbol: Symbol | None, state: State) -> Meaning | None:
    if symbol is None:
        return None
    return meaning(state.working.circuit, replace(symbol, change=False), state.bound, state.usage)


def _expression(statement: Statement) -> Expression | None:
    plain = isinstance(statement, Chain) and not statement.relations
    return statement.sides[0].expression if plain else None  # type: ignore[union-attr]


def _elements(state: State) -> tuple[int, ...]:
    circuit = state.working.circuit
    return tuple(circuit.mask((name,)) for name in circuit.names)


def _label(letter: str, element: int, state: State) -> Symbol:
    return Symbol(letter, state.working.circuit.elements(element)[0])
