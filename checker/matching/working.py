"""The student's working so far, and what may be obtained from it.

Every quantity has its right values (the exact one, and what the page wrote for it) and perhaps
wrong ones (from an earlier slip).  A later value follows if some law gives it from right values;
it is carried forward if some law gives it, but only from wrong ones.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import islice, product

from checker.exact import Fraction
from checker.matching.circuit import KINDS, Key
from checker.matching.intervals import Interval, rough
from checker.matching.laws import Law
from checker.matching.right_values import RightValues, Support
from checker.matching.work_through import value_in, work_through

STEPS = 1  # from wrong values, which are followed through the network first
UNSEEN_STEPS = 3  # the same where only more of them explain what is written
_MOST_WRONG = 10  # wrong values kept of one quantity
_MOST_CHOICES = 48
_MORE = Fraction(103, 100)
_NARROWER = 2  # times


def _with_before(value: Interval, before: Interval) -> Interval:
    """A value with what it was written as before.  Where it is written to more figures now, it is
    gone on with as that or as the number that stood there: 5 or 1/0.2, but not 1/0.15."""
    width = before.high - before.low
    if before.meets(value) and (value.high - value.low) * _NARROWER <= width:
        before = Interval(before.low + width / 4, before.high - width / 4)
    return value.hull(before)


@dataclass
class Working(RightValues):
    """Right values and ``wrong`` ones; ``with_right`` and ``with_wrong`` give a new one."""

    wrong: dict[Key, tuple[Interval, ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        super().__post_init__()
        self._carried: dict[tuple[Key, int], tuple[Interval, ...]] = {}
        self._wrong_values: list[tuple[Key, Interval]] | None = None
        self._options: dict[Key, tuple[tuple[Interval, Interval], ...]] = {}
        self._wrong_through: dict[Key, Interval] = {}

    def with_right(self, key: Key, value: Interval, span: Interval | None = None) -> Working:
        """The same after a right value was written; ``span``: all that it may be rounded from."""
        before = self.written.get(key)
        hull = _with_before(value, before) if before else value
        if hull.low == hull.high == self.circuit.value(key):  # no value that was not known anyway
            span = span or value
            if self.stated.get(key) == span and key.group in self.known:
                return self
            stated = {**self.stated, key: span}
            return replace(self, known=self.known | {key.group}, stated=stated)
        if before == hull and key.group in self.known and key not in self.ahead:
            return self
        return replace(
            self, written={**self.written, key: hull}, known=self.known | {key.group},
            stated={k: v for k, v in self.stated.items() if k != key}, ahead=self.ahead - {key},
        )  # fmt: skip

    def with_wrong(self, key: Key, value: Interval) -> Working:
        """The same after a wrong value was written."""
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
        if not self._wrong_through:
            latest = {k: values[-1] for k, values in self.wrong.items()}
            kept = {**self.written, **latest}
            work_through(self.circuit, kept, latest, self._wrong_through)
        value = value_in(self._wrong_through, self.circuit, key, self.laws_for)
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

    def rough_options(self, key: Key) -> tuple[tuple[Interval, Interval], ...]:
        """Right and wrong values of a quantity, each in floating point and exact."""
        if key not in self._options:
            right = self.right(key, 1)
            wrong = self.carried(key, 1)[:3] if self.wrong else ()
            values = (*((right,) if right is not None else ()), *wrong)
            self._options[key] = tuple((rough(value), value) for value in values)
        return self._options[key]

    def is_carried(self, key: Key, allowed: Interval, most_steps: int = STEPS) -> Support | None:
        """Whether one of the ``allowed`` values follows from earlier wrong values."""
        for steps in range(most_steps + 1):
            for value in self.carried(key, steps):
                if common := value.common(allowed):
                    return Support(True, common)
        return None

    def wrong_values(self) -> list[tuple[Key, Interval]]:
        """Every wrong value, written or worked out from wrong ones, in floating point."""
        if self._wrong_values is None:
            found = {(key, value) for key, values in self.wrong.items() for value in values}
            groups = (*self.circuit.groups[: 2 * len(self.circuit.names)], *self.known)
            for kind in KINDS:
                for group in dict.fromkeys(groups):
                    key = Key(kind, group)
                    if (through := self._followed_through(key)) is not None:
                        found.add((key, through))
            self._wrong_values = [(key, rough(value)) for key, value in found]
        return self._wrong_values
