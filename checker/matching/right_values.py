"""The right values of every quantity, and what may be obtained from them.

The right values of a quantity are the exact one, what the page wrote for it, and what honest
rounding of written values leads to.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

from checker.exact import Fraction
from checker.matching.circuit import Circuit, Key
from checker.matching.intervals import Interval, exactly, rough, to_figures
from checker.matching.laws import Law, laws
from checker.matching.work_through import value_in, work_through

_FARTHEST = 20
_BESIDE = 4  # the same where what is taken away is not on the page
_AGAIN = Fraction(15, 100)  # by how much a value that is written again may differ


@dataclass(frozen=True)
class Support:
    """Why a value follows: from right values, or ``carried`` from wrong ones.  ``hull`` holds the
    values that the quantity may have had before it was rounded."""

    carried: bool
    hull: Interval


def _is_near(allowed: Interval, exact: Fraction, farthest: int = _FARTHEST) -> bool:
    """Whether rounding could be the only difference: small differences of large values may come
    out several times too large or too small, but not without limit."""
    return allowed.high * farthest >= exact and allowed.low <= exact * farthest


def _spread(value: Interval) -> Interval:
    """What a value that is on the page may be written as again."""
    return Interval(value.low * (1 - _AGAIN), value.high * (1 + _AGAIN))


@dataclass
class RightValues:
    """What a page has written rightly, immutable in use.

    ``known``: groups that it forms; ``stated``: quantities written with their exact value only,
    and what that may be rounded from; ``ahead``: those of ``written`` that stand further down;
    ``differences``: values may come from taking one from another.
    """

    circuit: Circuit
    written: dict[Key, Interval] = field(default_factory=dict)
    known: frozenset[int] = frozenset()
    stated: dict[Key, Interval] = field(default_factory=dict)
    ahead: frozenset[Key] = frozenset()
    differences: bool = True

    def __post_init__(self) -> None:
        self._right: dict[tuple[Key, int], Interval | None] = {}
        self._laws: dict[Key, tuple[Law, ...]] = {}
        self._estimated: dict[Key, list[tuple[Law, Interval]]] = {}
        self._rough: dict[Key, Interval | None] = {}
        self._before: dict[Key, RightValues] = {}
        self._right_through: dict[Key, Interval] = {}

    @cached_property
    def without_differences(self) -> RightValues:
        """The same for what is written as a product or a quotient: it is no difference of values
        that stand elsewhere, which rounding would leave wide open."""
        if not self.differences:
            return self
        its = self.circuit, self.written, self.known, self.stated, self.ahead
        return RightValues(*its, differences=False)

    def before(self, key: Key) -> RightValues:
        """The same without what stands further down for a quantity and for those equal to it, which
        came from what is written for it here."""
        value = self.circuit.value(key)
        came = {k for k in self.ahead if k.kind == key.kind and self.circuit.value(k) == value}
        if not came:
            return self
        if key not in self._before:
            written = {k: its for k, its in self.written.items() if k not in came}
            self._before[key] = RightValues(
                self.circuit, written, self.known, self.stated, self.ahead - came, self.differences
            )
        return self._before[key]

    def laws_for(self, key: Key) -> tuple[Law, ...]:
        """Every way to get a quantity from others in one step."""
        if key not in self._laws:
            its = laws(self.circuit, key, self.known)
            self._laws[key] = tuple(law for law in its if self.differences or not law.subtracts)
        return self._laws[key]

    def right(self, key: Key, steps: int = 0) -> Interval | None:
        """The right values of a quantity: exact, as written, and, with ``steps``, where it is not
        written, as got from what is written by working the problem out."""
        if (key, steps) in self._right:
            return self._right[key, steps]
        exact = self.circuit.value(key)
        result: Interval | None = None
        if exact is not None:
            result = exactly(exact)
            if key in self.written:
                result = result.hull(self.written[key])
            elif steps > 0 and self.written:
                if not self._right_through:
                    work_through(
                        self.circuit, self.written, {}, self._right_through, self.differences
                    )
                through = value_in(self._right_through, self.circuit, key, self.laws_for)
                if through and key in self.stated:
                    through = through.common(self.stated[key])
                result = result.hull(through) if through else result
        self._right[key, steps] = result
        return result

    def has_written(self, key: Key, value: Fraction) -> bool:
        """Whether a value lies within what was written for a quantity."""
        its = self.written.get(key)
        return its is not None and its.low <= value <= its.high

    def is_known(self, key: Key, allowed: Interval) -> Support | None:
        """Whether one of the ``allowed`` values is the exact one or as written before."""
        value = self.right(key)
        common = value.common(allowed) if value is not None else None
        return Support(False, common) if common is not None else None

    def follows(self, key: Key, allowed: Interval) -> Support | None:
        """Whether one of the ``allowed`` values follows from right values."""
        exact = self.circuit.value(key)
        if exact is None:
            return None
        if allowed.low <= exact <= allowed.high:
            return Support(False, exactly(exact))
        value = self.right(key)
        if value is not None and (common := value.common(allowed)):
            return Support(False, common)
        if not self.written:
            return None
        if self.circuit.is_given(key) or self.circuit.is_of_supply(key):
            return self._from_what_is_written(key, allowed)
        near, beside = _is_near(allowed, exact), _is_near(allowed, exact, _BESIDE)
        value = self.right(key, 1) if near else None
        if value is not None and (common := value.common(allowed)):
            return Support(False, common)
        roughly = rough(allowed)
        for law, estimate in self._estimates(key):
            close = beside if law.subtracts else near
            if not estimate.meets(roughly) or not (close or self._takes_written(law)):
                continue
            value = self.work_out(law)
            if value is not None and (common := value.common(allowed)):
                return Support(False, common)
        return None if near else self._from_what_is_written(key, allowed)

    def follows_bare(self, key: Key, allowed: Interval) -> Support | None:
        """As ``follows``, for a value without any working: one that was written before is only
        said again."""
        before = self.right(key) if key in self.written and key not in self.ahead else None
        if before is not None and not _spread(before).meets(allowed):
            return None
        return self.follows(key, allowed)

    def follows_unseen(self, key: Key, allowed: Interval, figures: int) -> Support | None:
        """Whether a law gives one of the ``allowed`` values when what it takes from nowhere on the
        page is rounded or cut off to as many ``figures``."""
        for law in self.laws_for(key):
            if self._is_backwards(key, law):
                continue
            value = self.work_out(law, figures)
            if value is not None and (common := value.common(allowed)):
                return Support(False, common)
        return None

    def _from_what_is_written(self, key: Key, allowed: Interval) -> Support | None:
        """Whether a law gives the value from given and written ones alone, which rounding may have
        taken far from the exact ones: a voltage left over of 4 V for 0.5 V."""
        for law in self.laws_for(key):
            operands = [operand for operand, _power in law.operands]
            known = [
                self.written[o] if o in self.written
                else self.right(o) if o in self.stated or self.circuit.is_given(o) else None
                for o in operands
            ]  # fmt: skip
            values = [value for value in known if value is not None]
            if len(values) < len(known) or law.subtracts or self._is_backwards(key, law):
                continue
            value = law.work_out(values)
            if value is not None and (common := value.common(allowed)):
                return Support(False, common)
        return None

    def is_from_written(self, key: Key, allowed: Interval) -> bool:
        """Whether one of the ``allowed`` values was written before or one law gives it from
        values that are written or exact."""
        if self.is_known(key, allowed):
            return True
        laws_of_seen = (
            law for law in self.laws_for(key)
            if not self._is_backwards(key, law)
            and not any(self._guessed(operand) for operand, _power in law.operands)
        )  # fmt: skip
        return any(
            (value := self.work_out(law)) is not None and value.meets(allowed)
            for law in laws_of_seen
        )

    def by_laws(self, key: Key) -> Iterator[Interval]:
        """What each law gives from right values."""
        for law in self.laws_for(key):
            if self._is_backwards(key, law):
                continue
            if (value := self.work_out(law)) is not None:
                yield value

    def work_out(self, law: Law, figures: int | None = None) -> Interval | None:
        """What a law gives from right values; None where too little of it is on the page.
        ``figures``: to which values that are not on the page may be rounded or cut off."""
        operands = [operand for operand, _power in law.operands]
        as_stated = self._is_loose(operands)
        values = []
        loose = 0
        for operand in operands:
            value = self.right(operand, 0 if as_stated and operand in self.stated else 1)
            if value is None or (
                operand.kind == "U" and (law.factor == 2 or law.subtracts)
                and self._guessed(operand)
            ):  # fmt: skip
                return None
            loose += value.low != value.high and not self._is_same_as_written(operand)
            is_seen = operand in self.written or self.circuit.is_given(operand)
            if figures is not None and not is_seen:
                value = to_figures(value, figures)
            values.append(value)
        if self._goes_round(law):
            return None
        # Two unwritten values depend on each other; taken apart they would give too much.
        return law.work_out(values) if loose < 2 else None

    def _goes_round(self, law: Law) -> bool:
        """Whether a law takes an unwritten value back to where it came from: the charge of one
        member from that of another or of the whole in proportion, or Q = C V where V = Q/C."""
        (first, _one), *others = law.operands
        if law.form != "product" or not others or first.kind not in ("C", "Q", "V"):
            return False
        if len(others) == 2 and first.kind != "C":
            return self._guessed(first)
        if len(others) > 1 or self.differences:
            return False
        (second, _power) = others[0]
        holder = self.circuit.holder(first.group)
        if holder is None or {first.kind, second.kind} - {"C", "Q", "V"}:
            return False
        unseen = second if first.kind == "C" else first
        return unseen.kind == ("V" if holder.is_series else "Q") and self._guessed(unseen)

    def _takes_written(self, law: Law) -> bool:
        """Whether a law takes away values that are written or exact: what is left then may be
        rounded to anything."""
        return law.subtracts and not any(self._guessed(its) for its, _power in law.operands)

    def _is_same_as_written(self, key: Key) -> bool:
        """Whether a quantity or one that is equal to it is written: the charge of one in series."""
        return self.circuit.shared(key) in self._shared_written

    @cached_property
    def _shared_written(self) -> frozenset[Key]:
        return frozenset(map(self.circuit.shared, self.written))

    def _is_backwards(self, key: Key, law: Law) -> bool:
        """Whether a law gives a capacitance back from a charge and a voltage that the page has
        not both written, or of a group only further down, or anything from an energy that is only
        further down: they would come from it."""
        total = self.circuit.total
        if key.kind != "U" and any(o.kind == "U" and o in self.ahead for o, _power in law.operands):
            return True
        return key.kind == "C" and law.form == "product" and not all(
            operand == Key("V", total)
            or (operand in self.written and (key.group == total or operand not in self.ahead))
            for operand, _power in law.operands
        )  # fmt: skip

    def _estimates(self, key: Key) -> list[tuple[Law, Interval]]:
        """What each law gives from right values, in floating point."""
        if key not in self._estimated:
            found = []
            for law in self.laws_for(key):
                if self._is_backwards(key, law):
                    continue
                operands = [operand for operand, _power in law.operands]
                as_stated = self._is_loose(operands)
                if as_stated and self._is_loose([o for o in operands if o not in self.stated]):
                    continue
                values = [self._rough_right(o, as_stated and o in self.stated) for o in operands]
                if all(value is not None for value in values):
                    estimate = law.work_out([value for value in values if value is not None])
                    if estimate is not None:
                        found.append((law, estimate))
            whole = self.circuit.shared(key)
            if whole != key and whole not in self._shared_written:
                found += (its for its in self._estimates(whole) if its[0].subtracts)  # left for it
            self._estimated[key] = found
        return self._estimated[key]

    def _guessed(self, key: Key) -> bool:
        """Whether a quantity is neither written, nor equal to a written one, nor exactly known."""
        value = self.right(key, 1) if not self._is_same_as_written(key) else None
        return value is not None and value.low != value.high

    def _is_loose(self, operands: list[Key]) -> bool:
        """Whether two or more operands are neither written nor exact."""
        return sum(map(self._guessed, operands)) > 1

    def _rough_right(self, key: Key, as_stated: bool) -> Interval | None:
        if as_stated:
            stated = self.right(key)
            return rough(stated) if stated is not None else None
        return self.roughly(key)

    def roughly(self, key: Key) -> Interval | None:
        """``right`` with one step, in floating point."""
        if key not in self._rough:
            value = self.right(key, 1)
            self._rough[key] = rough(value) if value is not None else None
        return self._rough[key]
