"""A judged statement before anything is decided about the page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from checker.exact import Fraction
from checker.markup import plain
from checker.matching.circuit import Circuit, Key
from checker.matching.context import ChainResult, SideResult, Status
from checker.matching.diagnose import Diagnosis
from checker.matching.forms import inverted, is_fraction, is_numeric, is_result
from checker.matching.intervals import Interval
from checker.matching.labels import Label
from checker.notation.tree import Chain, Expression, Measured, Number, Quotient, Sum, parts

MOST_MEANINGS = 6  # meanings of a label that its values are written down for
_NEAR = Fraction(1, 20)  # roundings of lines that were misread change a value by less
CONFIDENT = 0.45  # a diagnosis with this score explains what is written


@dataclass(frozen=True)
class Finding:
    """A judged statement before anything is decided about the page.

    ``status`` "words" is no working.  ``start`` and ``end`` are offsets in the prepared text.
    ``diagnosis`` explains a wrong one; ``sure`` is False where the label is the student's own and
    nothing explains the value.
    """

    start: int
    end: int
    text: str
    status: Status | str
    keys: tuple[Key, ...] = ()
    result: bool = False  # a plain value is written
    remark: str | None = None
    diagnosis: Diagnosis | None = None
    sure: bool = True
    written: str = ""
    unit: str | None = None
    unitless: bool = False
    chain: int = 0  # where its chain starts
    whole_label: bool = False  # its label is one for the whole
    named: bool = False  # its label names its elements
    misfit: int | None = None  # the elements its label names, which may not be combined
    inverse: bool = False  # it is about one over the quantity
    far: bool = False  # wrong by more than any rounding of lines that were misread
    above: bool = False  # the side stands in the line before, which says it without a relation
    number: Number | None = None  # of a plain result
    value: Fraction | None = None  # the same in SI; of a fraction, too
    unseen: bool = False  # carried, but only through steps that are not on the page
    label: Label | None = None  # the student's own: C', C_A
    guessed: bool = False  # the label of its column or row in a table was misread
    claim: bool = False  # in words: "C1 and C2 in series"
    doubtful: bool = False  # wrong, but rounding alone may give it as well
    formula: bool = False  # labels stand in it, not only numbers

    @property
    def own_label(self) -> bool:
        return self.label is not None


def says_unclear(findings: Sequence[Finding]) -> bool:
    """Whether a line has something in it that cannot be understood."""
    return any(finding.status == "unclear" for finding in findings)


def decisive(findings: Sequence[Finding]) -> list[Finding]:
    """The wrong findings of a line; what is wrong under a guessed label beside others may be the
    guess, and is left out."""
    wrong = [finding for finding in findings if finding.status == "wrong"]
    return [finding for finding in wrong if not finding.guessed] or wrong


def findings_of(
    chain: Chain,
    whole: str,
    result: ChainResult,
    diagnoses: dict[int, Diagnosis],
    circuit: Circuit,
) -> list[Finding]:
    findings = []
    keys = tuple(dict.fromkeys(s.key for s in result.subjects))[:MOST_MEANINGS]
    last_end = chain.start
    seen_right = False
    for place, side in enumerate(result.results):
        first = place == 0
        end = chain.end if place + 1 == len(result.results) else side.side.end
        start = chain.start if first else last_end
        text = plain(whole[start:end])
        diagnosis = diagnoses.get(place)
        expression = side.side.expression
        sure = diagnosis is None or diagnosis.score >= CONFIDENT or seen_right
        sure = sure or result.certain or result.whole or _takes_away(expression, result)
        sure = sure or not is_numeric(expression)  # a formula that holds for no group at all
        if side.status == "follows" and (is_numeric(expression) or len(result.subjects) == 1):
            seen_right = True  # then what it is about is settled
        findings.append(
            Finding(
                start, end, text, side.status,
                (diagnosis.subject.key,) if diagnosis else keys,
                _is_value(expression) and not result.subjects[0].inverse,
                side.remark, diagnosis, sure, _written(result.results[place:], whole),
                expression.unit.symbol if isinstance(expression, Measured) else None,
                isinstance(expression, Number),
                chain.start,
                result.whole,
                result.certain,
                result.misfit,
                result.subjects[0].inverse,
                diagnosis is not None and _is_far(side, diagnosis, circuit),
                label=result.label if not result.whole else None,
                formula=not is_numeric(expression),
                number=_number(expression),
                unseen=side.unseen,
                doubtful=side.doubtful,
                value=(
                    nearest(side.values, side.hull or side.values[0]).low if side.values else None
                ),
            )
        )  # fmt: skip
        last_end = end
    if len(findings) > 1 and not findings[0].text:  # the side that stands in the line before
        if findings[0].status in ("follows", "words"):
            return findings[1:]
        findings[0] = replace(findings[0], text=findings[1].text, end=findings[1].end, above=True)
    return findings


def _takes_away(expression: Expression | None, result: ChainResult) -> bool:
    """Whether a capacitance is got by taking one from another, which no group makes right."""
    return (
        isinstance(expression, Sum)
        and {subject.key.kind for subject in result.subjects} == {"C"}
        and not result.subjects[0].inverse
        and any(sign < 0 and is_result(term) for sign, term in expression.terms)
    )


def _is_value(expression: Expression | None) -> bool:
    if isinstance(expression, Quotient) and isinstance(expression.under, Measured):
        # 28/33 µF on one line is (28/33) µF, but 1/33 µF is one over it.
        return inverted(expression) is None and all(map(is_result, parts(expression)))
    return is_result(expression) or (expression is not None and is_fraction(expression))


def _number(expression: Expression | None) -> Number | None:
    amount = expression.amount if isinstance(expression, Measured) else expression
    return amount if isinstance(amount, Number) else None


def nearest(values: tuple[Interval, ...], hull: Interval) -> Interval:
    """The one of several values that comes closest to what a side was taken for."""
    return min(values, key=lambda v: max(v.high, hull.high) - min(v.low, hull.low))


def _is_far(side: SideResult, diagnosis: Diagnosis, circuit: Circuit) -> bool:
    exact = circuit.value(diagnosis.subject.key)
    return exact is not None and not any(
        value.low < exact * (1 + _NEAR) and value.high > exact * (1 - _NEAR)
        for value in side.values
    )


def _written(sides: tuple[SideResult, ...], whole: str) -> str:
    """What to quote: the value that the wrong side leads to, where the chain works it out."""
    shown = sides[0].side
    for later in sides[1:]:
        if later.status == "carried" and is_result(later.side.expression):
            shown = later.side
    return plain(whole[shown.start : shown.end])
