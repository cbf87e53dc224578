"""What an expression looks like: a plain result, a fraction, symbols or none."""

from __future__ import annotations

from dataclasses import replace

from checker.notation.lexer import make_number
from checker.notation.tree import (
    ONE,
    Expression,
    Measured,
    Number,
    Phrase,
    Power,
    Product,
    Quotient,
    Several,
    Sum,
    every_part,
    symbols,
)

_TEN, _TEN_SQUARED = make_number("10"), "10^2"
_TWO, _HALF = make_number("2"), make_number("0.5")


def is_result(expression: Expression | None) -> bool:
    """A plain number, with its unit or without."""
    return isinstance(expression, Number) or (
        isinstance(expression, Measured) and isinstance(expression.amount, Number)
    )


def is_fraction(expression: Expression) -> bool:
    """A fraction of two whole numbers, perhaps with a unit, which on one line touches the lower
    one: an exact result."""
    expression = without_unit(expression)
    return isinstance(expression, Quotient) and all(
        isinstance(part, Number) and part.whole
        for part in (expression.over, without_unit(expression.under))
    )


def is_numeric(expression: Expression | None) -> bool:
    """Whether an expression has numbers only."""
    return (
        expression is not None
        and not isinstance(expression, Phrase | Several)
        and not symbols(expression)
    )


def inverted(expression: Expression) -> Expression | None:
    """X of 1/X or X⁻¹."""
    if isinstance(expression, Power) and expression.exponent == -1:
        return expression.base
    if isinstance(expression, Quotient) and isinstance(expression.over, Number):
        return expression.under if expression.over.value == 1 else None
    return None


def is_worked(expression: Expression | None) -> bool:
    """Whether numbers are worked with, 3 + 4: no symbol, and no plain result."""
    return is_numeric(expression) and not is_result(expression)


def without_unit(expression: Expression) -> Expression:
    """What has a unit, without it: the number of a literal."""
    return expression.amount if isinstance(expression, Measured) else expression


def is_structure(number: Number | Measured) -> bool:
    """Whether a number rather belongs to a formula: 1/C, ½CV²."""
    return isinstance(number, Number) and not number.has_power and (
        number.digits in ("1", "2", "0.5", ".5", "½")
    )  # fmt: skip


def other_strokes(expression: Expression) -> Expression | None:
    """a/(b/c) for (a/b)/c: of a/b/c nobody can tell which stroke is the longer one.  In a sum
    33/37 nF is (33/37) nF."""
    if isinstance(expression, Sum):
        terms = tuple((sign, _measured(term)) for sign, term in expression.terms)
        return Sum(terms) if terms != expression.terms else None
    if isinstance(expression, Measured):
        inside = other_strokes(expression.amount)
        return None if inside is None else replace(expression, amount=inside)
    if isinstance(expression, Quotient) and isinstance(expression.over, Quotient):
        first = expression.over
        return Quotient(first.over, Quotient(first.under, expression.under))
    return None


def ones_apart(expression: Expression) -> Expression:
    """An expression with x⁻¹ for every 1/x, where one of these is 1/1: a 1 that is left is then a
    value, as in 1/1 + 1/5.4."""
    over_one = [part for part in every_part(expression) if isinstance(part, Quotient)]
    if any(inverted(q) is not None and _is_one(q.under) for q in over_one):
        return _with_powers(expression)
    return expression


def _measured(term: Expression) -> Expression:
    """A fraction of whole numbers with a unit after the lower one as a fraction with that unit."""
    if isinstance(term, Quotient) and isinstance(term.under, Measured) and is_fraction(term):
        return replace(term.under, amount=Quotient(term.over, term.under.amount))
    return term


def of_energy(expression: Expression) -> Expression:
    """The working for an energy with the square of 10 for every 10²: there that is a voltage or a
    charge, perhaps a rounded one, and no power of ten: ½ · 390 · 10².  So is the 1 of ½ · 6.4 · 1²,
    but not that of {1}/{2}, which becomes 0.5."""
    match expression:
        case Product(factors=factors):
            inside = (_with_square(factor) for factor in factors)
            return Product(tuple(f for its in inside for f in its))
        case Quotient(over=over, under=under):
            over = _as_product(_with_square(over))
            return Quotient(over, _as_product(_with_square(under)))
        case Measured(amount=amount) if not isinstance(amount, Number):
            return replace(expression, amount=of_energy(amount))
    return expression


def _with_square(factor: Expression) -> tuple[Expression, ...]:
    if isinstance(factor, Quotient) and factor.over == ONE and factor.under == _TWO:
        return (_HALF,)
    if not isinstance(factor, Number):
        return (of_energy(factor),)
    if factor.digits == _TEN_SQUARED:
        return (Power(_TEN, 2),)
    plain = "^" not in factor.digits  # 10^-9 is no number times a power
    if plain and factor.has_power and (
        make_number(factor.digits).value * _TEN.value**2 == factor.value
    ):  # fmt: skip
        return (make_number(factor.digits), Power(_TEN, 2))
    return (factor,)


def _as_product(factors: tuple[Expression, ...]) -> Expression:
    return Product(factors) if len(factors) > 1 else factors[0]


def _is_one(expression: Expression) -> bool:
    bare = without_unit(expression)
    return isinstance(bare, Number) and bare.value == 1


def _with_powers(expression: Expression) -> Expression:
    match expression:
        case Sum(terms=terms):
            return Sum(tuple((sign, _with_powers(term)) for sign, term in terms))
        case Quotient(over=over, under=under) if _is_one(over):
            return Power(_with_powers(under), -1)
    return expression


def takes_away(expression: Expression) -> bool:
    """Whether anything is subtracted anywhere in an expression."""
    sums = (part for part in every_part(expression) if isinstance(part, Sum))
    return any(sign < 0 for its in sums for sign, _term in its.terms)


def count_terms(expression: Expression) -> int:
    """How many terms are added up, those of a sum under 1/(...) included."""
    if isinstance(expression, Measured):
        return count_terms(expression.amount)
    if isinstance(expression, Sum):
        return sum(count_terms(term) for _sign, term in expression.terms)
    inside = inverted(expression)
    return count_terms(inside) if inside is not None else 1
