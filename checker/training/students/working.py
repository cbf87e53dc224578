"""The working written to the right of an equals sign, as a tree, and how hands write it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from checker.exact import Fraction
from checker.problem.network import Node

Key = tuple[str, Node]  # ("C" | "Q" | "V" | "U", group or element)


@dataclass(frozen=True)
class Ref:
    """A quantity named or used earlier.  ``note`` tells apart wrongly copied uses of it."""

    key: Key
    note: str = ""


@dataclass(frozen=True)
class Num:
    """A plain number such as the 1 of a reciprocal or the ½ of an energy."""

    value: Fraction


@dataclass(frozen=True)
class Sum:
    terms: tuple[Expr, ...]


@dataclass(frozen=True)
class Less:
    left: Expr
    right: Expr


@dataclass(frozen=True)
class Times:
    factors: tuple[Expr, ...]


@dataclass(frozen=True)
class Over:
    top: Expr
    bottom: Expr


@dataclass(frozen=True)
class Square:
    base: Expr


@dataclass(frozen=True)
class Bar:
    """C1 ∥ C2 as an operator; its value is that of capacitors in parallel, the sum."""

    terms: tuple[Expr, ...]


Expr = Ref | Num | Sum | Less | Times | Over | Square | Bar
ONE = Num(Fraction(1))
TWO = Num(Fraction(2))
HALF = Num(Fraction(1, 2))


def evaluate(expr: Expr, value_of: Callable[[Ref], Fraction]) -> Fraction:
    """The value of a tree; ``value_of`` gives that of a reference.  Raises ZeroDivisionError."""
    match expr:
        case Ref():
            return value_of(expr)
        case Num(value):
            return value
        case Sum(terms) | Bar(terms):
            return sum((evaluate(t, value_of) for t in terms), Fraction(0))
        case Less(left, right):
            return evaluate(left, value_of) - evaluate(right, value_of)
        case Times(factors):
            product = Fraction(1)
            for factor in factors:
                product *= evaluate(factor, value_of)
            return product
        case Over(top, bottom):
            return evaluate(top, value_of) / evaluate(bottom, value_of)
        case Square(base):
            return evaluate(base, value_of) ** 2


def references(expr: Expr) -> tuple[Ref, ...]:
    """The references in a tree, from left to right."""
    match expr:
        case Ref():
            return (expr,)
        case Num():
            return ()
        case Sum(parts) | Bar(parts) | Times(parts):
            return tuple(r for part in parts for r in references(part))
        case Less(a, b) | Over(a, b):
            return references(a) + references(b)
        case Square(base):
            return references(base)


def replaced(expr: Expr, change: Callable[[Ref], Expr]) -> Expr:
    """The tree with every reference put through ``change``."""
    match expr:
        case Ref():
            return change(expr)
        case Num():
            return expr
        case Sum(parts):
            return Sum(tuple(replaced(p, change) for p in parts))
        case Bar(parts):
            return Bar(tuple(replaced(p, change) for p in parts))
        case Times(parts):
            return Times(tuple(replaced(p, change) for p in parts))
        case Less(a, b):
            return Less(replaced(a, change), replaced(b, change))
        case Over(a, b):
            return Over(replaced(a, change), replaced(b, change))
        case Square(base):
            return Square(replaced(base, change))


@dataclass(frozen=True)
class Pen:
    """Habits of writing expressions: fractions stacked or typed, sign of multiplication."""

    stacked: bool = True
    times: str = "×"  # between numbers: × or · or "()" for (4)(12)
    symbol_times: str = ""  # between symbols: "" or · or ×
    half: str = "fraction"  # "fraction" or "0.5"
    inverse_power: bool = False  # C^{-1} for 1/C
    comma: bool = False


# How firmly a text holds together: a sum, a product, a typed quotient, an atom.
_SUM, _PRODUCT, _ATOM = 0, 1, 3


def write(expr: Expr, leaf: Callable[[Ref], str], pen: Pen, symbols: bool) -> str:
    """Markup of a tree; ``leaf`` gives the text of a reference (a label or a number)."""
    return _write(expr, leaf, pen, symbols)[0]


def _write(expr: Expr, leaf: Callable[[Ref], str], pen: Pen, symbols: bool) -> tuple[str, int]:
    def sub(part: Expr) -> tuple[str, int]:
        return _write(part, leaf, pen, symbols)

    def held(part: Expr, least: int) -> str:
        text, firm = sub(part)
        return text if firm >= least else f"({text})"

    match expr:
        case Ref():
            text = leaf(expr)
            compound = "×" in text or "·" in text or "/" in text
            return text, _PRODUCT if compound else _ATOM
        case Num(value):
            if value == Fraction(1, 2):
                if pen.half == "0.5":
                    return ("0,5" if pen.comma else "0.5"), _ATOM
                return ("{1}/{2}", _ATOM) if pen.stacked else ("1/2", _PRODUCT)
            return str(value), _ATOM
        case Sum(terms):
            return "+".join(held(t, _PRODUCT) for t in terms), _SUM
        case Less(left, right):
            return f"{held(left, _SUM)}-{held(right, _PRODUCT)}", _SUM
        case Bar(terms):
            return "∥".join(held(t, _ATOM) for t in terms), _PRODUCT
        case Times(factors):
            return _product([sub(f) for f in factors], pen, symbols), _PRODUCT
        case Over(top, bottom):
            if pen.inverse_power and top == ONE and symbols:
                text, firm = sub(bottom)
                return (f"{text}^{{-1}}" if firm == _ATOM else f"({text})^{{-1}}"), _ATOM
            if pen.stacked:
                return f"{{{sub(top)[0]}}}/{{{sub(bottom)[0]}}}", _ATOM
            over, firm = sub(bottom)
            loose = firm < _ATOM or (
                any(unit in over for unit in ("F", "V", "C", "J")) and not symbols
            )
            return f"{held(top, _PRODUCT)}/{f'({over})' if loose else over}", _PRODUCT
        case Square(base):
            text, firm = sub(base)
            bare = firm == _ATOM and (symbols or text.replace(".", "").replace(",", "").isdigit())
            return (f"{text}^{{2}}" if bare else f"({text})^{{2}}"), _ATOM


def _product(parts: list[tuple[str, int]], pen: Pen, symbols: bool) -> str:
    # A typed quotient inside a product is bracketed, but for the ½ of 1/2×C×V².
    texts = [
        f"({t})" if firm < _PRODUCT or (firm == _PRODUCT and "/" in t and t != "1/2") else t
        for t, firm in parts
    ]
    if symbols:
        sign = pen.symbol_times
        if not sign and texts[0] == "1/2":
            texts[0] = f"({texts[0]})"
        return sign.join(texts)
    if pen.times == "()":
        if all(t.startswith("(") for t in texts[1:]):
            return "".join(texts)
        first, rest = texts[0], texts[1:]
        if first in ("{1}/{2}",):
            return first + "".join(f"({t})" if t[0] != "(" else t for t in rest)
        return "".join(f"({t})" if t[0] != "(" or t[-1] != ")" else t for t in [first, *rest])
    return pen.times.join(texts)
