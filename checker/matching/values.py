"""The value of an expression in SI units, whatever the page's habit with units.

A fully measured expression has one value.  Where units are left out, the number is read in the
page's own unit for that quantity, or as an SI value; each reading is tried.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from checker.matching.circuit import KINDS, Circuit, Key, Kind
from checker.matching.intervals import Interval, add, exactly, multiply, power, rounded
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
from checker.rational import Fraction

Dims = tuple[int, int]  # powers of farad and volt: C = F·V, J = F·V²
KIND_DIMS: dict[Kind, Dims] = {"C": (1, 0), "V": (0, 1), "Q": (1, 1), "U": (1, 2)}
_UNIT_DIMS: dict[str, Dims] = {
    "capacitance": (1, 0), "voltage": (0, 1), "charge": (1, 1), "energy": (1, 2)
}  # fmt: skip
KIND_OF_UNIT: dict[str, Kind] = {
    "capacitance": "C", "voltage": "V", "charge": "Q", "energy": "U"
}  # fmt: skip
_PLAIN: Dims = (0, 0)
_MOST_POWER = 4
_MOST_GROUPS = 60

OfNumber = Callable[[Number], Interval]
OfSymbol = Callable[[Symbol], tuple[Interval, Kind] | None]


@dataclass(frozen=True)
class Habit:
    """The units a page uses for each kind when it leaves them out, likeliest first, as factors to
    SI; ``comma``: decimals are written with a comma."""

    scales: Mapping[Kind, tuple[Fraction, ...]]
    comma: bool = True
    exact: frozenset[Fraction] = frozenset()  # exact values of everything, as bare numbers
    givens: frozenset[Fraction] = frozenset()  # those of the problem, likewise

    @cached_property
    def roughly_exact(self) -> tuple[float, ...]:
        """The exact values, and one over the capacitances, in floating point."""
        its = [float(value) for value in self.exact if value]
        return (*its, *(1 / value for value in its))

    def of(self, dims: Dims) -> tuple[Fraction, ...]:
        for kind, its in KIND_DIMS.items():
            if dims == its:
                return self.scales[kind]
            if dims == (-its[0], -its[1]):
                return tuple(1 / scale for scale in self.scales[kind])
        return (Fraction(1),)


def as_written(number: Number) -> Interval:
    return exactly(number.value)


def no_symbols(symbol: Symbol) -> None:
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
            dims = _UNIT_DIMS.get(unit.dimension)
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


def has_units(expression: Expression) -> bool:
    return isinstance(expression, Measured) or any(map(has_units, parts(expression)))


def si_values(
    expression: Expression, dims: Dims, habit: Habit, of_number: OfNumber = as_written,
    trailing: Iterable[Fraction] = (),
) -> list[Interval]:  # fmt: skip
    """Every SI value a numeric expression may mean as a quantity of dimensions ``dims``.

    ``trailing``: factors of units that stand later in the same chain.  An expression that is one
    number with a unit of another kind has none.
    """
    if isinstance(expression, Several):
        return []
    with_units = has_units(expression)
    scales = tuple(dict.fromkeys((*trailing, *habit.of(dims))))
    if with_units:
        measured = measured_value(expression, of_number)
        if measured is not None and measured[1] == dims:
            return [measured[0]]
        if isinstance(expression, Measured):
            if isinstance(expression.amount, Number):
                return _sloppy_inverse(expression, dims, of_number)
            unit_dims = _UNIT_DIMS.get(expression.unit.dimension, _PLAIN)
            if unit_dims not in (_PLAIN, dims) and _is_plain_fraction(expression.amount):
                return []  # a result in the unit of another quantity
            if unit_dims == dims and expression.power == 1:  # a unit for the whole bracket
                scales = (expression.unit.factor,)
            bare = bare_value(expression.amount, of_number)
            return [bare.scaled(scale) for scale in scales] if bare else []
        found = []
        units = [n.unit for n in numbers(expression) if isinstance(n, Measured)]
        last = units[-1] if units else None
        if len(units) == 1 and last is not None and _UNIT_DIMS.get(last.dimension) == dims:
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


def _is_plain_fraction(expression: Expression) -> bool:
    return isinstance(expression, Quotient) and all(
        isinstance(part, Number) and part.whole for part in parts(expression)
    )


def is_scale_free(expression: Expression) -> bool:
    """Whether an expression only multiplies and divides bare numbers."""
    if isinstance(expression, Number):
        return False
    return isinstance(expression, Product | Quotient | Power) and all(
        (isinstance(part, Number) and not part.has_power) or is_scale_free(part)
        for part in parts(expression)
    )


def _sloppy_inverse(number: Measured, dims: Dims, of_number: OfNumber) -> list[Interval]:
    """1/C = 1.325 µF, with the unit not inverted, means 1.325 /µF."""
    unit = _UNIT_DIMS.get(number.unit.dimension, _PLAIN)
    if number.power == 1 and unit != _PLAIN and dims == (-unit[0], -unit[1]):
        return [of_number(number.amount).scaled(1 / number.unit.factor)]  # type: ignore[arg-type]
    return []


def habit_of(
    circuit: Circuit,
    expressions: Iterable[Expression],
    comma: bool,
    units_named: Iterable[str] = (),
) -> Habit:
    """The units this page uses: those it writes, most frequent first; for capacitance otherwise
    the prefix with which most of its bare numbers are given values."""
    from collections import Counter

    seen: dict[Kind, Counter[Fraction]] = {kind: Counter() for kind in KINDS}
    bare: set[Number] = set()
    for expression in expressions:
        for number in numbers(expression):
            if isinstance(number, Measured):
                kind = KIND_OF_UNIT.get(number.unit.dimension)
                if kind:
                    seen[kind][number.unit.factor] += 1
            else:
                bare.add(number)
    known = [v for g in circuit.groups if (v := circuit.value(Key("C", g))) is not None]
    given = known[: len(circuit.names)]
    guess = max(
        (Fraction(10) ** exponent for exponent in (-6, -9, -12, -3, 0)),
        key=lambda scale: (
            sum(any(rounded(n).meets(exactly(value / scale)) for n in bare) for value in known),
            sum(1 <= value / scale < 1000 for value in given),
        ),
    )
    one = Fraction(1)
    scales: dict[Kind, tuple[Fraction, ...]] = {}
    capacitance = [f for f, _n in seen["C"].most_common(3)] + [guess]
    scales["C"] = tuple(dict.fromkeys([*capacitance, one]))
    scales["V"] = tuple(dict.fromkeys([*(f for f, _n in seen["V"].most_common(2)), one]))
    main = capacitance[0]
    volts = scales["V"][0]
    kinds: tuple[tuple[Kind, int], ...] = (("Q", 1), ("U", 2))
    for kind, exponent in kinds:
        its = [f for f, _n in seen[kind].most_common(2)]
        usual = [f * v**exponent for v in dict.fromkeys((volts, one)) for f in (main, guess)]
        scales[kind] = tuple(dict.fromkeys([*its, *usual, one]))
    keys = [*(Key("C", group) for group in circuit.groups), Key("V", circuit.total)]
    givens = frozenset(
        value / scale for key in keys if circuit.is_given(key)
        if (value := circuit.value(key)) is not None for scale in scales[key.kind]
    )  # fmt: skip
    return Habit(scales, comma, _exact_numbers(circuit, scales), givens)


def _exact_numbers(
    circuit: Circuit, scales: Mapping[Kind, tuple[Fraction, ...]]
) -> frozenset[Fraction]:
    return frozenset(
        value / scale
        for kind in KINDS
        for group in circuit.groups[:_MOST_GROUPS]
        if (value := circuit.value(Key(kind, group))) is not None
        for scale in (scales[kind] if kind == "C" else scales[kind][:1])
    )
