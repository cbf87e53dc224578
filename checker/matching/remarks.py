"""What may be said about a page besides its verdicts; none of it counts as a slip."""

from __future__ import annotations

from collections.abc import Sequence

from checker.exact import Fraction
from checker.matching.circuit import DIMENSIONS, Circuit, Key
from checker.matching.finding import Finding
from checker.matching.put_right import PUT_RIGHT
from checker.matching.readings import ReadLine
from checker.problem.given import EQUIVALENT, Problem
from checker.reading.page import Line

NO_UNIT = "the unit is missing"
ROUNDED_EARLY = "earlier rounding has moved this value; carry more figures"
_NOTICEABLE = Fraction(1, 200)  # by how much earlier rounding must have moved a value


def page_remarks(
    problem: Problem, circuit: Circuit, lines: Sequence[Line], read: dict[int, ReadLine]
) -> tuple[str, ...]:
    """Sentences about a whole page."""
    findings = [f for line in read.values() for f in line.findings]
    found = []
    if any(line.role == "struck" for line in lines):
        found.append("What is crossed out was left aside.")
    if any(f.remark == PUT_RIGHT for f in findings):
        found.append("A wrong value was put right later on the page.")
    if gives_units(findings) and any(map(_is_bare, findings)):
        found.append("Some results have no unit.")
    if problem.significant_figures is not None:
        found += _figures(problem, problem.significant_figures, circuit, findings)
    return tuple(found)


def remark_on(finding: Finding, circuit: Circuit, with_units: bool) -> str | None:
    """What to say about one statement that is no slip.  ``with_units``: the page gives units."""
    if finding.remark is not None or finding.status != "follows":
        return finding.remark
    if with_units and _is_bare(finding):
        return NO_UNIT
    return ROUNDED_EARLY if _is_moved(finding, circuit) else None


def gives_units(findings: Sequence[Finding]) -> bool:
    """Whether a page gives units to most of its results; leaving them out all through is a
    habit."""
    results = [f for f in findings if f.result and f.status in ("follows", "carried")]
    return 2 * sum(map(_is_bare, results)) < len(results)


def _is_bare(finding: Finding) -> bool:
    return finding.result and finding.unitless and finding.status in ("follows", "carried")


def _is_moved(finding: Finding, circuit: Circuit) -> bool:
    """Whether a result follows, but only from values that were rounded too far."""
    exact = circuit.value(finding.keys[0]) if finding.keys else None
    if not finding.result or exact is None or finding.value is None or finding.number is None:
        return False
    number = finding.number
    step = finding.value * number.last_place / number.value if number.value else Fraction(0)
    return abs(finding.value - exact) > exact * _NOTICEABLE + step / 2


def _figures(
    problem: Problem, asked: int, circuit: Circuit, findings: Sequence[Finding]
) -> list[str]:
    """Whether the results asked for are written to other than the figures asked for.  A value
    that is exact as it stands needs no more."""
    results = [f for f in findings if f.result and f.number and f.status == "follows"]
    last = {f.keys[0]: f for f in results}
    wanted = [f for key, f in last.items() if _is_asked(key, problem, circuit)]
    found = []
    if any(max(_counts(f)) < asked and f.value != circuit.value(f.keys[0]) for f in wanted):
        found.append(f"Some results have fewer than the {asked} significant figures asked for.")
    if any(min(_counts(f)) > asked for f in wanted):
        found.append(f"Some results have more than the {asked} significant figures asked for.")
    return found


def _counts(finding: Finding) -> tuple[int, int]:
    """How many significant figures a result is written to; the zeros that end a whole number may
    count or not."""
    assert finding.number is not None
    figures = finding.number.figures
    return len(figures.rstrip("0") if finding.number.whole else figures), len(figures)


def _is_asked(key: Key, problem: Problem, circuit: Circuit) -> bool:
    if key.kind == "C":
        return key.group == circuit.total and EQUIVALENT in problem.find
    return circuit.is_element(key.group) and DIMENSIONS[key.kind] in problem.find
