"""What is written on a training page: the look of circuit working, with the physics left out.

Nearly half of the lines take their shape from invented students, with every digit drawn anew.

Every value is drawn at random, so the reader can learn how work is written but never what it
should say; where a line contains arithmetic its result is right in half the lines and wrong in
the other half.  Lines are markup (``checker.markup``).  Frequencies here are assumptions about
how people write; there is no published source for them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from checker.markup import CHARACTERS, canonical
from checker.training.students import page as student_page

Rng = np.random.Generator

WORDS = (
    "series parallel so since in total and are the same charge voltage each across for both now "
    "then is equal add sum on of with to from energy step find given check Total Series Parallel "
    "capacitors left right combine because therefore thus but gives use all stored supply group "
    "Given Find Now So Then Energy Charge Voltage Since answer"
).split()
PREFIXES = ("µ", "µ", "µ", "µ", "n", "p", "m", "k", "", "")
UNIT_OF = {"C": "F", "Q": "C", "q": "C", "V": "V", "v": "V", "U": "J", "E": "J", "W": "J",
           "R": "Ω", "I": "A", "L": "H", "P": "W"}  # fmt: skip
LONGEST, USUAL = 110, 62  # characters of a line; fewer than one in five are longer than usual
LONG = 0.18


@dataclass(frozen=True)
class Habits:
    """One writer's ways, fixed for a page."""

    comma: bool  # decimal comma
    times: str
    stacked: float  # share of fractions written stacked
    subscripts: float  # share of labels with a lowered index
    units: float  # share of numbers with a unit
    prefix: str | None
    micro: str
    gaps: float
    symbols: tuple[str, ...] = field(default=("C", "Q", "V"))


def draw_habits(rng: Rng) -> Habits:
    return Habits(
        comma=rng.random() < 0.12,
        times=str(rng.choice(["×", "×", "×", "·", "·", "*"])),
        stacked=float(rng.choice([0.95, 0.8, 0.5, 0.15])),
        subscripts=float(rng.choice([1.0, 0.97, 0.9, 0.5, 0.0], p=[0.5, 0.2, 0.1, 0.1, 0.1])),
        units=float(rng.choice([0.9, 0.5, 0.15])),
        prefix=str(rng.choice(["µ", "µ", "µ", "n", "p", "m"])) if rng.random() < 0.7 else None,
        micro="u" if rng.random() < 0.08 else "µ",
        gaps=float(rng.choice([0.05, 0.2, 0.5])),
        symbols=tuple(rng.choice(["C", "C", "Q", "Q", "V", "V", "U", "E", "q", "v", "R", "I",
                                  "L", "P", "W"], size=4)),
    )  # fmt: skip


class Shapes:
    """Lines of invented students to borrow the shape of.

    Inventing a student costs more than drawing a line, so each line serves a few times.
    """

    KEPT, USES = 400, 5

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.left = 0

    def take(self, rng: Rng) -> str:
        if self.left <= 0:
            page = student_page(int(rng.integers(1, 90_000)), "any")
            new = [line.markup for line in page.lines if not line.struck]
            self.lines = (self.lines + new)[-self.KEPT :]
            self.left = self.USES * len(new)
        self.left -= 1
        return self.lines[int(rng.integers(len(self.lines)))]


