"""What a line of working says: frozen trees of expressions, sides, chains and words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from checker.exact import Fraction
from checker.quantity import Unit


@dataclass(frozen=True, slots=True)
class Number:
    """A written number: its digits, its exact value (any power of ten included) and one unit of
    its last written place (0 for a bare power of ten, which is exact)."""

    digits: str
    value: Fraction
    last_place: Fraction
    has_power: bool = False

    @property
    def whole(self) -> bool:
        return self.digits.isdigit()

    @property
    def figures(self) -> str:
        """The digits from the first that is not 0 on, without the point."""
        return self.digits.replace(".", "").lstrip("0")


ONE = Number("1", Fraction(1), Fraction(1))


@dataclass(frozen=True, slots=True)
class Measured:
    """A number or a bracket with a unit; ``power`` is -1 in "1.2 /µF"."""

    amount: Expression
    unit: Unit
    power: int = 1


@dataclass(frozen=True, slots=True)
class Symbol:
    """A letter with its index: C_{12}, Q', ΔV_1.  ``index`` is without braces, "_" or commas."""

    letter: str
    index: str = ""
    primes: int = 0
    change: bool = False


@dataclass(frozen=True, slots=True)
class Sum:
    """Terms with their signs (+1 or -1)."""

    terms: tuple[tuple[int, Expression], ...]


@dataclass(frozen=True, slots=True)
class Product:
    factors: tuple[Expression, ...]


@dataclass(frozen=True, slots=True)
class Quotient:
    over: Expression
    under: Expression


@dataclass(frozen=True, slots=True)
class Power:
    base: Expression
    exponent: int


@dataclass(frozen=True, slots=True)
class Beside:
    """Elements written with the parallel sign between them: C1 ∥ C2."""

    members: tuple[Expression, ...]


@dataclass(frozen=True, slots=True)
class Several:
    """A list on one side of a relation: "Q1, Q2 = 48 µC"."""

    items: tuple[Expression, ...]


@dataclass(frozen=True, slots=True)
class Phrase:
    """Words, in lower case, and the symbols among them: "charge on C2"."""

    words: tuple[str, ...]
    symbols: tuple[Symbol, ...] = ()


Expression = (
    Number | Measured | Symbol | Sum | Product | Quotient | Power | Beside | Several | Phrase
)


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a relation.  ``expression`` is None where it could not be read.

    ``start`` and ``end`` are offsets in the text that was parsed.
    """

    expression: Expression | None
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Chain:
    """Sides joined by relations, one fewer than the sides.

    ``continued``: it began with a relation, so its subject is that of the chain before it; its
    first side then stands after that relation.  ``relations`` holds "=", "≈" or "→".
    """

    sides: tuple[Side, ...]
    relations: tuple[str, ...]
    continued: bool
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Words:
    """Something said without a relation, such as "C1 and C2 in series" or "Q same"."""

    phrase: Phrase
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Unparsed:
    """Something that is no working, or could not be read."""

    start: int
    end: int


Statement = Chain | Words | Unparsed


def parts(expression: Expression) -> tuple[Expression, ...]:
    """The expressions directly inside an expression."""
    match expression:
        case Measured(amount=inner) | Power(base=inner):
            return (inner,)
        case Sum(terms=terms):
            return tuple(term for _sign, term in terms)
        case Product(factors=inside) | Beside(members=inside) | Several(items=inside):
            return inside
        case Quotient(over=over, under=under):
            return (over, under)
        case Phrase(symbols=inside):
            return inside
    return ()


def every_part(expression: Expression) -> Iterator[Expression]:
    """An expression and everything in it, in writing order."""
    yield expression
    for part in parts(expression):
        yield from every_part(part)


@lru_cache(maxsize=8192)
def symbols(expression: Expression) -> tuple[Symbol, ...]:
    """Every symbol in an expression, in writing order."""
    if isinstance(expression, Symbol):
        return (expression,)
    return tuple(symbol for part in parts(expression) for symbol in symbols(part))


@lru_cache(maxsize=8192)
def numbers(expression: Expression) -> tuple[Number | Measured, ...]:
    """Every number in an expression, in writing order, with its unit where it has one."""
    if isinstance(expression, Number):
        return (expression,)
    if isinstance(expression, Measured) and isinstance(expression.amount, Number):
        return (expression,)
    return tuple(number for part in parts(expression) for number in numbers(part))
