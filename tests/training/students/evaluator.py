"""A small evaluator of written numbers, apart from both the generator and the judge.

It knows nothing of circuits: it splits a line into chains of equalities and works out every side
that holds numbers only, as an interval of what its rounded numbers may stand for.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from checker.exact import Fraction, rational

UNIT = re.compile(r"([kmµnp]?)(F|C|V|J)(?![A-Za-z_'])")
PREFIX = {"k": 3, "": 0, "m": -3, "µ": -6, "n": -9, "p": -12}
NUMBER = re.compile(r"\d+(?:[.,]\d+)?")


@dataclass(frozen=True)
class Range:
    low: Fraction
    high: Fraction
    unit: bool = False  # a unit stood somewhere in it

    def times(self, other: Range) -> Range:
        return Range(self.low * other.low, self.high * other.high, self.unit or other.unit)

    def over(self, other: Range) -> Range:
        return Range(self.low / other.high, self.high / other.low, self.unit or other.unit)

    def plus(self, other: Range) -> Range:
        return Range(self.low + other.low, self.high + other.high, self.unit or other.unit)

    def minus(self, other: Range) -> Range:
        return Range(self.low - other.high, self.high - other.low, self.unit or other.unit)


class NotNumeric(Exception):
    pass


class Reader:
    """Recursive descent over one side of an equality."""

    def __init__(self, text: str, exact: set[str]) -> None:
        self.text, self.at, self.exact = text, 0, exact

    def whole(self) -> Range:
        value = self.sum()
        if self.at != len(self.text):
            raise NotNumeric(self.text[self.at :])
        return value

    def peek(self, *options: str) -> str:
        return next((o for o in options if self.text.startswith(o, self.at)), "")

    def take(self, *options: str) -> str:
        found = self.peek(*options)
        self.at += len(found)
        return found

    def need(self, mark: str) -> None:
        if not self.take(mark):
            raise NotNumeric(self.text)

    def sum(self) -> Range:
        value = self.product()
        while sign := self.take("+", "-"):
            other = self.product()
            value = value.plus(other) if sign == "+" else value.minus(other)
        return value

    def product(self) -> Range:
        value = self.power()
        while self.at < len(self.text):
            if self.take("×", "·"):
                value = value.times(self.power())
            elif self.take("/"):
                if re.match("[mµnp]F", self.text[self.at :]):  # 0.3/µF
                    value = value.over(self.unit(Range(Fraction(1), Fraction(1))))
                else:
                    value = value.over(self.power())
            elif self.peek("(", "{"):
                value = value.times(self.power())
            else:
                break
        return value

    def power(self) -> Range:
        value = self.unit(self.atom())
        if self.take("^{"):
            found = re.match(r"-?\d+", self.text[self.at :])
            if found is None:
                raise NotNumeric(self.text)
            self.at += found.end()
            self.need("}")
            n = int(found[0])
            low, high = sorted((value.low**n, value.high**n))
            value = Range(low, high, value.unit)
        return self.unit(value)

    def unit(self, value: Range) -> Range:
        found = UNIT.match(self.text, self.at)
        if found is None:
            return value
        self.at = found.end()
        factor = Fraction(10) ** PREFIX[found[1]]
        if self.take("^{-1}"):
            factor = 1 / factor
        return Range(value.low * factor, value.high * factor, True)

    def atom(self) -> Range:
        if self.take("("):
            value = self.sum()
            self.need(")")
            return value
        if self.take("{"):
            top = self.sum()
            self.need("}/{")
            bottom = self.sum()
            self.need("}")
            return top.over(bottom)
        found = NUMBER.match(self.text, self.at)
        if found is None:
            raise NotNumeric(self.text)
        self.at = found.end()
        return self.number(found[0])

    def number(self, text: str) -> Range:
        value = rational(text.replace(",", "."))
        step = Fraction(0)
        if text not in self.exact and not (text == "10" and self.peek("^{")):
            decimals = len(re.split("[.,]", text)[1]) if re.search("[.,]", text) else 0
            zeros = 0 if decimals else len(text) - len(text.rstrip("0"))
            step = Fraction(10) ** (zeros - decimals)
        return Range(max(value - step, value / 10), value + step)


def sides(line: str, exact: set[str]) -> list[list[Range | None]]:
    """The chains of a line; of each side its range, None where it is not all numbers."""
    chains = []
    for part in re.split(r"  |;|,(?=[A-Za-zΔ])|→|⇒|∴|:| so |^so |^then |^now ", line):
        texts = re.split("[=≈]", part)
        chain: list[Range | None] = []
        for text in texts:
            alone = re.fullmatch(r"[\d.,]+[kmµnp]?[FCVJ]?", text)  # a result, so rounded
            try:
                chain.append(Reader(text, set() if alone else exact).whole())
            except (NotNumeric, ZeroDivisionError):
                chain.append(None)
        chains.append(chain)
    return chains


def agree(a: Range, b: Range) -> bool:
    """Whether two sides may stand for one value; without units only up to a power of 1000."""
    shifts = [0] if a.unit == b.unit else range(-24, 25, 3)
    for shift in shifts:
        factor = Fraction(10) ** shift
        if a.low <= b.high * factor and b.low * factor <= a.high:
            return True
    return False
