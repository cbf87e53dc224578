"""A suggested mark from a judgement and the problem's marking scheme; only a person confirms one.

Boards keep the later points where a wrong number is used rightly (error carried forward in AQA's
physics marking instructions, follow-through in the IB's), and a slip in a number costs the value,
not the method. The scheme says whether carrying forward counts here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from checker.exact import Fraction
from checker.matching.circuit import Circuit, Home, Key, Kind
from checker.matching.judgement import JudgedStatement, Judgement
from checker.problem.marking import MarkingScheme
from checker.problem.reduction import Reference
from checker.quantity import QuantityError, parse_quantity

Reason = Literal["follows", "carried forward", "slip", "not written", "please look"]
_SYMBOLS: dict[str, Kind] = {"charge": "Q", "voltage": "V", "energy": "U"}
_SLIPS = ("first slip", "later slip")
# Slips in a number or its unit: the rule itself was the right one.
_IN_NUMBERS = {
    "given-miscopied", "digits-swapped", "decimal-point", "power-of-ten", "prefix", "unit-kind",
    "unit-missing", "prefixes-mixed", "arithmetic", "rounded-too-early",
}  # fmt: skip


@dataclass(frozen=True)
class MarkItem:
    """One thing that earns points; ``suggested`` of ``points``, because of ``reason``."""

    name: str
    points: Fraction
    suggested: Fraction
    reason: Reason


@dataclass(frozen=True)
class SuggestedMark:
    items: tuple[MarkItem, ...]

    @property
    def points(self) -> Fraction:
        return sum((item.suggested for item in self.items), Fraction(0))

    @property
    def out_of(self) -> Fraction:
        return sum((item.points for item in self.items), Fraction(0))

    @property
    def to_look_at(self) -> int:
        """How many items a person has to decide; they count nothing in ``points``."""
        return sum(item.reason == "please look" for item in self.items)


def suggested_mark(reference: Reference, judgement: Judgement) -> SuggestedMark | None:
    """What the scheme gives for the judged working; None where the problem has no scheme."""
    scheme = reference.problem.marking
    if scheme is None:
        return None
    working = _Working(Circuit(reference), judgement)
    items = [*_values(working, scheme), *_method_steps(working, scheme)]
    return SuggestedMark(tuple(item for item in items if item.points))


def written_points(points: Fraction) -> str:
    """ "4.5", "6": exact up to two decimals."""
    return f"{float(points):.2f}".rstrip("0").rstrip(".")


class _Working:
    """The judged statements by what they are about."""

    def __init__(self, circuit: Circuit, judgement: Judgement) -> None:
        self.circuit = circuit
        self._about: dict[str, list[JudgedStatement]] = {}
        for statement in judgement.statements:
            if statement.quantity and statement.verdict != "not working":
                self._about.setdefault(statement.quantity, []).append(statement)
        slips = (judgement.first_slip, *judgement.later_slips)
        self.wrong_rule = {slip.quantity for slip in slips if slip and slip.kind not in _IN_NUMBERS}

    def about(self, key: Key) -> Sequence[JudgedStatement]:
        return self._about.get(self.circuit.name(key), ())

    def value(self, key: Key) -> Reason:
        """What became of the value of a quantity: the last one written counts."""
        statements = self.about(key)
        written = [s for s in statements if _is_value(s.text)]
        if not written:
            return (
                "please look" if any(s.verdict == "unsure" for s in statements) else "not written"
            )
        verdict = written[-1].verdict
        if verdict == "follows":
            return "follows"
        if verdict == "unsure":
            return "please look"
        slipped = verdict in _SLIPS or any(s.verdict in _SLIPS for s in statements)
        return "slip" if slipped else "carried forward"

    def method(self, keys: Iterable[Key]) -> Reason:
        """Whether any of these quantities was worked out by the right rule."""
        verdicts = set()
        for key in keys:
            if self.circuit.name(key) in self.wrong_rule:
                return "slip"
            verdicts |= {s.verdict for s in self.about(key)}
        if "follows" in verdicts or not verdicts.isdisjoint(_SLIPS):
            return "follows"
        if "carried forward" in verdicts:
            return "carried forward"
        return "please look" if verdicts else "not written"


def _values(working: _Working, scheme: MarkingScheme) -> Iterable[MarkItem]:
    circuit = working.circuit
    for name, points in scheme.points.items():
        if name not in _SYMBOLS:
            keys = [Key("C", circuit.total)]
        else:
            kind = _SYMBOLS[name]
            keys = [Key(kind, circuit.mask([element])) for element in circuit.names]
        for key in keys:
            yield _item(circuit.name(key), points, _shared(working, key), scheme.follow_through)


def _shared(working: _Working, key: Key) -> Reason:
    """The value itself, else that of what shares it: the charge in series, the voltage in
    parallel."""
    reason = working.value(key)
    home = working.circuit.holder(key.group)
    if reason != "not written" or home is None or key.kind not in ("Q", "V"):
        return reason
    if home.is_series != (key.kind == "Q"):
        return reason
    if Key(key.kind, home.group) == Key("V", working.circuit.total):
        return "please look"  # it is the supply's, which nobody has to write again
    for group in home.members:
        reason = working.value(Key(key.kind, group))
        if reason != "not written":
            return reason
    return _shared(working, Key(key.kind, home.group))


def _method_steps(working: _Working, scheme: MarkingScheme) -> Iterable[MarkItem]:
    circuit = working.circuit
    homes = list(circuit.homes.values())
    for home in homes:
        reason = working.method([Key("C", home.group)])
        if reason == "not written" and any(
            home.group & other.group == home.group
            and working.method([Key("C", other.group)]) == "follows"
            for other in homes
        ):
            reason = "follows"  # several groups were combined in one line
        yield _item(f"{_described(circuit, home)} combined", scheme.method_step, reason, True)
    if circuit.supply is None or {"charge", "voltage"}.isdisjoint(scheme.points):
        return
    for home in reversed(homes):
        keys = [Key(kind, member) for member in home.members for kind in ("Q", "V")]
        reason = working.method(keys)
        yield _item(f"{_described(circuit, home)} walked back", scheme.method_step, reason, True)


def _described(circuit: Circuit, home: Home) -> str:
    names = ", ".join(circuit.elements(home.group))
    return f"{names} ({'series' if home.is_series else 'parallel'})"


def _item(name: str, points: Fraction, reason: Reason, follow_through: bool) -> MarkItem:
    earned = reason == "follows" or (reason == "carried forward" and follow_through)
    return MarkItem(name, points, points if earned else Fraction(0), reason)


def _is_value(text: str) -> bool:
    """Whether a statement ends in a plain value, as "= 37.3 µC" does."""
    try:
        parse_quantity(re.split(r"[=≈]", text)[-1])
    except QuantityError:
        return False
    return True
