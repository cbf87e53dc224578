"""The kinds of slip, as data: this is the one place to add one.

Each kind has a trade-term title, a hint that does not give the value away, an explanation, how
common it is, and what predicts it: ``predict`` gives the wrong laws that lead to its value, and
kinds without it are recognised by how the writing differs (``checker.matching.writing``).

``weight`` is an assumption: no published source says how often each slip occurs.  Only the order
of kinds that explain a value equally well depends on it; a class's own counts may replace it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from checker.matching import wrong_combining as combining
from checker.matching import wrong_sharing as sharing
from checker.matching.circuit import Circuit, Key
from checker.matching.laws import Known, Law

Predictor = Callable[[Circuit, Key, Known], Iterator[Law]]


@dataclass(frozen=True)
class SlipKind:
    """``hint`` and ``explanation`` may use {quantity}; the explanation also {written} and
    {expected}."""

    name: str
    title: str
    hint: str
    explanation: str
    weight: float = 1.0
    predict: Predictor | None = None


_KINDS = (
    SlipKind(
        "series-combined-as-parallel", "Series combined as parallel",
        "How are these connected, and which rule adds the capacitances themselves?",
        "Capacitors in series were added like parallel ones. In series the reciprocals add, so the "
        "equivalent is smaller than the smallest of them.",
        3.0, combining.series_as_parallel,
    ),
    SlipKind(
        "parallel-combined-as-series", "Parallel combined as series",
        "How are these connected, and should the equivalent be larger or smaller than each one?",
        "Capacitors in parallel were combined by reciprocals like series ones. In parallel the "
        "capacitances simply add.",
        3.0, combining.parallel_as_series,
    ),
    SlipKind(
        "reciprocal-not-inverted", "Reciprocal not inverted",
        "Is this the equivalent capacitance yet, or still one over it?",
        "The sum of the reciprocals is 1/C. It still has to be inverted to give C.",
        2.5, combining.not_inverted,
    ),
    SlipKind(
        "reciprocals-added-wrongly", "Reciprocals added wrongly",
        "Check how these fractions were brought together: what is the common denominator?",
        "The reciprocals were added by adding denominators. Fractions need a common denominator "
        "before they are added.",
        1.6, combining.added_wrongly,
    ),
    SlipKind(
        "product-over-sum-misused", "Product over sum used for more than two",
        "For how many capacitors at a time does product over sum hold?",
        "Product over sum holds for two in series only. For more, add the reciprocals or take two "
        "at a time.",
        2.0, combining.product_over_sum_of_three,
    ),
    SlipKind(
        "sum-over-product", "Product over sum upside down",
        "Look at the units of this fraction: what would it be in, farads or something else?",
        "The fraction is upside down: for two in series C is the product over the sum.",
        1.6, combining.sum_over_product,
    ),
    SlipKind(
        "wrong-elements", "Elements combined that are neither in series nor in parallel",
        "Trace the circuit: do exactly these share one current path, or both their nodes?",
        "The elements combined here are neither in series nor in parallel at this stage.",
        0.8, combining.wrong_elements,
    ),
    SlipKind(
        "element-left-out", "An element left out",
        "Count the elements that belong to this group and those in the line.",
        "One element of the group is missing from this step.",
        1.0, combining.left_out,
    ),
    SlipKind(
        "element-used-twice", "An element used twice",
        "Count the elements that belong to this group and those in the line.",
        "One element is counted twice in this step.",
        0.8, combining.used_twice,
    ),
    SlipKind(
        "given-miscopied", "A given value miscopied",
        "Compare the numbers in this line with those given in the problem.",
        "A value was copied wrongly from the problem or from an earlier line.",
        1.5,
    ),
    SlipKind(
        "digits-swapped", "Digits swapped",
        "Compare the digits of this number, one by one, with where it comes from.",
        "Two digits of a number have changed places.",
        1.6,
    ),
    SlipKind(
        "decimal-point", "Decimal point misplaced",
        "Is the decimal point where it should be? Estimate the size of the result.",
        "The digits are right but the decimal point is in the wrong place.",
        1.8,
    ),
    SlipKind(
        "power-of-ten", "Wrong power of ten",
        "Check the powers of ten in this step.",
        "The digits are right but the power of ten is wrong.",
        1.5,
    ),
    SlipKind(
        "prefix", "Wrong unit prefix",
        "Check the prefix of the unit: what do the units going in give?",
        "The number is right but the prefix of its unit is wrong.",
        1.7,
    ),
    SlipKind(
        "unit-kind", "A unit of another quantity",
        "What quantity is this, and in what unit is it measured?",
        "The unit belongs to another kind of quantity.",
        2.0,
    ),
    SlipKind(
        "unit-missing", "Unit missing",
        "Does this result need a unit?",
        "The result has no unit, though the rest of the page writes units.",
        0.5,
    ),
    SlipKind(
        "prefixes-mixed", "Prefixes mixed",
        "Are all the numbers in this step in the same unit?",
        "Numbers with different prefixes were put together as if they had the same.",
        2.0,
    ),
    SlipKind(
        "arithmetic", "Arithmetic",
        "The rule is right; work the numbers out once more.",
        "The step is set up rightly, but the number does not come out of it.",
        1.0,
    ),
    SlipKind(
        "rounded-too-early", "Rounded too early",
        "Keep more figures in the values this is worked out from.",
        "A value was rounded so early that the result is off by more than rounding it would allow.",
        0.9,
    ),
    SlipKind(
        "voltage-carried-into-series", "Voltage carried into series members",
        "What do elements in series share, and what do they divide?",
        "Elements in series share the charge; the voltage of the group divides among them.",
        1.3, sharing.voltage_into_series,
    ),
    SlipKind(
        "charge-carried-into-parallel", "Charge carried into parallel members",
        "What do elements in parallel share, and what do they divide?",
        "Elements in parallel share the voltage; the charge of the group divides among them.",
        1.5, sharing.charge_into_parallel,
    ),
    SlipKind(
        "charge-split-in-series", "Charge divided among series members",
        "What do elements in series have in common?",
        "Elements in series all carry the same charge, that of the group; it does not divide.",
        1.3, sharing.charge_split_in_series,
    ),
    SlipKind(
        "voltage-split-in-parallel", "Voltage divided among parallel members",
        "What do elements in parallel have in common?",
        "Elements in parallel all have the same voltage, that of the group; it does not divide.",
        1.3, sharing.voltage_split_in_parallel,
    ),
    SlipKind(
        "voltage-divided-the-wrong-way", "Voltage divided the wrong way round",
        "With equal charge, does the larger or the smaller capacitor have the larger voltage?",
        "In series the smaller capacitance has the larger share of the voltage (V = Q/C); here "
        "the shares are the other way round.",
        1.5, sharing.voltage_wrong_way,
    ),
    SlipKind(
        "charge-divided-the-wrong-way", "Charge divided the wrong way round",
        "At equal voltage, does the larger or the smaller capacitor carry more charge?",
        "In parallel the larger capacitance has the larger share of the charge (Q = CV); here "
        "the shares are the other way round.",
        1.5, sharing.charge_wrong_way,
    ),
    SlipKind(
        "shared-equally", "Shared equally between unequal elements",
        "Are these elements equal? If not, can their shares be?",
        "The charge or voltage was divided equally although the elements are unequal.",
        0.9, sharing.shared_equally,
    ),
    SlipKind(
        "law-inverted", "Q = CV turned round",
        "Write down how charge, capacitance and voltage are related before you rearrange it.",
        "The relation between charge, capacitance and voltage is Q = CV; here it was rearranged "
        "wrongly.",
        1.6, sharing.law_inverted,
    ),
    SlipKind(
        "supply-voltage-on-every-element", "Supply voltage on every element",
        "Is this element connected directly across the supply?",
        "The full supply voltage was used for an element that has only a part of it.",
        1.7, sharing.supply_on_every_element,
    ),
    SlipKind(
        "wrong-equivalent-used", "Value of another group used",
        "Which group does each value in this step belong to?",
        "A value used here belongs to another element or group.",
        0.7, sharing.wrong_equivalent,
    ),
    SlipKind(
        "energy-half-missing", "Factor one half missing in the energy",
        "Write down the formula for stored energy and compare every factor.",
        "The stored energy is half of CV² (or of QV, or of Q²/C); the half is missing.",
        2.0, sharing.half_missing,
    ),
    SlipKind(
        "energy-not-squared", "Square missing in the energy",
        "Write down the formula for stored energy: which factor is squared?",
        "In the stored energy ½CV² the voltage is squared (in ½Q²/C, the charge).",
        1.8, sharing.not_squared,
    ),
    SlipKind(
        "label-swapped", "Right value under the wrong element",
        "Which element does this value belong to?",
        "This is the value of another element; the labels seem to be swapped.",
        1.0, sharing.label_swapped,
    ),
    SlipKind(
        "answer-unsupported", "Answer without support",
        "Show how you come to this value.",
        "Nothing on the page leads to this value, and it is not the right one.",
        0.1,
    ),
    SlipKind(
        "unexplained", "Does not follow",
        "Go through this step again: which law does it use, and with which values?",
        "This step does not follow from the problem or from the lines before it.",
        0.1,
    ),
)  # fmt: skip

SLIPS: dict[str, SlipKind] = {kind.name: kind for kind in _KINDS}
