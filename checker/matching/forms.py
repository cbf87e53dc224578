"""What an expression looks like: a plain result, a fraction, symbols or none."""

from __future__ import annotations

from checker.notation.tree import (
    Expression,
    Measured,
    Number,
    Phrase,
    Power,
    Quotient,
    Several,
    symbols,
)


def is_result(expression: Expression | None) -> bool:
    """A plain number, with its unit or without."""
    return isinstance(expression, Number) or (
        isinstance(expression, Measured) and isinstance(expression.amount, Number)
    )


def is_fraction(expression: Expression) -> bool:
    """A fraction of two whole numbers, perhaps with a unit: an exact result."""
    if isinstance(expression, Measured):
        expression = expression.amount
    return isinstance(expression, Quotient) and all(
        isinstance(part, Number) and part.whole for part in (expression.over, expression.under)
    )


def is_numeric(expression: Expression | None) -> bool:
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


def without_unit(number: Number | Measured) -> Expression:
    return number.amount if isinstance(number, Measured) else number


def is_structure(number: Number | Measured) -> bool:
    return isinstance(number, Number) and number.digits in ("1", "2", "0.5", ".5", "½")
