"""From steps to statements: what one hand puts on paper for each."""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace
from math import lcm

from checker.exact import Fraction, rational
from checker.problem.network import Element
from checker.training.students import numbers
from checker.training.students.circuits import Circuit, Given
from checker.training.students.habits import Habits, Labels
from checker.training.students.numbers import BASE_UNIT, PREFIX_POWER, TEN, Written
from checker.training.students.plan import Step
from checker.training.students.working import (
    ONE,
    Bar,
    Expr,
    Key,
    Num,
    Over,
    Ref,
    Sum,
    Times,
    evaluate,
    references,
    write,
)


@dataclass(frozen=True)
class Piece:
    """One side of an equality; ``stage``: bar | name | symbols | numbers | middle | value."""

    text: str
    stage: str
    approx: bool = False
    wrong: bool = False


@dataclass(frozen=True)
class Statement:
    """``lhs`` = piece = piece …; ``about``: the quantities it states."""

    lhs: str
    pieces: tuple[Piece, ...]
    about: tuple[Key, ...]
    lead: str = ""  # words or a sign in front
    index: int = -1  # of the step


@dataclass
class Held:
    """A quantity as the student has it: what the calculator holds and what was written."""

    exact: Fraction
    written: Written | None


@dataclass
class Show:
    """Which parts of a step are put on paper."""

    symbols: bool
    numbers: bool
    middle: bool
    converts: bool = False  # 1070 pC = 1.07 nC


