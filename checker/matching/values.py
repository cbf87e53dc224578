"""The value of an expression in SI units, whatever the page's habit with units.

A fully measured expression has one value.  Where units are left out, the number is read in the
page's own unit for that quantity, or as an SI value; each reading is tried.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import lru_cache

from checker.exact import Fraction
from checker.matching.circuit import Kind
from checker.matching.dimensions import KIND_DIMS, UNIT_DIMS, Dims
from checker.matching.forms import is_fraction
from checker.matching.habit import Habit
from checker.matching.intervals import Interval, add, exactly, multiply, power
from checker.notation.tree import (
    Beside,
    Expression,
    Measured,
    Number,
    Power,
    Product,
    Quotient,
    Several,
    Sum,
    Symbol,
    numbers,
    parts,
)

_PLAIN: Dims = (0, 0)
_MOST_POWER = 4
_NOTHING = 10_000  # times less than another term: not even rounding would show it
OfNumber = Callable[[Number], Interval]
OfSymbol = Callable[[Symbol], tuple[Interval, Kind] | None]


def as_written(number: Number) -> Interval:
    """A number taken at its word."""
    return exactly(number.value)


def no_symbols(symbol: Symbol) -> None:
    """For expressions without symbols."""
    return None


def measured_value(
    expression: Expression, of_number: OfNumber = as_written, of_symbol: OfSymbol = no_symbols
) -> tuple[Interval, Dims] | None:
    """Value and dimensions with every unit taken at its word; None where it makes no sense."""
    match expression:
        case Number():
            return of_number(expression), _PLAIN
        case Measured(amount=amount, unit=unit, power=exponent):
            inner = measured_value(amount, of_number, of_symbol)
            dims = UNIT_DIMS.get(unit.dimension)
            if inner is None or dims is None:
                return None
            factor = unit.factor if exponent > 0 else 1 / unit.factor
            dims = (dims[0] * exponent, dims[1] * exponent)
            return inner[0].scaled(factor), (inner[1][0] + dims[0], inner[1][1] + dims[1])
        case Symbol():
            known = of_symbol(expression)
            return (known[0], KIND_DIMS[known[1]]) if known else None
    inside = [measured_value(part, of_number, of_symbol) for part in parts(expression)]
    if not inside or any(item is None for item in inside):
        return None
    values = [item for item in inside if item is not None]
    dims = values[0][1]
    match expression:
        case Sum() | Beside():
            if any(other != dims for _value, other in values):
                return None
        case Product():
            dims = (sum(d[0] for _v, d in values), sum(d[1] for _v, d in values))
        case Quotient():
            dims = (dims[0] - values[1][1][0], dims[1] - values[1][1][1])
        case Power(exponent=exponent):
            dims = (dims[0] * exponent, dims[1] * exponent)
    value = combined(expression, [value for value, _dims in values])
    return (value, dims) if value is not None else None


def bare_value(
    expression: Expression, of_number: OfNumber = as_written, of_symbol: OfSymbol = no_symbols,
    *, prefixes: bool = False,
) -> Interval | None:  # fmt: skip
    """The value of the bare numbers, units left aside; with ``prefixes`` each unit still counts
    as its factor.  Symbols come from ``of_symbol`` already as bare numbers."""
    match expression:
        case Number():
            return of_number(expression)
        case Measured(amount=amount, unit=unit, power=exponent):
            inner = bare_value(amount, of_number, of_symbol, prefixes=prefixes)
            if inner is None or not prefixes:
                return inner
            return inner.scaled(unit.factor if exponent > 0 else 1 / unit.factor)
        case Symbol():
            known = of_symbol(expression)
            return known[0] if known else None
    inside = []
    for part in parts(expression):
        value = bare_value(part, of_number, of_symbol, prefixes=prefixes)
        if value is None:
            return None
        inside.append(value)
    return combined(expression, inside)


def combined(expression: Expression, inside: list[Interval]) -> Interval | None:
    """The value of an expression from the values of its parts."""
    match expression:
        case Sum(terms=terms):
            value = exactly(Fraction(0))
            for (sign, _term), part in zip(terms, inside, strict=True):
                value = add(value, part, sign)
            return value
        case Beside():
            value = exactly(Fraction(0))
            for part in inside:
                value = add(value, part)
            return value
        case Product():
            value = inside[0]
            for part in inside[1:]:
                value = multiply(value, part)
            return value
        case Quotient():
            inverse = power(inside[1], -1)
            return multiply(inside[0], inverse) if inverse else None
        case Power(exponent=exponent):
            if exponent == 0 or abs(exponent) > _MOST_POWER:
                return None
            return power(inside[0], exponent)
    return None


@lru_cache(maxsize=8192)
def has_units(expression: Expression) -> bool:
    """Whether any number of an expression has a unit."""
    return isinstance(expression, Measured) or any(map(has_units, parts(expression)))


def si_values(
    expression: Expression, dims: Dims, habit: Habit, of_number: OfNumber = as_written,
    trailing: Iterable[Fraction] = (),
) -> list[Interval]:  # fmt: skip
    """Every SI value a numeric expression may mean as a quantity of dimensions ``dims``.

    ``trailing``: factors of units that stand later in the same chain.  An expression that is one
    number with a unit of another kind has none.
    """
    if isinstance(expression, Several) or _is_out_of_scale(expression):
        return []
    with_units = has_units(expression)
    scales = tuple(dict.fromkeys((*trailing, *habit.of(dims))))
    if with_units:
        measured = measured_value(expression, of_number)
        if measured is not None and measured[1] == dims:
            return [measured[0]]
        if (again := _unit_of_fractions(expression)) != expression:
            measured = measured_value(again, of_number)
            if measured is not None and measured[1] == dims:
                return [measured[0]]
            if isinstance(again, Measured):
                return []  # a result in the unit of another quantity
        if isinstance(expression, Measured):
            if isinstance(expression.amount, Number):
                return _sloppy_inverse(expression, dims, of_number)
            unit_dims = UNIT_DIMS.get(expression.unit.dimension, _PLAIN)
            if unit_dims not in (_PLAIN, dims) and is_fraction(expression.amount):
                return []  # a result in the unit of another quantity
            if unit_dims == dims and expression.power == 1:  # a unit for the whole bracket
                scales = (expression.unit.factor,)
            bare = bare_value(expression.amount, of_number)
            return [bare.scaled(scale) for scale in scales] if bare else []
        found = []
        units = [n.unit for n in numbers(expression) if isinstance(n, Measured)]
        last = units[-1] if units else None
        if len(units) == 1 and last is not None and UNIT_DIMS.get(last.dimension) == dims:
            scales = (last.factor, *scales)  # "4 + 12 µF": one unit, meant for the whole
        bare = bare_value(expression, of_number)
        if bare is not None:
            found += [bare.scaled(scale) for scale in scales]
        prefixed = bare_value(expression, of_number, prefixes=True)
        if prefixed is not None:
            found.append(prefixed)
        return list(dict.fromkeys(found))
    bare = bare_value(expression, of_number)
    if bare is None:
        return []
    return [bare.scaled(scale) for scale in scales]


def _is_out_of_scale(expression: Expression) -> bool:
    """Whether a term with a power of ten is added to plain numbers beside which it is nothing:
    40.5 + 24 - 64.5·10⁻⁸ is no way to write 64.5."""
    if not isinstance(expression, Sum):
        return False
    terms = [t.amount if isinstance(t, Measured) else t for _sign, t in expression.terms]
    its = [t for t in terms if isinstance(t, Number)]
    plain = [t.value for t in its if not t.has_power]
    return bool(plain) and any(t.has_power and t.value * _NOTHING < max(plain) for t in its)


def si_values_again(
    expression: Expression, dims: Dims, habit: Habit, of_number: OfNumber,
    trailing: tuple[Fraction, ...],
) -> list[Interval]:  # fmt: skip
    """As ``si_values``, worked out once for a page; ``of_number`` is a function of a module."""
    its = id(expression), dims, of_number, trailing
    if its not in habit.valued:  # with the expression, so that its identity is not used again
        habit.valued[its] = expression, si_values(expression, dims, habit, of_number, trailing)
    return habit.valued[its][1]


def _unit_of_fractions(expression: Expression) -> Expression:
    """95.6 pF + 13/12 nF on one line: the unit is the fraction's, not that of what is below."""
    match expression:
        case Sum(terms=terms):
            return Sum(tuple((sign, _unit_of_fractions(term)) for sign, term in terms))
        case Product(factors=factors):
            return Product(tuple(map(_unit_of_fractions, factors)))
        case Quotient(over=Number() as over, under=Measured(Number() as under, unit, power)):
            return Measured(Quotient(over, under), unit, power)
        case Quotient(over=over, under=under):
            return Quotient(_unit_of_fractions(over), _unit_of_fractions(under))
    return expression


def is_bare_working(expression: Expression) -> bool:
    """Whether an expression works with bare numbers only, whatever prefix they have in mind."""
    if isinstance(expression, Number):
        return False
    return isinstance(expression, Sum | Product | Quotient | Power) and all(
        (isinstance(part, Number) and not part.has_power) or is_bare_working(part)
        for part in parts(expression)
    )


def _sloppy_inverse(number: Measured, dims: Dims, of_number: OfNumber) -> list[Interval]:
    """1/C = 1.325 µF, with the unit not inverted, means 1.325 /µF."""
    unit = UNIT_DIMS.get(number.unit.dimension, _PLAIN)
    if number.power == 1 and unit != _PLAIN and dims == (-unit[0], -unit[1]):
        return [of_number(number.amount).scaled(1 / number.unit.factor)]  # type: ignore[arg-type]
    return []
