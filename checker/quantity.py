"""Physical quantities with exact values, and how they are written.

Values are ``Fraction`` in SI units, so nothing is rounded before it is printed.  What a unit name
means comes from pint; only electrical units and seconds are let through, with the prefixes atto to
tera in steps of a thousand (SI Brochure, 9th ed., section 3: one prefix at most, case matters).
"""

from __future__ import annotations

import fractions
import re
import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Literal

from checker.errors import CheckerError
from checker.exact import Fraction, rational
from checker.markup import fold

if TYPE_CHECKING:
    import pint

Dimension = Literal[
    "number", "capacitance", "charge", "voltage", "energy",
    "resistance", "current", "power", "inductance", "time",
]  # fmt: skip


class QuantityError(CheckerError):
    """Text that is no quantity or no unit."""


@dataclass(frozen=True)
class Unit:
    """``symbol`` as printed ("µF"); ``factor`` carries a value in it to the SI unit, exactly."""

    symbol: str
    dimension: Dimension
    factor: Fraction


@dataclass(frozen=True)
class Quantity:
    """``value`` in the SI unit of ``dimension``, exact."""

    value: Fraction
    dimension: Dimension


_SI_UNITS: dict[str, tuple[str, Dimension]] = {  # pint's name: symbol, dimension
    "farad": ("F", "capacitance"),
    "coulomb": ("C", "charge"),
    "volt": ("V", "voltage"),
    "joule": ("J", "energy"),
    "ohm": ("Ω", "resistance"),
    "ampere": ("A", "current"),
    "watt": ("W", "power"),
    "henry": ("H", "inductance"),
    "second": ("s", "time"),
}
_SYMBOLS: dict[Dimension, str] = {
    "number": "", **{dimension: symbol for symbol, dimension in _SI_UNITS.values()}
}  # fmt: skip
_PREFIXES = {-18: "a", -15: "f", -12: "p", -9: "n", -6: "µ", -3: "m",
             0: "", 3: "k", 6: "M", 9: "G", 12: "T"}  # fmt: skip
_PREFIX_OF = {Fraction(10) ** power: symbol for power, symbol in _PREFIXES.items()}

_NUMBER = re.compile(
    r"(?P<sign>[+-]?)\s*"
    r"(?P<digits>\d{1,3}(?: \d{3})+(?:[.,]\d*)?|\d+(?:[.,]\d*)?|[.,]\d+)"
    r"(?:/(?P<divisor>\d+))?"
    r"(?:[eE](?P<e>[+-]?\d{1,2})(?!\d)"
    r"|\s*[×x*·]\s*10\s*(?:\^|\*\*)\s*[{(]?(?P<power>[+-]?\d{1,2})(?!\d)[})]?)?"
)
_GROUPED = re.compile(r"[1-9]\d{0,2},\d{3}")
_LONGEST = 80  # characters; nobody writes a longer quantity, and it bounds the arithmetic


@cache
def _registry() -> pint.UnitRegistry:
    # Loading pint takes some tenths of a second, so it waits until a unit is first asked for.
    import pint

    return pint.UnitRegistry(non_int_type=fractions.Fraction)  # it is given texts


@lru_cache(maxsize=4096)
def parse_unit(text: str) -> Unit:
    """The unit that ``text`` names: a symbol or a name, µ, μ and u alike; "" is the plain number.

    Raises QuantityError when it names none.
    """
    symbol = unicodedata.normalize("NFC", fold(text)).strip()
    if not symbol:
        return Unit("", "number", Fraction(1))
    # Symbols keep their case (mV is not MV); written-out names may start with a capital.
    for name in (symbol, symbol.lower()) if len(symbol) > 3 else (symbol,):
        unit = _known_unit(name)
        if unit is not None:
            return unit
    raise QuantityError(
        f'"{shown(text.strip())}" is no electrical unit known here; '
        "write one such as µF, µC, V or mJ."
    )


def _known_unit(name: str) -> Unit | None:
    if len(name) > 20 or not all(letter.isalpha() for letter in name):
        return None
    registry = _registry()
    for prefix, base, _suffix in registry.parse_unit_name(name):
        if base in _SI_UNITS:
            factor = Fraction(registry.Quantity(1, prefix + base).to(base).magnitude)
            if factor in _PREFIX_OF:
                symbol, dimension = _SI_UNITS[base]
                return Unit(_PREFIX_OF[factor] + symbol, dimension, factor)
    return None


