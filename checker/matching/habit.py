"""The units a page leaves out, and the exact values it could show."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from statistics import median_low
from typing import Any

from checker.exact import Fraction
from checker.matching.circuit import KINDS, Circuit, Key, Kind
from checker.matching.dimensions import KIND_DIMS, KIND_OF_UNIT, Dims
from checker.matching.forms import without_unit
from checker.matching.intervals import Interval, could_stand_for, exactly
from checker.notation.lexer import Comma
from checker.notation.tree import Expression, Measured, Number, numbers

_MOST_GROUPS = 60
_COARSE = _FEWEST = 2  # figures


@dataclass
class Effort:
    """What judging a page has taken, in counts, which repeat exactly, not in time."""

    sides: int = 0  # of chains, judged for one meaning: some third of a millisecond each


@dataclass(frozen=True)
class Habit:
    """The units a page uses for each kind when it leaves them out, likeliest first, as factors to
    SI; ``comma``: what one between digits is."""

    scales: Mapping[Kind, tuple[Fraction, ...]]
    comma: Comma = True
    exact: frozenset[Fraction] = frozenset()  # exact values of everything, as bare numbers
    givens: frozenset[Fraction] = frozenset()  # those of the problem, likewise
    coarse: bool = False  # what is worked out is rounded to two figures at most
    usual: int = _FEWEST  # figures to which half of it at least is written

    @cached_property
    def roughly_exact(self) -> tuple[float, ...]:
        """The exact values, and one over the capacitances, in floating point."""
        its = [float(value) for value in self.exact if value]
        return (*its, *(1 / value for value in its))

    @cached_property
    def effort(self) -> Effort:
        """What was done with this habit so far."""
        return Effort()

    @cached_property
    def miscopied(self) -> dict[Number, bool]:
        """Numbers looked at before: whether they look like given ones miscopied."""
        return {}

    @cached_property
    def tried(self) -> dict[tuple[object, ...], tuple[Expression, Any]]:
        """Sides with symbols whose meanings were tried before, with what came of it."""
        return {}

    @cached_property
    def valued(self) -> dict[tuple[object, ...], tuple[Expression, list[Interval]]]:
        """Expressions valued before, with their SI values."""
        return {}

    def of(self, dims: Dims) -> tuple[Fraction, ...]:
        """The units, as factors to SI, in which a bare number of these dimensions may be."""
        for kind, its in KIND_DIMS.items():
            if dims == its:
                return self.scales[kind]
            if dims == (-its[0], -its[1]):
                return tuple(1 / scale for scale in self.scales[kind])
        return (Fraction(1),)


def habit_of(
    circuit: Circuit,
    expressions: Iterable[Expression],
    comma: Comma,
    capacitances: Iterable[Expression] = (),
) -> Habit:
    """The units this page uses: those it writes, most frequent first; for capacitance otherwise
    the prefix with which most of its bare numbers, and of those it says to be ``capacitances``,
    are values of the circuit."""
    from collections import Counter

    seen: dict[Kind, Counter[Fraction]] = {kind: Counter() for kind in KINDS}
    written: set[Number] = set()
    bare: set[Number] = set()
    for expression in expressions:
        for number in numbers(expression):
            if isinstance(itself := without_unit(number), Number):
                written.add(itself)
            if isinstance(number, Measured):
                kind = KIND_OF_UNIT.get(number.unit.dimension)
                if kind:
                    seen[kind][number.unit.factor] += 1
            elif number.value != circuit.supply:
                bare.add(number)
    known = [v for g in circuit.groups if (v := circuit.value(Key("C", g))) is not None]
    given = known[: len(circuit.names)]
    said = {expression for expression in capacitances if isinstance(expression, Number)}

    def fits(numbers: Iterable[Number], scale: Fraction) -> int:
        seen = [could_stand_for(number) for number in numbers]
        return sum(any(its.meets(exactly(v / scale)) for its in seen) for v in known)

    guess = max(
        (Fraction(10) ** exponent for exponent in (-6, -9, -12, -3, 0)),
        # Charges at 1 kV look like capacitances in another prefix, so what is said to be one and
        # the usual prefix count too.
        key=lambda scale: (
            2 * fits(bare, scale) + 8 * fits(said, scale)
            + sum(1 <= value / scale < 1000 for value in given)
        ),
    )  # fmt: skip
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
    exact = _exact_numbers(circuit, scales) | givens
    worked_out = [number for number in written if number.value and number.value not in exact]
    figures = [_FEWEST, *(len(number.figures) for number in worked_out)]
    its_figures = median_low(figures)
    return Habit(scales, comma, exact, givens, _is_coarse(worked_out), its_figures)


def _is_coarse(worked_out: Iterable[Number]) -> bool:
    """Whether what was worked out, more than once, is nowhere written to more than two figures."""
    its = [len(number.figures.rstrip("0")) for number in worked_out]
    return sum(figures > 1 for figures in its) > 1 and max(its) <= _COARSE


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
