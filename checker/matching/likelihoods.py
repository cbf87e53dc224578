"""How likely a student writes a line next: logarithms, with the constants of the rule."""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import log

from checker.matching import rule
from checker.matching.finding import Finding, decisive, says_unclear
from checker.matching.slips import SLIPS
from checker.matching.state import State

_GLUED = re.compile(r"\d[^\W\d_]+$")
_FORMULA = re.compile(r"\w *[-+×·/*] *\d")  # which says nothing alone


# Of 10 there are all powers, of everything else squares and reciprocals: 2.090^-5, 10.79^1.
_STRANGE_POWER = r"(?<!10)\^(?:1(?!\d)|-?[3-9]|-[2-9]|-?\d\d)"
_COMBINED = re.compile(r"(?:^|=)[^=/QqVvUEW]*C[^=/QqVvUEW]*[+∥][^=/QqVvUEW]*$")
# No letter stands before a point: c.416.
_SENSELESS = re.compile(_STRANGE_POWER + r"|[^\W\d_]\.\d")


def likelihood(findings: Sequence[Finding], before: State, ignored: float = rule.IGNORED) -> float:
    """The logarithm of how likely a student writes something that is not wrong next; ``ignored``:
    the right value although an earlier slip would change it."""
    senseless = any(_has_no_unit(f) or _is_of_nothing(f, before) for f in findings)
    if senseless or says_unclear(findings):
        return log(rule.UNCLEAR)
    if not findings or all(f.status == "words" for f in findings):
        states_nothing = any(c.isdigit() for f in findings for c in f.text)
        return log(rule.NO_STATEMENT) if states_nothing else 0.0
    if any(f.status == "words" and _FORMULA.search(f.text) for f in findings):
        return log(rule.NO_STATEMENT)
    if any(f.unseen for f in findings):
        return log(rule.UNSEEN)
    return log(ignored) if ignores_slip(findings, before) else 0.0


def ignores_slip(findings: Sequence[Finding], before: State) -> bool:
    """Whether a line gives the right value although an earlier slip would change it."""
    return bool(before.working.wrong) and any(
        f.status == "follows" and f.result and f.keys and before.working.is_changed(f.keys[0])
        for f in findings
    )


def _is_of_nothing(finding: Finding, before: State) -> bool:
    """Whether a charge, voltage or energy has a number for its label that is none of an element or
    a group: Q7 where there is no C7."""
    label, kinds = finding.label, {key.kind for key in finding.keys}
    return label is not None and (
        label[0].isdigit() and finding.misfit is None and kinds.isdisjoint("C")
        and label not in before.bound
    )  # fmt: skip


def _is_of_another_kind(finding: Finding) -> bool:
    """Whether capacitances are combined for what is said to be none: E_B = C3 ∥ C2."""
    combined = finding.formula and _COMBINED.search(finding.text)
    return bool(combined) and any(key.kind != "C" for key in finding.keys[:1])


def _has_no_unit(finding: Finding) -> bool:
    """Whether what stands right after a number is no unit: 2.6cnF."""
    return finding.result and finding.unit is None and bool(_GLUED.search(finding.text))


def beside_slips(findings: Sequence[Finding]) -> float:
    """The logarithm of how likely a student writes what stands in a line beside its slips."""
    first = next(n for n, finding in enumerate(findings) if finding.status == "wrong")
    about = {finding.keys[:1] for finding in findings if finding.status == "wrong"}
    unclear = says_unclear(findings)
    righted = [
        f for f in findings[first:]
        if f.status == "follows" and f.number is not None and f.keys[:1] in about
    ]  # fmt: skip
    wrong = findings[first]
    worked = wrong.number is None and not wrong.formula
    if worked and any(f.chain == wrong.chain for f in righted):
        return log(rule.UNCLEAR) * unclear + log(rule.RIGHT_AFTER_WRONG)
    return log(rule.UNCLEAR) * unclear + log(rule.IGNORED) * bool(righted)


def slips_likelihood(findings: Sequence[Finding]) -> float:
    """The logarithm of how likely a student makes the slips of a line, one for each quantity; who
    breaks a rule for one element (12 V on each) mostly does so for the next."""
    each: dict[object, float] = {}
    kinds: set[str] = set()
    for finding in decisive(findings):
        if finding.keys[:1] not in each:
            kind = finding.diagnosis.kinds[0] if finding.diagnosis is not None else ""
            again = kind in kinds and SLIPS[kind].predict is not None
            its = log(rule.SLIP_AGAIN) if again else slip_likelihood(finding, findings)
            each[finding.keys[:1]] = its
            kinds.add(kind)
    return sum(each.values())


def slip_likelihood(finding: Finding, line: Sequence[Finding] = ()) -> float:
    """The logarithm of how likely a student makes this slip in a ``line``."""
    diagnosis = finding.diagnosis
    if finding.formula and any(
        f.status == "follows" and not f.formula and f.chain == finding.chain < f.start for f in line
    ):
        return log(rule.SLIP_OF_LABELS)
    if _SENSELESS.search(finding.text) or _is_of_another_kind(finding):
        return log(rule.SLIP_SENSELESS)
    if diagnosis is None:
        return log(rule.SLIP_UNEXPLAINED)
    kind, score = diagnosis.kinds[0], diagnosis.score
    by_rule = SLIPS[kind].predict is not None and kind not in rule.EASILY_MATCHED
    if by_rule or kind in rule.OF_FORM:
        if score >= rule.HINTED:
            return log(rule.SLIP_BY_RULE if score >= rule.EXPLAINED else rule.SLIP_HINTED)
    elif score >= rule.EXPLAINED:
        return log(rule.SLIP_OF_SCALE if kind in rule.OF_SCALE else rule.SLIP_OF_PEN)
    senseless = kind == "unexplained" and finding.formula
    return log(rule.SLIP_SENSELESS if senseless else rule.SLIP_UNEXPLAINED)


def has_rule(finding: Finding, line: Sequence[Finding] = ()) -> bool:
    """Whether a wrong rule explains a slip in a ``line``, not only a digit, a point or a prefix."""
    kind = finding.diagnosis.kinds[0] if finding.diagnosis is not None else ""
    return kind not in rule.OF_SCALE and slip_likelihood(finding, line) >= log(rule.SLIP_HINTED)