@lru_cache(maxsize=8192)
def parse_quantity(text: str) -> Quantity:
    """Read a number with its unit: "4 µF", "4,7 µF", "4.70e-6 F", "4.7×10^-6 F", "1/3 µF".

    A comma is a decimal comma; where it could as well group thousands ("4,700") the text is
    refused.  Raises QuantityError.
    """
    folded = unicodedata.normalize("NFC", fold(text)).strip()
    match = _NUMBER.match(folded) if len(folded) <= _LONGEST else None
    if match is None:
        raise QuantityError(
            f'"{shown(text)}" is no number with a unit; write it like "4.7 µF" or "24 V".'
        )
    digits = match["digits"].replace(" ", "")
    if _GROUPED.fullmatch(digits):
        raise QuantityError(
            f'"{shown(text)}" may have a decimal comma or a thousands comma; write '
            f'"{digits.replace(",", ".")}" or "{digits.replace(",", "")}" with its unit instead.'
        )
    value = rational(digits.replace(",", "."))
    if match["divisor"]:
        if int(match["divisor"]) == 0:
            raise QuantityError(f'"{shown(text)}" divides by zero; write another number.')
        value /= int(match["divisor"])
    value *= Fraction(10) ** int(match["e"] or match["power"] or 0)
    unit = parse_unit(folded[match.end() :])
    return Quantity((-value if match["sign"] == "-" else value) * unit.factor, unit.dimension)


def format_quantity(quantity: Quantity, figures: int = 3, like: Unit | None = None) -> str:
    """Write a quantity as a person would: "3 µF", "37.3 µC", "2.00 V", "−5 V" with a plain "-".

    A value that ends within ``figures`` significant figures is written exactly, without trailing
    zeros; any other is rounded to ``figures`` figures and keeps its zeros (1.9996 V is "2.00 V").
    Ties go away from zero, as on paper (4.125 gives 4.13).  The unit is ``like`` while that puts
    0.01 <= number < 1000, otherwise the one whose prefix gives 1 <= number < 1000.  A plain number
    and anything beyond the prefixes atto to tera is written with a power of ten where it needs one.
    """
    if quantity.value == 0:
        unit = like if like and like.dimension == quantity.dimension else _unit(quantity, 0)
        return _with_unit("0", unit)
    sign = "-" if quantity.value < 0 else ""
    value, exact = _round(abs(quantity.value), figures)
    if like and like.dimension == quantity.dimension:
        number = value / like.factor
        if Fraction(1, 100) <= number < 1000:
            return sign + _with_unit(_decimal(number, figures, exact), like)
    power = _exponent(value)
    step = 3 * (power // 3)
    if quantity.dimension == "number" or step not in _PREFIXES:
        if quantity.dimension == "number" and -3 <= power < 4:
            return sign + _decimal(value, figures, exact)
        number = value / Fraction(10) ** power
        text = f"{_decimal(number, figures, exact)}×10^{power}"
        return sign + _with_unit(text, _unit(quantity, 0))
    number = value / Fraction(10) ** step
    return sign + _with_unit(_decimal(number, figures, exact), _unit(quantity, step))


def si_unit(dimension: Dimension) -> Unit:
    """The SI unit of a dimension, without prefix."""
    return Unit(_SYMBOLS[dimension], dimension, Fraction(1))


def unit_for(quantity: Quantity) -> Unit:
    """The unit in which ``format_quantity`` would write a quantity, left to itself."""
    if quantity.value == 0 or quantity.dimension == "number":
        return si_unit(quantity.dimension)
    step = 3 * (_exponent(abs(quantity.value)) // 3)
    return _unit(quantity, step if step in _PREFIXES else 0)


def _unit(quantity: Quantity, power: int) -> Unit:
    symbol = _PREFIXES[power] + _SYMBOLS[quantity.dimension]
    return Unit(symbol, quantity.dimension, Fraction(10) ** power)


def _with_unit(number: str, unit: Unit) -> str:
    return f"{number} {unit.symbol}" if unit.symbol else number


def _exponent(value: Fraction) -> int:
    """The n with 10^n <= value < 10^(n+1), for value > 0."""
    power = len(str(value.numerator)) - len(str(value.denominator))
    return power if value >= Fraction(10) ** power else power - 1


def _round(value: Fraction, figures: int) -> tuple[Fraction, bool]:
    """``value`` > 0 rounded half up to significant figures, and whether nothing was lost."""
    unit = Fraction(10) ** (_exponent(value) - figures + 1)
    rounded = (value / unit + Fraction(1, 2)).__floor__() * unit
    return rounded, rounded == value


def _decimal(number: Fraction, figures: int, exact: bool) -> str:
    """A number > 0 of at most ``figures`` figures in plain decimals, zeros kept if not exact."""
    places = max(0, figures - 1 - _exponent(number))
    scaled = str((number * 10**places).__floor__()).rjust(places + 1, "0")
    whole, decimals = scaled[: len(scaled) - places], scaled[len(scaled) - places :]
    if exact:
        decimals = decimals.rstrip("0")
    return f"{whole}.{decimals}" if decimals else whole


def shown(text: str) -> str:
    """``text`` as an error quotes it, cut short where it is long."""
    return text if len(text) <= 30 else text[:29] + "…"
