"""Tables and lists taken apart into chains."""

from __future__ import annotations

from dataclasses import replace

from checker.matching.forms import is_result
from checker.matching.misread_labels import element_of, head_of, mended_head, mended_label
from checker.matching.state import State, Table
from checker.notation.tree import (
    Chain,
    Measured,
    Number,
    Several,
    Side,
    Statement,
    Symbol,
)


def in_table(
    statements: tuple[Statement, ...], state: State
) -> tuple[tuple[Statement, ...], State, tuple[int, ...]]:
    """Read the head of a table, or a row of one as a chain for every cell; last, the places of the
    cells whose label is guessed.

    Either the head names elements and each row a kind ("Q  72 µC  120 µC"), or the other way
    round ("C1  4 µF  72 µC  18 V").
    """
    cells = [s.sides[0] for s in statements if isinstance(s, Chain) and not s.relations]
    if not cells or any(isinstance(s, Chain) and s.relations for s in statements):
        return statements, state, ()
    heads = [head_of(cell.expression) for cell in cells]
    table = state.table
    columns = table.columns
    if mended := mended_head(statements, state):
        return statements, replace(state, table=mended), ()
    if all(heads):
        columns = tuple(h for h in heads if h is not None)
        return statements, replace(state, table=Table(columns)), ()
    first, values = heads[0], cells[1:]
    label = mended_label(statements, state)
    if label is not None:
        first, values = label, cells[-len(columns) :]
    if first is None or any(heads[1:]) or len(values) != len(columns):
        return statements, state, ()
    chains: list[Statement] = []
    for column, value in zip(columns, values, strict=True):
        symbol = (
            Symbol(first.letter, column.index, column.primes)
            if column.index and not first.index
            else Symbol(column.letter, first.index, first.primes)
        )
        left = Side(symbol, value.start, value.start)
        chains.append(Chain((left, value), ("=",), False, value.start, value.end))
    if first.index:
        row = None if label is not None else element_of(first, state)
        state = replace(state, table=replace(table, rows=(*table.rows, row)))
    if label is not None:
        return tuple(chains), state, tuple(range(len(chains)))
    return tuple(chains), state, () if table.guessed is None else (table.guessed,)


def unlisted(chain: Chain) -> tuple[Chain, ...]:
    """Take lists apart: "Q2, Q3 = 16, 32 µC" is two chains, "Q1, Q2 = 48 µC" also."""
    first = chain.sides[0].expression
    last = chain.sides[-1].expression
    if (
        isinstance(last, Several)
        and not isinstance(first, Several)
        and not all(is_result(item) for item in last.items)
    ):  # "C34 = 3 µF, C2 + C34": another statement begins
        end = chain.sides[-1]
        one = replace(chain, sides=(*chain.sides[:-1], replace(end, expression=last.items[0])))
        rest = (Side(item, end.end, end.end) for item in last.items[1:])
        return (one, *(Chain((side,), (), False, end.end, end.end) for side in rest))
    lists = [s.expression.items for s in chain.sides if isinstance(s.expression, Several)]
    if not lists:
        return (chain,)
    count = len(lists[0])
    if any(len(items) != count for items in lists):
        return (chain,)
    chains = []
    for place in range(count):
        sides = []
        for side in chain.sides:
            expression = side.expression
            if isinstance(expression, Several):
                last, its = expression.items[-1], expression.items[place]
                if isinstance(its, Number) and isinstance(last, Measured):
                    its = Measured(its, last.unit, last.power)
                expression = its
            sides.append(Side(expression, side.start, side.end))
        chains.append(replace(chain, sides=tuple(sides)))
    return tuple(chains)
