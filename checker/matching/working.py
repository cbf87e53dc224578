"""The student's working so far, and what may be obtained from it.

Every quantity has its right values (the exact one, and what the page wrote for it) and perhaps
wrong ones (from an earlier slip).  A later value follows if some law gives it from right values;
it is carried forward if some law gives it, but only from wrong ones.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import islice, product

from checker.matching.circuit import KINDS, Circuit, Key
from checker.matching.intervals import Interval, exactly
from checker.matching.laws import Law, laws

_UNWRITTEN_STEPS = 2  # steps a student may do without writing anything
_MOST_WRONG = 10  # wrong values kept of one quantity
_MOST_CHOICES = 48
ROUNDED_CONSTANT = Fraction(1, 10**12)


@dataclass(frozen=True)
class Support:
    """Why a value follows: from right values, or ``carried`` from wrong ones.  ``hull`` holds the
    values that the quantity may have had before it was rounded."""

    carried: bool
    hull: Interval


@dataclass
class Working:
    """Immutable in use: ``with_right`` and ``with_wrong`` give a new one."""

    circuit: Circuit
    written: dict[Key, Interval] = field(default_factory=dict)
    wrong: dict[Key, tuple[Interval, ...]] = field(default_factory=dict)
    known: frozenset[int] = frozenset()

    def __post_init__(self) -> None:
        self._right: dict[tuple[Key, int], Interval | None] = {}
        self._carried: dict[tuple[Key, int], tuple[Interval, ...]] = {}
        self._laws: dict[Key, tuple[Law, ...]] = {}

    def with_right(self, key: Key, value: Interval) -> Working:
        before = self.written.get(key)
        hull = value.hull(before) if before else value
        if before == hull and key.group in self.known:
            return self
        return Working(
            self.circuit, {**self.written, key: hull}, self.wrong, self.known | {key.group}
        )

    def with_wrong(self, key: Key, value: Interval) -> Working:
        already = self.wrong.get(key, ())
        if value in already:
            return self
        return Working(
            self.circuit, self.written, {**self.wrong, key: (*already, value)},
            self.known | {key.group},
        )  # fmt: skip

    def knowing(self, group: int) -> Working:
        """The same with a group named that the page forms."""
        if group in self.known:
            return self
        return Working(self.circuit, self.written, self.wrong, self.known | {group})

    def laws_for(self, key: Key) -> tuple[Law, ...]:
        if key not in self._laws:
            self._laws[key] = tuple(laws(self.circuit, key, self.known))
        return self._laws[key]

    def right(self, key: Key, steps: int = 0) -> Interval | None:
        """The right values of a quantity: exact, as written, and, where it is not written, as got
        from what is written in at most ``steps`` steps."""
        if (key, steps) in self._right:
            return self._right[key, steps]
        exact = self.circuit.value(key)
        result: Interval | None = None
        if exact is not None:
            result = exactly(exact)
            if key in self.written:
                result = result.hull(self.written[key])
            elif steps > 0 and self.written:
                for law in self.laws_for(key):
                    value = self._from_right(law, steps - 1)
                    result = result.hull(value) if value else result
        self._right[key, steps] = result
        return result

    def _from_right(self, law: Law, steps: int) -> Interval | None:
        values = []
        for operand, _power in law.operands:
            value = self.right(operand, steps)
            if value is None:
                return None
            values.append(value)
        return law.work_out(values)

    def carried(self, key: Key, steps: int) -> tuple[Interval, ...]:
        """The values a quantity may have because of wrong ones: as written, or in at most
        ``steps`` steps."""
        if not self.wrong:
            return ()
        if (key, steps) in self._carried:
            return self._carried[key, steps]
        found = dict.fromkeys(self.wrong.get(key, ()))
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

    def follows(self, key: Key, allowed: Interval) -> Support | None:
        """Whether one of the ``allowed`` values follows from right values."""
        exact = self.circuit.value(key)
        if exact is None:
            return None
        if allowed.low <= exact <= allowed.high:
            return Support(False, exactly(exact))
        for steps in range(-1, _UNWRITTEN_STEPS + 1):
            if steps < 0:
                value = self.right(key)
                if value is not None and (common := value.common(allowed)):
                    return Support(False, common)
                if not self.written:
                    return None
                continue
            for law in self.laws_for(key):
                value = self._from_right(law, steps)
                if value is not None and (common := value.common(allowed)):
                    return Support(False, common)
        return None

    def is_carried(self, key: Key, allowed: Interval) -> Support | None:
        """Whether one of the ``allowed`` values follows from earlier wrong values."""
        for steps in range(_UNWRITTEN_STEPS + 1):
            for value in self.carried(key, steps):
                if common := value.common(allowed):
                    return Support(True, common)
        return None

    def depends_on_wrong(self, holds: Callable[[Key, Interval], bool]) -> bool:
        """Whether a wrong value, written or one step from written, is among the operands."""
        for key, values in self.wrong.items():
            if any(holds(key, value) for value in values):
                return True
        for kind in KINDS:
            for group in self.circuit.groups[: 2 * len(self.circuit.names)]:
                key = Key(kind, group)
                if any(holds(key, value) for value in self.carried(key, 1)):
                    return True
        return False
