"""The judgement of a page, written up from its findings."""

from __future__ import annotations

from collections.abc import Sequence

from checker.exact import Fraction
from checker.matching.circuit import DIMENSIONS, Circuit, Key
from checker.matching.finding import Finding
from checker.matching.judgement import JudgedStatement, Judgement, Slip, Verdict
from checker.matching.outcome import outcome_of
from checker.matching.readings import ReadLine
from checker.matching.remarks import gives_units, page_remarks, remark_on
from checker.matching.said_again import find_said_again
from checker.matching.slipped_lines import is_wrong_line
from checker.matching.slips import SLIPS
from checker.notation.parse import prepared
from checker.problem.reduction import Reference
from checker.quantity import Quantity, Unit, format_quantity, parse_unit
from checker.reading.page import Line, Polygon


def write_up(
    reference: Reference, circuit: Circuit, lines: Sequence[Line], read: dict[int, ReadLine]
) -> Judgement:
    """``lines``: all of the submission; ``read``: those of working, in the order of reasoning."""
    figures = reference.problem.significant_figures or 3
    statements: list[JudgedStatement] = []
    slips: list[tuple[int, Slip]] = []  # place in reasoning order
    with_units = gives_units([finding for line in read.values() for finding in line.findings])
    reasoning = {place: number for number, place in enumerate(read)}
    first_place = next((place for place in read if is_wrong_line(read[place])), None)
    first_named = False
    again = find_said_again(read)
    asking = any(line.matters and line.question for line in read.values())
    for place in sorted(read):
        line = read[place]
        for number, finding in enumerate(line.findings):
            index = len(statements)
            verdict = _verdict(finding, line)
            if (place, number) in again:
                verdict = "carried forward"
            elif finding.status == "wrong" and finding.sure and not line.unsure:
                is_first = place == first_place and not first_named
                first_named = first_named or is_first
                verdict = "first slip" if is_first else "later slip"
                slips.append((reasoning[place], _slip(index, finding, circuit, figures)))
            remark = remark_on(finding, circuit, with_units)
            statements.append(_statement(index, finding, line, verdict, circuit, remark, asking))
    first = next((s for s in slips if statements[s[1].statement].verdict == "first slip"), None)
    return Judgement(
        outcome_of(first is not None, statements, read),
        first[1] if first else None,
        tuple(statements),
        tuple(
            s for _n, s in sorted(slips, key=lambda s: s[0]) if first is None or s is not first[1]
        ),
        page_remarks(reference.problem, circuit, lines, read),
    )


def _verdict(finding: Finding, line: ReadLine) -> Verdict:
    if finding.status == "follows":
        return "follows"
    if finding.status == "carried":
        return "unsure" if line.unsure else "carried forward"
    if finding.status == "words":
        return "not working"
    return "unsure"


def _statement(
    index: int,
    finding: Finding,
    line: ReadLine,
    verdict: Verdict,
    circuit: Circuit,
    remark: str | None,
    asking: bool,
) -> JudgedStatement:
    """``asking``: one question is asked about the page, so that no other need be."""
    question = line.question if verdict == "unsure" else None
    if verdict == "unsure" and not asking and not question:
        question = f'What does "{finding.text}" say?'
    return JudgedStatement(
        index, line.line.page, _polygon(finding, line), line.line.line, finding.text,
        line.candidate.probability,
        _quantity(finding, circuit),
        verdict, _capital(remark), question,
    )  # fmt: skip


def _quantity(finding: Finding, circuit: Circuit) -> str | None:
    if not finding.keys:
        return None
    key = finding.keys[0]
    return circuit.name(key if finding.misfit is None else Key(key.kind, finding.misfit))


def _capital(text: str | None) -> str | None:
    return text[0].upper() + text[1:] + "." if text else None


def _polygon(finding: Finding, line: ReadLine) -> Polygon | None:
    """Around the tokens of the statement; of the whole line where they are not known."""
    whole = line.line.polygon
    tokens = line.candidate.tokens
    text = line.candidate.text
    if whole is None or not tokens or prepared(text) != text:
        return whole
    if "".join(token.text for token in tokens) != text:
        return whole
    boxes = []
    at = 0
    for token in tokens:
        if at < finding.end and at + len(token.text) > finding.start and token.text.strip():
            boxes.append(token.box)
        at += len(token.text)
    if not boxes:
        return whole
    left, top = min(b[0] for b in boxes), min(b[1] for b in boxes)
    right, bottom = max(b[2] for b in boxes), max(b[3] for b in boxes)
    return ((left, top), (right, top), (right, bottom), (left, bottom))


def _slip(index: int, finding: Finding, circuit: Circuit, figures: int) -> Slip:
    diagnosis = finding.diagnosis
    assert diagnosis is not None
    kind = SLIPS[diagnosis.kinds[0]]
    key = diagnosis.subject.key
    expected = _expected(finding, circuit, key, figures) if finding.misfit is None else None
    return Slip(
        index, kind.name, _quantity(finding, circuit), finding.written, expected, kind.hint,
        kind.explanation, diagnosis.kinds[1:],
    )  # fmt: skip


def _expected(finding: Finding, circuit: Circuit, key: Key, figures: int) -> str | None:
    value = circuit.value(key)
    if value is None:
        return None
    like: Unit | None = parse_unit(finding.unit) if finding.unit else None
    dimension = DIMENSIONS[key.kind]
    return format_quantity(Quantity(Fraction(value), dimension), figures, like)  # type: ignore[arg-type]
