"""What a chain of equals signs is about: the side that names a quantity, and what it may mean."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from checker.exact import Fraction
from checker.matching.circuit import Key, Kind
from checker.matching.context import UNNAMED, Context, Subject
from checker.matching.dimensions import KIND_DIMS, KIND_OF_UNIT
from checker.matching.forms import inverted, is_numeric
from checker.matching.intervals import Interval, exactly
from checker.matching.labels import Meaning, meaning, spoken
from checker.matching.values import as_written, measured_value
from checker.notation.tree import (
    Beside,
    Chain,
    Expression,
    Measured,
    Number,
    Phrase,
    Product,
    Quotient,
    Symbol,
)

Option = tuple[Subject, Meaning | None]


def solved(chain: Chain) -> Chain:
    """Turn an equation such as 3 = Q/24 into Q = 3 × 24, so that it has a subject."""
    if len(chain.sides) != 2 or chain.continued:
        return chain
    for here, there in ((0, 1), (1, 0)):
        number, other = chain.sides[here].expression, chain.sides[there].expression
        if number is None or not is_numeric(number) or not isinstance(other, Quotient):
            continue
        new: tuple[Expression, Expression] | None = None
        if isinstance(other.over, Symbol) and is_numeric(other.under):
            new = other.over, Product((number, other.under))
        elif isinstance(other.under, Symbol) and is_numeric(other.over) and not (
            isinstance(other.over, Number) and other.over.value == 1
        ):  # fmt: skip
            new = other.under, Quotient(other.over, number)
        if new is not None:
            left = replace(chain.sides[0], expression=new[0])
            right = replace(chain.sides[1], expression=new[1])
            return replace(chain, sides=(left, right))
    return chain


def subject_of(chain: Chain, context: Context) -> tuple[int | None, Iterator[Option]]:
    """The side that names the subject, and everything it may mean."""
    for place, side in enumerate(chain.sides):
        named = _named(side.expression, context)
        if named is not None:
            its, inverse = named
            return place, _options(chain, its, inverse, context, place)
    if chain.continued and context.subject:
        return None, ((subject, None) for subject in context.subject)
    if len(chain.sides) > 1:
        if group := _beside(chain.sides[0].expression, context):
            return None, iter([(Subject(Key("C", group)), Meaning(("C",), (group,), True))])
        kinds = _kinds_by_unit(chain) or _kind_of_formula(chain, context) or ("C",)
        everything = context.working.circuit.groups
        return None, ((Subject(Key(k, g)), UNNAMED) for k in kinds for g in everything)
    return None, iter(())


def _named(expression: Expression | None, context: Context) -> tuple[Meaning, bool] | None:
    if expression is None:
        return None
    circuit = context.working.circuit
    if isinstance(expression, Phrase):
        its = spoken(circuit, expression, context.bound, context.usage)
        return (its, False) if its else None
    inside = inverted(expression)
    symbol = inside if inside is not None else expression
    if not isinstance(symbol, Symbol):
        return None
    its = meaning(circuit, symbol, context.bound, context.usage)
    return (its, inside is not None) if its else None


def _beside(expression: Expression | None, context: Context) -> int | None:
    """The parallel group that "C1 ∥ C2 = …" is about, where all its labels are certain."""
    if not isinstance(expression, Beside):
        return None
    circuit = context.working.circuit
    mask = 0
    for symbol in expression.members:
        its = (
            meaning(circuit, symbol, context.bound, context.usage)
            if isinstance(symbol, Symbol)
            else None
        )
        if its is None or not its.certain or len(its.groups) != 1:
            return None
        mask |= its.groups[0]
    home = circuit.parts(mask)
    return mask if home is not None and not home.is_series else None


def _kind_of_formula(chain: Chain, context: Context) -> tuple[Kind, ...]:
    """The kind that a first side such as C1C2/(C1 + C2) has by its symbols."""
    one = exactly(Fraction(1))

    def found(which: int) -> Iterator[Kind]:
        def any_value(symbol: Symbol) -> tuple[Interval, Kind] | None:
            its = meaning(context.working.circuit, symbol, context.bound, context.usage)
            return (one, its.kinds[which]) if its else None

        first = chain.sides[0].expression
        value = measured_value(first, as_written, any_value) if first is not None else None
        yield from (kind for kind, dims in KIND_DIMS.items() if value and value[1] == dims)

    return tuple(dict.fromkeys((*found(0), *found(-1))))


def _kinds_by_unit(chain: Chain) -> tuple[Kind, ...]:
    """The kind that the unit of a plain result in the chain speaks for."""
    for side in reversed(chain.sides):
        expression = side.expression
        if isinstance(expression, Measured):
            kind = KIND_OF_UNIT.get(expression.unit.dimension)
            if kind:
                return (kind,)
    return ()


def _options(
    chain: Chain, its: Meaning, inverse: bool, context: Context, place: int
) -> Iterator[Option]:
    spoken_for = _kinds_by_unit(chain)
    kinds = its.kinds
    if len(kinds) > 1 and spoken_for and spoken_for[0] in kinds:
        kinds = spoken_for
    for kind in kinds:
        for group in its.groups:
            yield Subject(Key(kind, group), inverse), its
