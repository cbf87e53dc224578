"""Judge the lines of one submission against the reference."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from checker.markup import fold
from checker.matching.circuit import DIMENSIONS, KINDS, Circuit, Key, Kind
from checker.matching.judgement import JudgedStatement, Judgement, Outcome, Slip, Verdict
from checker.matching.labels import Usage
from checker.matching.readings import ISOLATED, LIKELY_RIGHT, SURE, ReadLine, choose
from checker.matching.slips import SLIPS
from checker.matching.steps import Finding, State
from checker.matching.steps import start as start_state
from checker.matching.values import Habit, habit_of
from checker.matching.working import Working
from checker.notation.parse import parse, prepared
from checker.notation.tree import Chain, Measured, Number, Symbol, symbols
from checker.problem.given import EQUIVALENT
from checker.problem.reduction import Reference
from checker.quantity import Quantity, Unit, format_quantity, parse_unit
from checker.reading.page import Line, Polygon

_NOWHERE = 10**9  # the place of a wrong line where there is none
_OF_UNITS = ("unit-kind", "prefix")  # the right unit further down does not put these right
_MOST_DOUBTS = 6  # lines in doubt that are looked at one by one
_PUT_RIGHT = "put right later"
_DECIMAL_COMMA = re.compile(r"\d,\d{1,2}(?!\d)|\d,\d{4,}|\b0,\d")
_THREE_DIGITS = re.compile(r"[1-9]\d{0,2},\d{3}(?!\d)")
_HEAD = re.compile(r"(?<![\w])([UuE]) ?[(\[/] ?[pnµumkM]?([VJ])\b")  # of a table: "U (V)"
_NUMBER = re.compile(r"\d[\d.,]*\d")
_POINT = re.compile(r"\d\.\d")


def judge(reference: Reference, lines: Sequence[Line]) -> Judgement:
    """The verdict on every statement, the first slip in reasoning and what to ask.

    ``lines``: those of all pages of the submission, in order.
    """
    circuit = _circuit(reference)
    read = min((_read(reference, circuit, lines, comma) for comma in _commas(lines)), key=_count)
    return _written_up(reference, circuit, read)


_circuits: dict[int, tuple[Reference, Circuit]] = {}


def _circuit(reference: Reference) -> Circuit:
    """The circuit of a reference; many submissions share one."""
    known = _circuits.get(id(reference))
    if known is not None and known[0] is reference:
        return known[1]
    if len(_circuits) > 64:
        _circuits.clear()
    circuit = Circuit(reference)
    _circuits[id(reference)] = (reference, circuit)
    return circuit


def _read(
    reference: Reference, circuit: Circuit, lines: Sequence[Line], comma: bool
) -> dict[int, ReadLine]:
    habit, usage = _habit(circuit, lines, comma)
    run = _Run(circuit, habit, usage, reference.problem.find, lines)
    return _put_right(run.best_order())


def _commas(lines: Sequence[Line]) -> tuple[bool, ...]:
    """Whether a comma is a decimal comma here; both, where each of them groups three digits."""
    texts = [fold(line.candidates[0].text) for line in lines if line.role == "working"]
    if any(_DECIMAL_COMMA.search(text) for text in texts):
        return (True,)
    if not any(_THREE_DIGITS.search(text) for text in texts):
        return (True,)
    return (False,) if any(_POINT.search(text) for text in texts) else (True, False)


def _habit(circuit: Circuit, lines: Sequence[Line], comma: bool) -> tuple[Habit, Usage]:
    texts = [line.candidates[0].text for line in lines if line.role == "working"]
    chains = [s for text in texts for s in parse(text, comma) if isinstance(s, Chain)]
    expressions = [s.expression for c in chains for s in c.sides if s.expression is not None]
    return habit_of(circuit, expressions, comma), Usage(
        letters=_letters(chains, texts, circuit.supply)
    )


def _letters(
    chains: Sequence[Chain], texts: Sequence[str], supply: Fraction | None
) -> tuple[tuple[str, Kind], ...]:
    """What U and E stand for on this page: by the units written, else U is the energy where there
    is also V."""
    votes: Counter[tuple[str, str]] = Counter()
    used: set[str] = set()
    for chain in chains:
        its = [s.expression for s in chain.sides if s.expression is not None]
        used |= {symbol.letter for expression in its for symbol in symbols(expression)}
        units = [e.unit.dimension for e in its if isinstance(e, Measured)]
        if len(its) == 2 and isinstance(its[1], Number) and its[1].value == supply:
            units = ["voltage"]
        if its and isinstance(its[0], Symbol) and units:
            votes[its[0].letter, units[-1]] += 1
    for head in (head for text in texts for head in _HEAD.finditer(text)):
        votes[head[1], "voltage" if head[2] == "V" else "energy"] += 3
    found: list[tuple[str, Kind]] = []
    for letter in ("U", "u", "E"):
        voltage, energy = votes[letter, "voltage"], votes[letter, "energy"]
        if voltage != energy:
            found.append((letter, "V" if voltage > energy else "U"))
        elif letter != "E" and letter in used and used & {"V", "v"}:
            found.append((letter, "U"))
    return tuple(found)


@dataclass
class _Run:
    """Reads the lines in some order."""

    circuit: Circuit
    habit: Habit
    usage: Usage
    wanted: tuple[str, ...]
    lines: Sequence[Line]
    last: State | None = None  # what the latest reading left

    def in_order(
        self,
        order: Sequence[int],
        strict: bool = False,
        doubted: frozenset[int] = frozenset(),
        known: State | None = None,
    ) -> dict[int, ReadLine]:
        """Read the lines in an order; nothing follows from wrong values on ``doubted`` lines.
        ``known``: a state whose right values are taken as written before."""
        state: State = start_state(self.circuit, replace(self.usage, strict=strict))
        if known is not None:
            working = Working(self.circuit, known.working.written)
            state = replace(state, working=working)
        read: dict[int, ReadLine] = {}
        for place in order:
            line = self.lines[place]
            if line.role != "working" or not line.candidates:
                continue
            read[place], state = choose(line, state, self.habit, place in doubted)
        self.last = state
        return read

    def best_order(self) -> dict[int, ReadLine]:
        """The order in which the fewest lines are wrong: first means first in reasoning, and an
        answer may stand above the line it came from."""
        order = list(range(len(self.lines)))
        read = self.in_order(order)
        if not any(map(_is_wrong, read.values())) and not self._lacks_the_whole(read):
            return read
        # A value may have been worked out from one that is written further down.
        known: State | None = self.last
        again = self.in_order(order, known=known)
        if _count(again) < _count(read):
            read = again
        else:
            known = None
        strict = False
        stricter = self.in_order(order, strict=True)
        if _place(stricter) < _place(read) and (
            _count(stricter) <= _count(read) or self._lacks_the_whole(read)
        ):
            read, strict = stricter, True
        if not any(map(_is_wrong, read.values())):
            return read
        for _attempt in range(3):
            if (first := _place(read)) == _NOWHERE:
                break
            block = self._block(first)
            moved = [place for place in order if place not in block] + block
            again = self.in_order(moved, strict)
            if not _is_earlier(_first(again), _first(read)) or _count(again) > _count(read):
                break
            if _is_used(_first(read), read):
                break
            if _count(again) == _count(read) and not _is_weak(_first(read)):
                break
            order, read = moved, again
        pages = list(dict.fromkeys(line.page for line in self.lines))
        if len(pages) > 1 and _count(read) > 1:
            turned = sorted(range(len(self.lines)), key=lambda p: -pages.index(self.lines[p].page))
            again = self.in_order(turned, strict)
            if _count(again) < _count(read):
                order, read = turned, again
        if all(_is_sure(line) for line in read.values()):
            return read
        return self._settled(order, strict, known)

    def _settled(self, order: list[int], strict: bool, known: State | None) -> dict[int, ReadLine]:
        """Decide on the lines in doubt.

        One whose wrong value explains later lines was read rightly.  Where nothing comes of a
        wrong value, a reader less than certain is asked; so is it where the slip may stand on an
        earlier line that could not be read.
        """

        def run(doubts: set[int]) -> dict[int, ReadLine]:
            return self.in_order(order, strict, frozenset(doubts), known)

        read = run(set())
        doubts = {place for place in order if place in read and read[place].unsure}
        trusted: set[int] = set()
        if doubts:
            read = run(doubts)
            for place in [p for p in order if p in doubts][:_MOST_DOUBTS]:
                with_it = run(doubts - {place})
                if _count(with_it) < _count(read):
                    doubts.discard(place)
                    trusted.add(place)
                    read = with_it
        for _attempt in range(_MOST_DOUBTS):
            read = {p: _trust(line) if p in trusted else line for p, line in read.items()}
            first = _place(read)
            if first == _NOWHERE or first in trusted or _is_sure(read[first]):
                break
            without = run(doubts | {first})
            without = {p: _trust(line) if p in trusted else line for p, line in without.items()}
            alone = _count(without) < _count(read)
            if not (alone and _may_be_misread(read, first)) and not _is_hidden(read, first):
                break
            doubts.add(first)
            read = without
        return _traced_back(read)

    def _lacks_the_whole(self, read: dict[int, ReadLine]) -> bool:
        """Whether a page walks back without the whole capacitance, though it gives a value with
        the label of the whole ("C_eq"), which then was taken for that of a group."""
        found = [f for line in read.values() for f in line.findings if f.keys]
        whole = Key("C", self.circuit.total)
        return (
            EQUIVALENT in self.wanted
            and any(f.whole_label and f.keys[0].kind == "C" and whole not in f.keys for f in found)
            and (any(f.keys[0].kind != "C" for f in found) or found[-1].whole_label)
            and not any(whole in f.keys and f.status != "words" for f in found)
        )

    def _block(self, place: int) -> list[int]:
        """A line and the lines that go on from it with "= …"."""
        block = [place]
        while block[-1] + 1 < len(self.lines):
            text = prepared(self.lines[block[-1] + 1].candidates[0].text).lstrip()
            if not text.startswith(("=", "≈")):
                break
            block.append(block[-1] + 1)
        return block


def _is_wrong(read: ReadLine) -> bool:
    return not read.unsure and any(f.status == "wrong" for f in read.findings)


def _trust(line: ReadLine) -> ReadLine:
    return replace(line, unsure=False, question=None)


def _is_sure(line: ReadLine) -> bool:
    return line.candidate.probability >= SURE


def _may_be_misread(read: dict[int, ReadLine], place: int) -> bool:
    """Whether a wrong line of which nothing comes is more likely misread than wrong."""
    order = list(read)
    line = read[place]
    shaky = any(read[p].unsure or not_understood(read[p]) for p in order[: order.index(place)])
    result_right = any(f.status == "follows" and f.result for f in line.findings)
    wrong = next(f for f in line.findings if f.status == "wrong")
    plain = not result_right and (not shaky or ((wrong.named or wrong.whole_label) and wrong.far))
    return line.candidate.probability < (ISOLATED if plain else SURE)


def _traced_back(read: dict[int, ReadLine]) -> dict[int, ReadLine]:
    """Where a slip is certain but an earlier line about the same kind of quantity is wrong in
    every reading, the slip is there."""
    first = _place(read)
    if first == _NOWHERE or (
        _is_sure(read[first]) and not any(line.unsure for line in read.values())
    ):
        return read
    wrong = next(f for f in read[first].findings if f.status == "wrong")
    for place in read:
        if place == first:
            return read
        line = read[place]
        its = [f for f in line.findings if f.status == "wrong"]
        if line.unsure and line.hopeless and its and any(
            f.keys and wrong.keys and f.keys[0].kind == wrong.keys[0].kind and f.far for f in its
        ):  # fmt: skip
            return {**read, place: _trust(line)}
    return read


def _is_hidden(read: dict[int, ReadLine], place: int) -> bool:
    """Whether the slip may really stand on an earlier line that could not be read: nothing
    explains this one, or that line is about the same quantity."""
    order = list(read)
    before = [read[p] for p in order[: order.index(place)]]
    shaky = [line for line in before if line.unsure or not_understood(line)]
    if not shaky:
        return False
    wrong = next(f for f in read[place].findings if f.status == "wrong")
    same = any(set(f.keys) & set(wrong.keys) for line in shaky for f in line.findings)
    return _is_weak(wrong) or same


def not_understood(read: ReadLine) -> bool:
    return any(f.status == "unclear" for f in read.findings)


def _count(read: dict[int, ReadLine]) -> int:
    return sum(map(_is_wrong, read.values()))


def _place(read: dict[int, ReadLine]) -> int:
    return next((place for place, line in read.items() if _is_wrong(line)), _NOWHERE)


def _first(read: dict[int, ReadLine]) -> Finding | None:
    """The first wrong finding in reading order."""
    found = (f for line in read.values() if _is_wrong(line) for f in line.findings)
    return next((f for f in found if f.status == "wrong"), None)


def _is_weak(finding: Finding | None) -> bool:
    """Wrong without any kind of slip that explains it."""
    return finding is not None and finding.diagnosis is not None and (
        finding.diagnosis.kinds[0] in ("unexplained", "answer-unsupported")
    )  # fmt: skip


def _is_used(wrong: Finding | None, read: dict[int, ReadLine]) -> bool:
    """Whether a wrong value is written among the numbers of a line about something else."""
    digits = re.findall(r"\d[\d.,]*", wrong.written) if wrong is not None else []
    return wrong is not None and any(
        digits
        and digits[0] in re.findall(r"\d[\d.,]*", f.text)
        and not set(f.keys) & set(wrong.keys)
        for line in read.values()
        for f in line.findings
        if not f.result
    )


def _is_earlier(one: Finding | None, other: Finding | None) -> bool:
    """Whether a slip comes before another in reasoning: capacitances before charges before
    voltages before energies, and a group before the larger one it is part of."""
    if one is None or other is None or not one.keys or not other.keys:
        return False
    a, b = one.keys[0], other.keys[0]
    if a.kind != b.kind:
        return KINDS.index(a.kind) < KINDS.index(b.kind)
    return a.kind == "C" and a.group != b.group and a.group & b.group == a.group


def _put_right(read: dict[int, ReadLine]) -> dict[int, ReadLine]:
    """Wrong values that the student replaced by right ones later, with nothing wrong after."""
    flat = [(place, number) for place in read for number in range(len(read[place].findings))]
    found = {at: read[at[0]].findings[at[1]] for at in flat}
    for at, spot in enumerate(flat):
        wrong = found[spot]
        if wrong.status != "wrong" or read[spot[0]].unsure:
            continue
        again = next((n for n in range(at + 1, len(flat)) if _restates(flat, found, at, n)), None)
        if again is None:
            continue
        if any(found[s].status in ("carried", "wrong") for s in flat[again:]):
            continue
        for s in flat[at:again]:
            if found[s].status in ("carried", "wrong"):
                found[s] = replace(found[s], status="words", remark=_PUT_RIGHT)
    return {
        place: replace(
            line, findings=tuple(found[place, n] for n in range(len(line.findings)))
        )
        for place, line in read.items()
    }  # fmt: skip


def _restates(
    flat: list[tuple[int, int]], found: dict[tuple[int, int], Finding], at: int, later: int
) -> bool:
    """Whether a later statement gives a value for what the wrong one is about, rightly."""
    wrong, right = found[flat[at]], found[flat[later]]
    same_chain = flat[at][0] == flat[later][0] and wrong.chain == right.chain
    left_out = right.unitless and not wrong.unitless  # repeats the number without its unit
    return (
        right.status == "follows" and right.result and not same_chain and not left_out
        and not wrong.inverse and not (wrong.diagnosis and wrong.diagnosis.kinds[0] in _OF_UNITS)
        and bool(set(right.keys) & set(wrong.keys))
    )  # fmt: skip


def _written_up(reference: Reference, circuit: Circuit, read: dict[int, ReadLine]) -> Judgement:
    figures = reference.problem.significant_figures or 3
    statements: list[JudgedStatement] = []
    slips: list[tuple[int, Slip]] = []  # place in reasoning order
    remarks: list[str] = []
    reasoning = {place: number for number, place in enumerate(read)}
    first_place = next((place for place in read if _is_wrong(read[place])), None)
    first_named = False
    again = _said_again(read)
    for place in sorted(read):
        line = read[place]
        for number, finding in enumerate(line.findings):
            index = len(statements)
            verdict = _verdict(finding, line)
            if (place, number) in again:
                verdict = "carried forward"
            elif finding.status == "wrong" and not line.unsure:
                is_first = place == first_place and not first_named
                first_named = first_named or is_first
                verdict = "first slip" if is_first else "later slip"
                slips.append((reasoning[place], _slip(index, finding, circuit, figures)))
            statements.append(_statement(index, finding, line, verdict, circuit))
    first = next((s for s in slips if statements[s[1].statement].verdict == "first slip"), None)
    remarks += _remarks(statements, read)
    return Judgement(
        _outcome(first is not None, statements, read),
        first[1] if first else None,
        tuple(statements),
        tuple(
            s for _n, s in sorted(slips, key=lambda s: s[0]) if first is None or s is not first[1]
        ),
        tuple(remarks),
    )


def _said_again(read: dict[int, ReadLine]) -> set[tuple[int, int]]:
    """Wrong findings that need not be slips of their own: they go on from an earlier slip, are
    about the same quantity, use its value or apply the same wrong rule once more."""
    again: set[tuple[int, int]] = set()
    before: list[tuple[int, Finding]] = []
    for place, line in read.items():
        for number, finding in enumerate(line.findings):
            if finding.status == "wrong" and not line.unsure:
                if any(_is_same(finding, f, place == p) for p, f in before):
                    again.add((place, number))
                before.append((place, finding))
    return again


def _is_same(later: Finding, earlier: Finding, same_line: bool) -> bool:
    if same_line and later.chain == earlier.chain:
        return True
    if earlier.diagnosis is None or later.diagnosis is None:
        return False
    if set(later.keys) & set(earlier.keys):
        return True
    used = set(_NUMBER.findall(earlier.written)) & set(_NUMBER.findall(later.text))
    if _is_weak(later) and any(len(digits) > 2 for digits in used):
        return True
    rule = earlier.diagnosis.kinds[0]
    return rule in later.diagnosis.kinds and SLIPS[rule].predict is not None


def _verdict(finding: Finding, line: ReadLine) -> Verdict:
    if finding.status == "follows":
        return "follows"
    if finding.status == "carried":
        return "unsure" if line.unsure else "carried forward"
    if finding.status == "words":
        return "not working"
    return "unsure"


def _statement(
    index: int, finding: Finding, line: ReadLine, verdict: Verdict, circuit: Circuit
) -> JudgedStatement:
    question = None
    if verdict == "unsure":
        question = line.question or f'What does "{finding.text}" say?'
    return JudgedStatement(
        index, line.line.page, _polygon(finding, line), line.line.line, finding.text,
        line.candidate.probability,
        _quantity(finding, circuit),
        verdict, _capital(finding.remark), question,
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


def _remarks(statements: list[JudgedStatement], read: dict[int, ReadLine]) -> list[str]:
    found = []
    findings = [f for line in read.values() for f in line.findings]
    if any(f.remark == _PUT_RIGHT for f in findings):
        found.append("A wrong value was put right later on the page.")
    results = [f for f in findings if f.result and f.status in ("follows", "carried")]
    if any(f.unitless for f in results) and any(not f.unitless for f in results):
        found.append("Some results have no unit.")
    return found


def _outcome(slip: bool, statements: list[JudgedStatement], read: dict[int, ReadLine]) -> Outcome:
    if slip:
        return "slip found"
    working = [s for s in statements if s.verdict != "not working"]
    if not working:
        return "nothing read"
    right = {s.quantity for s in statements if s.verdict == "follows" and s.quantity}
    if not right or any(_matters(line, read) for line in read.values()):
        return "needs a look"
    return "all follows"


def _matters(line: ReadLine, read: dict[int, ReadLine]) -> bool:
    """Whether a person should look at a line without a verdict: it is not likely to be right, and
    no other line gives its value rightly."""
    if not line.unsure or line.right >= LIKELY_RIGHT:
        return False
    right = {
        key for other in read.values() for f in other.findings
        if f.status == "follows" and f.result for key in f.keys
    }  # fmt: skip
    last = line.findings[-1] if line.findings else None
    if last is not None and last.status == "follows" and last.result:
        return False
    wrong = [f for f in line.findings if f.status == "wrong"]
    return not all(set(f.keys) & right for f in wrong)