class Writer:
    """Draws random lines of one page."""

    def __init__(
        self, rng: Rng, habits: Habits | None = None, shapes: Shapes | None = None
    ) -> None:
        self.rng = rng
        self.habits = habits or draw_habits(rng)
        self.shapes = shapes or Shapes()

    # -- small parts ---------------------------------------------------------------------------
    def chance(self, p: float) -> bool:
        return bool(self.rng.random() < p)

    def pick(self, options: Sequence[Any]) -> Any:
        return options[int(self.rng.integers(len(options)))]

    def digits(self, low: int, high: int) -> str:
        n = int(self.rng.integers(low, high + 1))
        first = str(self.rng.integers(1, 10))
        return first + "".join(str(d) for d in self.rng.integers(0, 10, n - 1))

    def show(self, value: str) -> str:
        return value.replace(".", ",") if self.habits.comma else value

    def number(self) -> str:
        roll = self.rng.random()
        if roll < 0.38:
            text = self.digits(1, 3)
        elif roll < 0.72:
            text = (
                self.digits(1, 3)
                + "."
                + "".join(str(d) for d in self.rng.integers(0, 10, self.pick((1, 1, 2, 2, 3))))
            )
        elif roll < 0.90:
            places = self.pick((1, 2, 3, 3, 4, 5))
            text = "0." + "".join(str(d) for d in self.rng.integers(0, 10, places))
        elif roll < 0.92:
            text = "." + self.digits(1, 3)
        else:
            text = self.digits(1, 5)
        if self.chance(0.01):
            text = "-" + text
        return self.show(text)

    def power(self) -> str:
        sign = "-" if self.chance(0.85) else ""
        exponent = str(self.pick((3, 6, 6, 6, 9, 12, 2, 4, 5, 1, 7, 8, 10)))
        times = self.habits.times if self.habits.times in "×·" else "×"
        return f"{times}10^{{{sign}{exponent}}}"

    def unit(self, letter: str | None = None) -> str:
        letter = letter or self.pick(("F", "F", "C", "C", "V", "V", "J", "Ω", "A"))
        prefix = (
            self.habits.prefix if self.habits.prefix and self.chance(0.8) else self.pick(PREFIXES)
        )
        if letter == "V" and self.chance(0.8):
            prefix = ""
        return (self.habits.micro if prefix == "µ" else prefix) + letter

    def value(self, letter: str | None = None, units: float | None = None) -> str:
        text = self.number()
        if self.chance(0.08):
            text += self.power()
        if self.chance(self.habits.units if units is None else units):
            text += self.unit(letter)
        return text

    def index(self) -> str:
        roll = self.rng.random()
        if roll < 0.62:
            return "".join(
                str(d)
                for d in np.sort(self.rng.choice(9, self.pick((1, 1, 1, 2, 2, 3)), replace=False))
                + 1
            )
        if roll < 0.72:
            return str(self.pick(("eq", "eq", "T", "tot", "total", "s", "p", "0")))
        if roll < 0.80:
            return str(self.pick(("eq1", "eq2", "eq3", "p1", "s1", "p2", "s2", "T1")))
        if roll < 0.92:
            return str(self.pick(("A", "B", "ab", "AB", "a", "b", "bc", "X", "x", "y", "D", "E")))
        if roll < 0.96:
            return f"{self.digits(1, 1)},{self.digits(1, 1)}"
        return str(self.pick(("left", "right", "top", "in", "max", "par", "ser", "L", "R")))

    def symbol(self, letter: str | None = None) -> str:
        letter = letter or self.pick(self.habits.symbols)
        if letter in "VvQ" and self.chance(0.08):
            letter = "Δ" + letter
        if self.chance(0.06):
            letter += "'"
            if self.chance(0.6):
                return letter
        if self.chance(0.06):
            return letter
        index = self.index()
        return f"{letter}_{{{index}}}" if self.chance(self.habits.subscripts) else letter + index

    def fraction(self, top: str, bottom: str) -> str:
        if self.chance(self.habits.stacked):
            return f"{{{top}}}/{{{bottom}}}"
        single = all(
            len(part) <= 3 or "_" in part or part.replace(".", "").isdigit()
            for part in (top, bottom)
        )
        if single and not any(sign in top + bottom for sign in "+-×·"):
            return f"{top}/{bottom}"
        wrap = lambda part: f"({part})" if any(sign in part for sign in "+-×·") else part  # noqa: E731
        return f"{wrap(top)}/{wrap(bottom)}"

    def some(self, make: Callable[[], str], sign: str, low: int = 2, high: int = 3) -> str:
        return sign.join(make() for _ in range(int(self.rng.integers(low, high + 1))))

    # -- statements ----------------------------------------------------------------------------
    def arithmetic(self, right: bool | None = None) -> str:
        """A sum, product or quotient of numbers with its result: right or wrong, evenly, or as
        asked for."""
        a, b, c = (float(f"{self.rng.uniform(0.5, 99):.{self.pick((1, 2, 3))}g}") for _ in range(3))
        show = lambda value: self.show(f"{value:.6g}" if abs(value) < 1e5 else f"{value:.0f}")  # noqa: E731
        unit = self.unit() if self.chance(self.habits.units) else ""
        kind = self.rng.integers(6)
        if kind == 0:
            left, result = f"{show(a)}+{show(b)}", a + b
        elif kind == 1:
            left, result = f"{show(a)}{self.habits.times}{show(b)}", a * b
        elif kind == 2:
            left, result = self.fraction(show(a), show(b)), a / b
        elif kind == 3:
            left = self.fraction(f"{show(a)}{self.habits.times}{show(b)}", f"{show(a)}+{show(b)}")
            result = a * b / (a + b)
        elif kind == 4:
            left, result = "+".join(self.fraction("1", show(v)) for v in (a, b)), 1 / a + 1 / b
        else:
            left, result = f"{show(a)}+{show(b)}+{show(c)}", a + b + c
        wrong = self.chance(0.5) if right is None else not right
        if wrong:
            result *= float(self.pick((10, 0.1, 2, 0.5, 1.1, self.rng.uniform(0.2, 5))))
        figures = self.pick((2, 3, 3, 4))
        shown = f"{result:.{figures}g}"
        shown = f"{float(shown):.0f}" if "e" in shown and result > 1 else shown
        if "e" in shown:
            shown = f"{result:.6f}".rstrip("0")
        sign = "≈" if self.chance(0.1) else "="
        return f"{left}{sign}{self.show(shown)}{unit}"

    def term(self) -> str:
        roll = self.rng.random()
        if roll < 0.45:
            return self.value(units=self.habits.units * 0.4)
        if roll < 0.9:
            return self.symbol()
        return f"({self.value(units=0.5)})"

    def expression(self, depth: int = 0) -> str:
        roll = self.rng.random()
        if roll < 0.14:
            return self.some(self.term, "+")
        if roll < 0.22:
            return self.some(self.term, "-")
        if roll < 0.28:
            return self.symbol() + self.symbol()
        if roll < 0.34:
            return self.some(self.term, self.habits.times, 2, 2)
        if roll < 0.42:
            return "".join(f"({self.value(units=0.6)})" for _ in range(2))
        if roll < 0.70 and depth < 2:
            top, bottom = self.part(depth + 1), self.part(depth + 1)
            return self.fraction(top, bottom)
        if roll < 0.84:
            return self.some(lambda: self.fraction("1", self.term()), "+")
        if roll < 0.88:
            return self.some(self.symbol, "∥", 2, 3)
        if roll < 0.91:
            return f"({self.some(self.term, '+')})^{{-1}}"
        if roll < 0.94:
            return f"{self.fraction('1', '2')}{self.symbol()}{self.symbol()}^{{2}}"
        return self.term()

    def part(self, depth: int) -> str:
        roll = self.rng.random()
        if roll < 0.30:
            return "1" if self.chance(0.5) else self.digits(1, 2)
        if roll < 0.60:
            return self.term()
        if roll < 0.72:
            return self.some(self.term, "-" if roll < 0.63 else "+")
        if roll < 0.76:
            return self.symbol() + self.symbol()
        if roll < 0.86:
            return self.some(self.term, self.habits.times, 2, 2)
        return (
            self.some(lambda: self.fraction("1", self.term()), "+", 2, 3)
            if depth < 2
            else self.term()
        )

    def chain(self) -> str:
        letter = self.pick(self.habits.symbols)
        left = self.symbol(letter)
        if self.chance(0.15):
            left = self.fraction("1", left)
        elif self.chance(0.06):
            left += "=" + self.symbol(letter)
        parts = [left] + [self.expression() for _ in range(int(self.rng.choice([0, 1, 1, 2])))]
        parts.append(self.value(UNIT_OF.get(letter), units=self.habits.units + 0.1))
        text = parts[0]
        for part in parts[1:]:
            text += ("≈" if self.chance(0.06) else "→" if self.chance(0.02) else "=") + part
        if self.chance(0.04):
            text += str(self.pick(("?", "!", ".", ",", ";")))
        return text

    def given(self) -> str:
        letter = self.pick(self.habits.symbols)
        sep = str(self.pick((",", ",", "  ", ";", "  ")))
        return self.some(
            lambda: f"{self.symbol(letter)}={self.value(UNIT_OF.get(letter), 0.8)}", sep, 2, 3
        )

    def difference(self) -> str:
        """What a series group leaves: V_3 = 24 - 9.6 - 4.1 V, in symbols, numbers or both."""
        letter = self.pick("VVQQvUq")
        number = lambda: self.value(UNIT_OF.get(letter))  # noqa: E731
        parts = [self.symbol(letter)]
        if self.chance(0.5):
            parts.append(self.some(lambda: self.symbol(letter), "-", 2, 4))
        parts += [self.some(number, "-", 2, 4), number()]
        return "=".join(parts)

    def words(self) -> str:
        roll = self.rng.random()
        if roll < 0.3:
            between = self.pick(("and", "and", "in", "with"))
            how = self.pick(("series", "parallel"))
            return f"{self.symbol()} {between} {self.symbol()} in {how}"
        if roll < 0.45:
            opening = self.pick(("so", "So", "since", "Since", "then", "now"))
            return f"{opening} {self.chain()}"
        if roll < 0.55:
            says = self.pick(("same", "total", "is the same", "same in series", "in parallel"))
            return f"{self.symbol()} {says}"
        if roll < 0.8:
            title = self.pick(
                ("series", "parallel", "total", "Series", "Parallel", "in series", "in parallel",
                 "total charge", "step")
            )  # fmt: skip
            gap = "  " if roll < 0.62 else ""
            return f"{title}:{gap}{self.chain()}"
        return " ".join(self.pick(WORDS) for _ in range(int(self.rng.integers(1, 5))))

    def table_row(self) -> str:
        cells = [self.symbol()] + [
            self.value(units=0.5) for _ in range(int(self.rng.integers(2, 4)))
        ]
        return "  ".join(cells)

    def noise(self) -> str:
        """Symbols without sense: keeps the reader looking at the ink rather than guessing."""
        n = int(self.rng.integers(2, 13))
        alphabet = str(
            self.pick((CHARACTERS, CHARACTERS, "0123456789.,+-=1/l|()", "0OQ5S71Z249C(+txµuVvU.,"))
        )
        out = ""
        for _ in range(n):
            character = self.pick(alphabet)
            out += character
            if character.isalnum() and self.chance(0.15):
                out += ("_{" if self.chance(0.6) else "^{") + str(self.digits(1, 2)) + "}"
        return out

    def borrowed(self) -> str:
        """A line shaped by an invented student, all its digits drawn anew: form without meaning."""
        shape = self.shapes.take(self.rng)
        return re.sub(r"(?<![0-9.,])10(?=\^)|[0-9]", self._redrawn, shape)

    def _redrawn(self, match: re.Match[str]) -> str:
        return match[0] if match[0] == "10" else str(self.rng.integers(0, 10))

    def statement(self) -> str:
        if self.chance(0.45):
            return self.borrowed()
        roll = self.rng.random()
        if roll < 0.50:
            text = self.chain()
        elif roll < 0.66:
            text = self.arithmetic()
            if self.chance(0.6):
                text = f"{self.symbol()}={text}"
        elif roll < 0.72:
            text = self.given()
        elif roll < 0.77:
            text = self.difference()
        elif roll < 0.84:
            text = self.words()
        elif roll < 0.90:
            text = self.table_row()
        else:
            text = self.noise()
        if self.chance(0.07):
            text = str(self.pick(("∴", "⇒", "→", "⇒", "="))) + text
        return text

    def line(self, longest: int = LONGEST) -> str:
        """One line of working as canonical markup."""
        if longest > USUAL and self.chance(LONG):
            return tidy(self.long_line(longest))
        longest = min(longest, USUAL)
        for _ in range(8):
            text = self.statement()
            if self.chance(self.habits.gaps * 0.5):
                text += ("  " if self.chance(0.8) else "⇒") + self.statement()
            if self.chance(0.035):
                text = self.strike(text)
            if len(text) <= longest:
                return tidy(text)
        return tidy(self.value())

    def long_line(self, longest: int) -> str:
        """The longest of a few statements, or two in a row, that fit."""
        text = ""
        for _ in range(6):
            new = self.statement()
            both = text + ("  " if self.chance(0.5) else ",") + new
            if USUAL <= len(both) <= longest and self.chance(0.5):
                return both
            text = new if len(text) < len(new) <= longest else text
        return text or self.value()

    def strike(self, text: str) -> str:
        where = int(self.rng.integers(3))
        if where == 0:
            return "<struck>" + text
        if where == 1:
            return text + "<struck>" + (self.value() if self.chance(0.6) else "")
        left, equals, right = text.partition("=")
        return f"{left}{equals}<struck>{right}" if equals else "<struck>" + text


def tidy(text: str) -> str:
    """Spacing as the markup defines it: two spaces for a gap, one beside words."""
    gap = "\0"
    text = text.replace("  ", gap)
    while gap + " " in text or " " + gap in text or gap + gap in text:
        text = text.replace(gap + " ", gap).replace(" " + gap, gap).replace(gap + gap, gap)
    return canonical(text.replace(gap, "  ").strip())
