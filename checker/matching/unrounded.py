"""Numbers of an expression that are what they seem: by their units, or in exact fractions."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from checker.exact import Fraction
from checker.matching.circuit import KINDS, Circuit, Key, Kind
from checker.matching.context import Context
from checker.matching.dimensions import KIND_OF_UNIT
from checker.matching.forms import is_fraction, is_result, is_structure, without_unit
from checker.matching.intervals import Interval, could_stand_for, exactly
from checker.matching.values import OfNumber
from checker.notation.tree import (
    Expression,
    Measured,
    Number,
    Power,
    Product,
    Quotient,
    Sum,
    every_part,
    numbers,
    parts,
)

_SQUARE = 2
_PLACES = 12  # of a decimal that ends
ANY: tuple[Kind, ...] = ("C", "Q", "V")  # that a number without a unit may be a value of
# What numbers are values of: a set has one of the kinds, a tuple all, at different places.
Kinds = Mapping[Number, tuple[Kind, ...] | frozenset[Kind]]


def kinds_of(expression: Expression, kind: Kind) -> Kinds:
    """What the numbers of an expression for a ``kind`` of quantity are values of, for those that
    always have a unit; in a sum all are of that kind: both of 48 - 47 are voltages.  What is
    squared in an energy is a voltage in a product, ½ · 6 · 9², a charge in a quotient, 54²/12; a
    charge is worked out as 4.7 × 9, a voltage as 42/4.7."""
    is_sum = isinstance(expression, Sum) and all(map(is_result, parts(expression)))
    found: dict[Number, tuple[Kind, ...] | frozenset[Kind]] = {}
    bare: set[Number] = set()
    if kind == "U":
        found.update(_squared(expression))
    elif kind in ("Q", "V"):
        found.update(_in_law(expression, kind))
    for literal in numbers(expression):
        number, its = without_unit(literal), kind if is_sum else None
        if isinstance(literal, Measured):
            its = KIND_OF_UNIT.get(literal.unit.dimension)
        if isinstance(number, Number):
            if its is not None:
                found[number] = tuple(dict.fromkeys((*found.get(number, ()), its)))
            elif number not in found:
                bare.add(number)
    return {number: kinds for number, kinds in found.items() if number not in bare}


def _in_law(expression: Expression, kind: Kind) -> Kinds:
    """What the two numbers of a charge worked out as C V are, or of a voltage worked out as Q/C."""
    match without_unit(expression):
        case Product(factors=(one, two)) if kind == "Q":
            of_one = of_two = frozenset[Kind](("C", "V"))
        case Quotient(over=one, under=two) if kind == "V":
            of_one, of_two = frozenset[Kind](("Q", "V")), frozenset[Kind](("C",))
        case _:
            return {}
    if one == two or not (isinstance(one, Number) and isinstance(two, Number)):
        return {}
    return {one: of_one, two: of_two}


def _squared(expression: Expression) -> Kinds:
    """The number that is squared in the working for an energy, if it is nothing else there: over a
    capacitance it is a charge, beside one a voltage."""
    bare = without_unit(expression)
    over = bare.over if isinstance(bare, Quotient) else bare
    factors = over.factors if isinstance(over, Product) else (over,)
    bases = [f.base for f in factors if isinstance(f, Power) and f.exponent == _SQUARE]
    base = without_unit(bases[0]) if len(bases) == 1 else None
    every = [without_unit(literal) for literal in numbers(expression)]
    if not bases and isinstance(bare, Product):  # ½ QV
        values = {f for f in factors if isinstance(f, Number) and not is_structure(f)}
        return dict.fromkeys(values, ("Q", "V")) if len(values) == len(factors) - 1 else {}
    if not isinstance(base, Number) or every.count(base) > 1:
        return {}
    beside = [f for f in factors if not isinstance(f, Power)]
    alone = all(isinstance(f, Number) and is_structure(f) for f in beside)
    return {base: ("Q" if isinstance(bare, Quotient) and alone else "V",)}


def not_given(number: Number, kinds: Kinds, circuit: Circuit) -> Iterator[Key]:
    """The quantities that a number may be a value of, without the given ones."""
    return (key for kind in kinds.get(number, ANY) for key in circuit.unknown[kind])


def structure_as_values(expression: Expression, kind: Kind) -> set[Number]:
    """The number 1 in what is for a ``kind`` of quantity where it only stands as a factor, and
    perhaps a term as well, (6.8 × 1)/(6.8 + 1), in 1⁻¹ or 1², with a unit or, for a voltage, as a
    charge over a capacitance, 1/0.18, and so for a value; so does a 1 or 2 that is squared."""
    found = list(map(without_unit, _values_in(expression)))
    bare = without_unit(expression)
    if kind == "V" and isinstance(bare, Quotient) and isinstance(bare.over, Number):
        found.append(bare.over)
    sums = (part for part in every_part(expression) if isinstance(part, Sum))
    terms = [without_unit(term) for its in sums for term in parts(its)]
    literals = numbers(expression)
    every = [without_unit(literal) for literal in literals]
    ones = [n for n in found if isinstance(n, Number) and n.value == 1]
    alone = {one for one in ones if every.count(one) == [*found, *terms].count(one)}
    squared = [without_unit(p.base) for p in every_part(expression) if isinstance(p, Power)]
    alone |= {
        n for n in squared
        if isinstance(n, Number) and is_structure(n) and every.count(n) == squared.count(n)
    }  # fmt: skip
    with_unit = {n for n in every if isinstance(n, Number) and n.value == 1 and n not in literals}
    return alone | with_unit


def _values_in(expression: Expression) -> Iterator[Expression]:
    for part in every_part(expression):
        if isinstance(part, Product):
            yield from part.factors
        elif isinstance(part, Power):
            yield part.base
        elif isinstance(part, Quotient):
            yield from (its for its in parts(part) if isinstance(its, Measured))


def in_fractions(expression: Expression, usual: OfNumber, context: Context) -> OfNumber:
    """As ``usual``, but with the numbers of fractions as they are that are values of the page and
    have no end as decimals: 200/7 is no quotient of rounded values, though 1222/47 = 26 may be."""
    whole = {number for pair in exact_fractions(expression, context) for number in pair}
    if not whole:
        return usual

    def of_number(number: Number) -> Interval:
        if number in whole:
            return as_obtained(number, could_stand_for(number), {}, context)
        return usual(number)

    return of_number


def exact_fractions(
    expression: Expression, context: Context, inside: bool = False
) -> Iterator[tuple[Number, Number]]:
    """The numbers of the fractions in an expression that are values and have no end as decimals."""
    bare = without_unit(expression)
    if isinstance(bare, Quotient) and is_fraction(bare):
        over, under = bare.over, without_unit(bare.under)
        if isinstance(over, Number) and isinstance(under, Number) and under.value:
            value = over.value / under.value
            if 10**_PLACES % value.denominator and _is_exact(value, context, inside):
                yield over, under
        return
    for part in parts(bare):
        yield from exact_fractions(part, context, inside=True)


def _is_exact(value: Fraction, context: Context, inside: bool) -> bool:
    """Whether a value is an exact one or, ``inside`` an expression, one that the page has just
    so."""
    scales = context.habit.scales
    if inside and value.numerator > 1 and 1 / value in context.habit.exact:  # 1/({49}/{440})
        return True
    return value in context.habit.exact or (inside and any(
        its.low == its.high == value * scales[key.kind][0]
        for key, its in context.working.written.items()
    ))  # fmt: skip


def values_of(number: Number, kinds: Kinds, context: Context) -> Iterator[Key]:
    """The quantities of which a number is the exact value; of what it cannot be it is none: in
    86²/(2 × 48) the 86 is no capacitance."""
    circuit, scales = context.working.circuit, context.habit.scales
    return (
        key
        for kind in kinds[number] for group in circuit.groups for scale in scales[kind]
        if circuit.value(key := Key(kind, group)) == number.value * scale
    )  # fmt: skip


def is_given(number: Number, kinds: Kinds, context: Context) -> bool:
    """Whether a number is a given value of a kind that it may be of."""
    return number.value in context.habit.givens and (
        number not in kinds
        or any(map(context.working.circuit.is_given, values_of(number, kinds, context)))
    )


def is_written(number: Number, kinds: Kinds, context: Context) -> bool:
    """Whether a page has a number just so as a value of a kind that it may be of."""
    working = context.working
    return any(
        working.has_written(key, number.value * scale)
        for key in working.written if key.kind in kinds.get(number, ANY)
        for scale in context.habit.scales[key.kind][:2]
    )  # fmt: skip


def as_obtained(number: Number, allowed: Interval, kinds: Kinds, context: Context) -> Interval:
    """A number that is an exact value, as the page may have got it by way of rounded ones: with
    20/110 · 100 = 18.2 written as 18, which the exact charge happens to be."""
    working, value = context.working, exactly(number.value)
    if not working.written:
        return value
    circuit, given = working.circuit, is_given(number, kinds, context)
    for key, scale in (
        (Key(kind, group), scale)
        for kind in KINDS for scale in context.habit.scales[kind] for group in circuit.groups
    ):
        if circuit.is_given(key) or circuit.value(key) != number.value * scale:
            continue
        if (right := working.written.get(key) if given else working.right(key, 1)) is not None:
            value = value.hull(right.scaled(1 / scale).common(allowed) or value)
    return value


def may_be_another(
    number: Number,
    allowed: Interval,
    kinds: Kinds,
    context: Context,
    about: Key | None,
    fewest: int = 2,
) -> bool:
    """Whether a number of as many figures or more, one of the exact values, is also the rounded
    value of something else than what the expression is ``about``."""
    working, circuit = context.working, context.working.circuit
    if len(number.figures) < fewest:
        return False
    its_own = circuit.shared(about) if about is not None else None
    # Nobody rounds 11.54 V to 12 V who writes 0.3607 V.
    fine = len(number.figures) + 1 >= context.habit.usual
    for key in not_given(number, kinds, circuit):
        value, scale = circuit.value(key), context.habit.scales[key.kind][0]
        if not value:
            continue
        is_own = circuit.shared(key) == its_own
        others = [] if is_own else [value / scale]
        others += [scale / value] if key.kind == "C" else []  # 1/C
        if fine and any(
            allowed.low <= its <= allowed.high and its != number.value for its in others
        ):
            return True
        if not is_own and working.has_written(key, number.value * scale):
            return True
    return False
