"""The student's working so far, and what may be obtained from it.

Every quantity has its right values (the exact one, and what the page wrote for it) and perhaps
wrong ones (from an earlier slip).  A later value follows if some law gives it from right values;
it is carried forward if some law gives it, but only from wrong ones.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import islice, product

from checker.matching.circuit import KINDS, Circuit, Key
from checker.matching.intervals import Interval, exactly, rough
from checker.matching.laws import Law, laws
from checker.matching.work_through import work_through

_STEPS_FROM_WRONG = 1  # the same from wrong values, which are followed through the network first
_MOST_WRONG = 10  # wrong values kept of one quantity
_MOST_CHOICES = 48
_MORE = Fraction(103, 100)
_FARTHEST = 20


@dataclass(frozen=True)
class Support:
    """Why a value follows: from right values, or ``carried`` from wrong ones.  ``hull`` holds the
    values that the quantity may have had before it was rounded."""

    carried: bool
    hull: Interval


def _is_near(allowed: Interval, exact: Fraction) -> bool:
    """Whether rounding could be the only difference: small differences of large values may come
    out several times too large or too small, but not without limit."""
    return allowed.high * _FARTHEST >= exact and allowed.low <= exact * _FARTHEST


@dataclass
class Working:
    """Immutable in use: ``with_right`` and ``with_wrong`` give a new one."""

    circuit: Circuit
    written: dict[Key, Interval] = field(default_factory=dict)
    wrong: dict[Key, tuple[Interval, ...]] = field(default_factory=dict)
    known: frozenset[int] = frozenset()
    stated: frozenset[Key] = frozenset()  # written with the exact value only

    def __post_init__(self) -> None:
        self._right: dict[tuple[Key, int], Interval | None] = {}
        self._carried: dict[tuple[Key, int], tuple[Interval, ...]] = {}
        self._laws: dict[Key, tuple[Law, ...]] = {}
        self._wrong_values: list[tuple[Key, Interval]] | None = None
        self._estimated: dict[Key, list[tuple[Law, Interval]]] = {}
        self._rough: dict[Key, Interval | None] = {}
        self._options: dict[Key, tuple[tuple[Interval, Interval], ...]] = {}
        self._right_through: dict[Key, Interval] = {}
        self._wrong_through: dict[Key, Interval] = {}

    def with_right(self, key: Key, value: Interval) -> Working:
        before = self.written.get(key)
        hull = value.hull(before) if before else value
        if hull.low == hull.high == self.circuit.value(key):  # no value that was not known anyway
            if key in self.stated and key.group in self.known:
                return self
            return replace(self, known=self.known | {key.group}, stated=self.stated | {key})
        if before == hull and key.group in self.known:
            return self
        return replace(
            self, written={**self.written, key: hull}, known=self.known | {key.group},
            stated=self.stated - {key},
        )  # fmt: skip

    def with_wrong(self, key: Key, value: Interval) -> Working:
        already = self.wrong.get(key, ())
        if value in already:
            return self
        wrong = {**self.wrong, key: (*already, value)}
        return replace(self, wrong=wrong, known=self.known | {key.group})

    def knowing(self, group: int) -> Working:
        """The same with a group named that the page forms."""
        if group in self.known:
            return self
        return replace(self, known=self.known | {group})

    def laws_for(self, key: Key) -> tuple[Law, ...]:
        if key not in self._laws:
            self._laws[key] = tuple(laws(self.circuit, key, self.known))
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
                through = self._through(key, self._right_through, self.written)
                result = result.hull(through) if through else result
        self._right[key, steps] = result
        return result

    def _is_backwards(self, key: Key, law: Law) -> bool:
        """Whether a law gives a capacitance back from a charge and a voltage that the page has
        not both written: they would come from that capacitance."""
        return key.kind == "C" and law.form == "product" and not all(
            operand in self.written or operand == Key("V", self.circuit.total)
            for operand, _power in law.operands
        )  # fmt: skip

    def _from_right(self, law: Law, steps: int) -> Interval | None:
        operands = [operand for operand, _power in law.operands]
        as_stated = self._is_loose(operands)
        values = []
        loose = 0
        for operand in operands:
            value = self.right(operand, 0 if as_stated and operand in self.stated else steps)
            if value is None or (
                operand.kind == "U" and law.factor == 2 and self._guessed(operand)
            ):
                return None
            loose += operand not in self.written and value.low != value.high
            values.append(value)
        # Two unwritten values depend on each other; taken apart they would give too much.
        return law.work_out(values) if loose < 2 else None

    def carried(self, key: Key, steps: int) -> tuple[Interval, ...]:
        """The values a quantity may have because of wrong ones: as written, or in at most
        ``steps`` steps."""
        if not self.wrong:
            return ()
        if (key, steps) in self._carried:
            return self._carried[key, steps]
        found = dict.fromkeys(self.wrong.get(key, ()))
        if (through := self._followed_through(key)) is not None:
            found[through] = None
        self._carried[key, steps] = tuple(found)  # ends the recursion over laws in a circle
        if steps > 0:
            for law in self.laws_for(key):
                if key.kind == "C" and law.form == "product":
                    continue  # nobody gets a capacitance back from a charge it was used for
                for value in self._from_wrong(law, steps - 1):
                    found[value] = None
                    if len(found) >= _MOST_WRONG:
                        break
        self._carried[key, steps] = tuple(found)
        return tuple(found)

    def _followed_through(self, key: Key) -> Interval | None:
        """The value of a quantity when the whole problem is worked out with the wrong values in
        place of the right ones; None where that changes nothing."""
        latest = {k: values[-1] for k, values in self.wrong.items()}
        value = self._through(key, self._wrong_through, {**self.written, **latest}, latest)
        exact = self.circuit.value(key)
        if value is None or exact is None or value.low <= exact <= value.high:
            return None
        return value

    def is_changed(self, key: Key) -> bool:
        """Whether earlier wrong values lead to another value of a quantity, by more than rounding
        makes of it."""
        right = self.right(key, 1)
        through = self._followed_through(key) if self.wrong else None
        if through is None or right is None:
            return False
        return through.low > right.high * _MORE or through.high * _MORE < right.low

    def _through(
        self, key: Key, values: dict[Key, Interval], kept: dict[Key, Interval],
        wrong: dict[Key, Interval] | None = None,
    ) -> Interval | None:  # fmt: skip
        """A value from working the problem out with the ``kept`` values; a partial group takes
        its own from its members."""
        if not values:
            work_through(self.circuit, kept, wrong or {}, values)
        value = values.get(key)
        if value is None and self.circuit.parts(key.group) is not None:
            laws_for = self.laws_for(key)
            law = laws_for[1] if key.kind in ("Q", "V") else laws_for[0]
            operands = [values.get(operand) for operand, _power in law.operands]
            if all(v is not None for v in operands):
                value = law.work_out([v for v in operands if v is not None])
                if value is not None:
                    values[key] = value
        return value

    def _from_wrong(self, law: Law, steps: int) -> Iterator[Interval]:
        options: list[tuple[tuple[bool, Interval], ...]] = []
        any_wrong = False
        for operand, _power in law.operands:
            wrong = self.carried(operand, steps)
            right = self.right(operand)
            if right is None and not wrong:
                return
            any_wrong = any_wrong or bool(wrong)
            choice = tuple((True, value) for value in wrong)
            options.append((*choice, (False, right)) if right is not None else choice)
        if not any_wrong:
            return
        for choice in islice(product(*options), _MOST_CHOICES):
            if any(is_wrong for is_wrong, _value in choice):
                value = law.work_out([value for _is_wrong, value in choice])
                if value is not None:
                    yield value

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
        if not self.written or not _is_near(allowed, exact):
            return None
        value = self.right(key, 1)
        if value is not None and (common := value.common(allowed)):
            return Support(False, common)
        roughly = rough(allowed)
        for law, estimate in self._estimates(key):
            if not estimate.meets(roughly):
                continue
            value = self._from_right(law, 1)
            if value is not None and (common := value.common(allowed)):
                return Support(False, common)
        return None

    def by_laws(self, key: Key) -> Iterator[Interval]:
        """What each law gives from right values."""
        for law in self.laws_for(key):
            if self._is_backwards(key, law):
                continue
            if (value := self._from_right(law, 1)) is not None:
                yield value

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
            self._estimated[key] = found
        return self._estimated[key]

    def _guessed(self, key: Key) -> bool:
        """Whether a quantity is neither written nor exactly known."""
        value = self.right(key, 1)
        return key not in self.written and value is not None and value.low != value.high

    def _is_loose(self, operands: list[Key]) -> bool:
        """Whether two or more operands are neither written nor exact."""
        return sum(map(self._guessed, operands)) > 1

    def _rough_right(self, key: Key, as_stated: bool) -> Interval | None:
        if as_stated:
            stated = self.right(key)
            return rough(stated) if stated is not None else None
        if key not in self._rough:
            value = self.right(key, 1)
            self._rough[key] = rough(value) if value is not None else None
        return self._rough[key]

    def rough_options(self, key: Key) -> tuple[tuple[Interval, Interval], ...]:
        """Right and wrong values of a quantity, each in floating point and exact."""
        if key not in self._options:
            right = self.right(key, 1)
            wrong = self.carried(key, 1)[:3] if self.wrong else ()
            values = (*((right,) if right is not None else ()), *wrong)
            self._options[key] = tuple((rough(value), value) for value in values)
        return self._options[key]

    def is_carried(self, key: Key, allowed: Interval) -> Support | None:
        """Whether one of the ``allowed`` values follows from earlier wrong values."""
        for steps in range(_STEPS_FROM_WRONG + 1):
            for value in self.carried(key, steps):
                if common := value.common(allowed):
                    return Support(True, common)
        return None

    def wrong_values(self) -> list[tuple[Key, Interval]]:
        """Every wrong value, written or worked out from wrong ones, in floating point."""
        if self._wrong_values is None:
            found = {(key, value) for key, values in self.wrong.items() for value in values}
            for kind in KINDS:
                for group in self.circuit.groups[: 2 * len(self.circuit.names)]:
                    key = Key(kind, group)
                    if (through := self._followed_through(key)) is not None:
                        found.add((key, through))
            self._wrong_values = [(key, rough(value)) for key, value in found]
        return self._wrong_values