@dataclass
class Desk:
    """One student at work on one problem: habits, labels, and the values held so far."""

    circuit: Circuit
    habits: Habits
    rng: random.Random
    labels: Labels
    book: dict[Key, Held] = field(default_factory=dict)
    copies: dict[str, Written] = field(default_factory=dict)  # wrongly copied operands
    given_zeros: bool = False
    misstated: dict[Key, Written] = field(
        default_factory=dict
    )  # as written, where the unit slipped

    @classmethod
    def ready(cls, circuit: Circuit, habits: Habits, rng: random.Random) -> Desk:
        """A desk with the givens on it."""
        desk = cls(circuit, habits, rng, Labels(habits, circuit.network))
        desk.given_zeros = rng.random() < 0.4
        for name, datum in circuit.capacitors.items():
            desk.book["C", Element(name)] = Held(datum.value, desk.given(datum, "C"))
        desk.book["V", circuit.network] = Held(
            circuit.supply.value, desk.given(circuit.supply, "V")
        )
        return desk

    # Numbers

    def scale(self, symbol: str) -> Fraction:
        """The page's coherent unit for a symbol, in SI."""
        if symbol == "V" or self.habits.units == "base":
            return Fraction(1)
        return TEN ** PREFIX_POWER[self.circuit.prefix]

    def unit(self, symbol: str) -> str:
        """Its text."""
        if symbol == "V" or self.habits.units == "base":
            return BASE_UNIT[symbol]
        return self.circuit.prefix + BASE_UNIT[symbol]

    def given(self, datum: Given, symbol: str) -> Written:
        """A datum as this student copies it."""
        plain = datum.number if self.given_zeros else numbers.plain_decimal(rational(datum.number))
        plain = numbers.localised(plain, self.habits.numbers)
        power = PREFIX_POWER[datum.unit[:-1]]
        if self.habits.units == "base":
            text = f"{plain}{self.habits.numbers.times}10^{{{power}}}" if power else plain
            return Written(datum.value, Fraction(0), text, text + datum.unit[-1])
        ratio = datum.value / self.scale(symbol)
        same = TEN**power == self.scale(symbol)
        coherent = (
            plain if same else numbers.localised(numbers.plain_decimal(ratio), self.habits.numbers)
        )
        return Written(datum.value, Fraction(0), coherent, plain + datum.unit)

    def written(self, x: Fraction, symbol: str, figures: int | None = None) -> Written:
        """How the student writes a result; x > 0 in SI."""
        habit = self.habits.numbers
        scale = self.scale(symbol)
        if self.habits.fractions and figures is None:
            ratio = x / scale
            if (
                1 < ratio.denominator <= 60
                and ratio.numerator < 1000
                and TEN**6 % ratio.denominator
            ):
                top, bottom = ratio.numerator, ratio.denominator
                text = f"{{{top}}}/{{{bottom}}}" if self.habits.pen.stacked else f"{top}/{bottom}"
                shown = text if self.habits.pen.stacked else f"({text})"
                return Written(x, Fraction(0), text, shown + self.unit(symbol))
        power = 0
        if self.habits.rescales and self.habits.units in ("all", "end"):
            lead = numbers.exponent(x / scale)
            if not -1 <= lead < 3:
                power = 3 * (lead // 3)
        prefix = self._prefix(symbol, power)
        if prefix is None:
            power, prefix = 0, self._prefix(symbol, 0)
        text, value, step = numbers.number(x / scale / TEN**power, habit, figures)
        shown = numbers.localised(text, habit) + (prefix or "") + BASE_UNIT[symbol]
        if power:
            coherent = value * TEN**power
            inside = (
                numbers.plain_decimal(coherent)
                if Fraction(1, 10**5) < coherent < 10**7
                else numbers.with_power(coherent, replace(habit, figures=6))[0]
            )
        else:
            inside = text
        factor = scale * TEN**power
        return Written(value * factor, step * factor, numbers.localised(inside, habit), shown)

    def _prefix(self, symbol: str, power: int) -> str | None:
        base = (
            0 if symbol == "V" or self.habits.units == "base" else PREFIX_POWER[self.circuit.prefix]
        )
        return next((p for p, e in PREFIX_POWER.items() if e == base + power), None)

    def bare(self, x: Fraction) -> tuple[str, Fraction]:
        """A number without unit, of an intermediate; its text and value as written."""
        text, value, _ = numbers.number(x, self.habits.numbers, max(3, self.habits.numbers.figures))
        return numbers.localised(text, self.habits.numbers), value

    # Values and texts of references

    def value_of(self, ref: Ref) -> Fraction:
        """What the student calculates with."""
        if ref.note:
            return self.copies[ref.note].value
        held = self.book[ref.key]
        if held.written is None:
            return held.exact
        carries = self.habits.carries
        if carries == "rounded" or (carries == "mixed" and self.rng.random() < 0.5):
            return held.written.value
        return held.exact

    def number_of(self, ref: Ref) -> str:
        """What the student writes for it among numbers."""
        if ref.note:
            written = self.copies[ref.note]
        else:
            held = self.book[ref.key]
            written = held.written or self.written(held.exact, ref.key[0])
        return written.shown if self.habits.units == "all" else written.number

    def label_of(self, ref: Ref) -> str:
        return self.labels.of(ref.key)

    def stated(self, written: Written) -> str:
        """A result with or without its unit, as the student is used to."""
        bare = self.habits.units == "none" and not written.forced
        return written.number if bare else written.shown

    # Statements

    def choose(self) -> Show:
        """Which parts the student shows this time."""
        habits, rng = self.habits, self.rng
        return Show(
            rng.random() < habits.shows_symbols,
            rng.random() < habits.shows_numbers,
            rng.random() < habits.middle,
            rng.random() < habits.converts,
        )

    def statements(
        self, step: Step, formula: Expr, form: str, written: Written, exact: Fraction, show: Show
    ) -> list[Statement]:
        """What is written for a step whose result is ``written``."""
        label = self.labels.of(step.key)
        keys = (step.key, *step.more)
        approx = self.habits.approx and written.value != exact
        value = Piece(self.stated(written), "value", approx)
        if step.rule == "same":
            return [self._same(step, formula, value)]
        lhs = label
        inner = step.rule in ("series", "parallel") and step.key[1] != self.circuit.network
        if inner and self.habits.group_label == "none" and (show.numbers or show.symbols):
            lhs = ""
        if form == "reciprocal" and (show.symbols or show.numbers) and isinstance(formula, Over):
            return self._reciprocal(step, formula, written, exact, show)
        pieces = self.forms(formula, show)
        node = step.key[1]
        bars = step.rule == "parallel" and form == "" and self.rng.random() < self.habits.bars
        if bars and not isinstance(node, Element):
            bar = Bar(tuple(Ref(("C", m)) for m in node.members))
            text = write(bar, self.label_of, self.habits.pen, True)
            pieces = (Piece(text, "bar"), *pieces)
        if show.numbers and show.middle:
            pieces += self._middle(formula)
        coherent = written.number + self.unit(step.key[0])
        converts = show.converts and self.habits.units in ("all", "end") and "/" not in coherent
        if converts and coherent != written.shown:
            pieces += (Piece(coherent, "value", approx),)
            value = replace(value, approx=False)
        return [Statement(lhs, (*pieces, value), keys)]

    def forms(self, formula: Expr, show: Show) -> tuple[Piece, ...]:
        pen = self.habits.pen
        pieces: list[Piece] = []
        if show.symbols:
            pieces.append(Piece(write(formula, self.label_of, pen, True), "symbols"))
        if show.numbers and not isinstance(formula, Ref):
            pieces.append(Piece(write(formula, self.number_of, pen, False), "numbers"))
        return tuple(pieces)

    def _middle(self, formula: Expr) -> tuple[Piece, ...]:
        if not isinstance(formula, Over) or self.habits.units in ("all", "base"):
            return ()
        parts = []
        for part in (formula.top, formula.bottom):
            if isinstance(part, Ref | Num):
                parts.append(write(part, self.number_of, self.habits.pen, False))
            else:
                parts.append(self.bare(self._coherent(part))[0])
        if "×" in "".join(parts) or "·" in "".join(parts):
            return ()
        text = f"{{{parts[0]}}}/{{{parts[1]}}}" if self.habits.pen.stacked else "/".join(parts)
        if text == write(formula, self.number_of, self.habits.pen, False):
            return ()
        return (Piece(text, "middle"),)

    def _coherent(self, expr: Expr) -> Fraction:
        """The value of a tree among the page's unitless numbers."""
        return evaluate(expr, lambda r: self._plain_value(r))

    def _plain_value(self, ref: Ref) -> Fraction:
        if ref.note:
            value = self.copies[ref.note].value
        else:
            held = self.book[ref.key]
            value = held.written.value if held.written else held.exact
        return value / self.scale(ref.key[0])

    def _same(self, step: Step, formula: Expr, value: Piece) -> Statement:
        names = [self.labels.of(k) for k in (step.key, *step.more)]
        pieces = [Piece(name, "name") for name in names[1:]]
        others = [self.label_of(r) for r in references(formula)]
        if not isinstance(formula, Ref):
            pieces.append(Piece(write(formula, self.label_of, self.habits.pen, True), "symbols"))
        elif others[0] not in names and self.rng.random() < 0.7:
            pieces.append(Piece(others[0], "symbols"))
        return Statement(names[0], (*pieces, value), (step.key, *step.more))

    def _reciprocal(
        self, step: Step, formula: Over, written: Written, exact: Fraction, show: Show
    ) -> list[Statement]:
        """1/C = 1/C1 + 1/C2 first, then C."""
        total = formula.bottom
        pen = self.habits.pen
        pieces = list(self.forms(total, show))
        last: list[Piece] = []
        style = self.habits.reciprocal_sum if self.habits.units != "base" else "none"
        if style == "common" and show.numbers:
            pieces += self._common(total)
        elif style == "decimal":
            text, _ = self.bare(1 / (exact / self.scale("C")))
            unit = ""
            if self.habits.units == "all":
                unit = self.rng.choice(("", f"{self.unit('C')}^{{-1}}", f"/{self.unit('C')}"))
            pieces.append(Piece(text + unit, "middle"))
            if self.rng.random() < 0.4 and not unit:
                last.append(Piece(f"{{1}}/{{{text}}}" if pen.stacked else f"1/{text}", "middle"))
        approx = self.habits.approx and written.value != exact
        first = self._reciprocal_side(step, tuple(pieces))
        last.append(Piece(self.stated(written), "value", approx))
        return [first, Statement(self.labels.of(step.key), tuple(last), (step.key,))]

    def added_wrongly(
        self, step: Step, right: Expr, written: Written, show: Show, top: int
    ) -> list[Statement]:
        """1/C = 1/4 + 1/12 = 1/16 (or 2/16), and the inverse of that."""
        assert isinstance(right, Over)
        first = self._reciprocal_side(step, self.forms(right.bottom, show))
        assert isinstance(right.bottom, Sum)
        total = Fraction(0)
        for term in right.bottom.terms:
            assert isinstance(term, Over)
            total += self._coherent(term.bottom)
        text, _ = self.bare(total)
        over = f"{{{top}}}/{{{text}}}" if self.habits.pen.stacked else f"{top}/{text}"
        first = replace(first, pieces=(*first.pieces, Piece(over, "middle")))
        value = Piece(self.stated(written), "value")
        return [first, Statement(self.labels.of(step.key), (value,), (step.key,))]

    def not_inverted(
        self, step: Step, right: Expr, written: Written, show: Show
    ) -> list[Statement]:
        """1/C = 1/4 + 1/12 = 0.333, and that taken for C."""
        assert isinstance(right, Over)
        first = self._reciprocal_side(step, self.forms(right.bottom, show))
        first = replace(first, pieces=(*first.pieces, Piece(written.number, "middle")))
        value = Piece(self.stated(written), "value")
        return [first, Statement(self.labels.of(step.key), (value,), (step.key,))]

    def _reciprocal_side(self, step: Step, pieces: tuple[Piece, ...]) -> Statement:
        label = self.labels.of(step.key)
        if self.habits.pen.inverse_power:
            return Statement(f"{label}^{{-1}}", pieces, (step.key,))
        left = f"{{1}}/{{{label}}}" if self.habits.pen.stacked else f"1/{label}"
        return Statement(left, pieces, (step.key,))

    def _common(self, total: Expr) -> list[Piece]:
        """A sum of reciprocals over a common denominator, where it is short."""
        if not isinstance(total, Sum):
            return []
        bottoms: list[int] = []
        for term in total.terms:
            if not isinstance(term, Over) or not isinstance(term.bottom, Ref):
                return []
            value = self._plain_value(term.bottom)
            if value.denominator != 1:
                return []
            bottoms.append(value.numerator)
        common = lcm(*bottoms)
        if common > 1000:
            return []
        tops = [common // b for b in bottoms]

        def over(a: int | str, b: int) -> str:
            return f"{{{a}}}/{{{b}}}" if self.habits.pen.stacked else f"{a}/{b}"

        out = []
        if self.rng.random() < 0.5:
            if self.rng.random() < 0.5 or not self.habits.pen.stacked:
                out.append(Piece("+".join(over(t, common) for t in tops), "middle"))
            else:
                out.append(Piece(over("+".join(map(str, tops)), common), "middle"))
        out.append(Piece(over(sum(tops), common), "middle"))
        small = Fraction(sum(tops), common)
        if small.denominator != common and self.rng.random() < 0.5 and small.denominator > 1:
            out.append(Piece(over(small.numerator, small.denominator), "middle"))
        return out


def reciprocal_value(desk: Desk, exact: Fraction) -> Fraction:
    """C from a reciprocal that was written down rounded, where the student carries it so."""
    _, value = desk.bare(1 / (exact / desk.scale("C")))
    return desk.scale("C") / value


__all__ = ["ONE", "Desk", "Held", "Piece", "Show", "Statement", "Times", "reciprocal_value"]
