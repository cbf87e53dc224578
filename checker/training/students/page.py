"""One invented page: a problem, a student, the lines, and the truth about them."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from checker import markup
from checker.problem.given import Problem, make_problem
from checker.problem.network import Element, Node, Parallel, Series, elements
from checker.quantity import Quantity
from checker.training.students import edits, numbers
from checker.training.students.bounds import Honest, explains, parents
from checker.training.students.circuits import Circuit, Shape, capacitance, circuit, states
from checker.training.students.habits import Habits, draw
from checker.training.students.layout import PageLine, Sheet
from checker.training.students.numbers import Written
from checker.training.students.plan import Planner, Step
from checker.training.students.slips import KINDS, MAKERS, Fault, misread
from checker.training.students.working import Expr, Key, Over, evaluate, references
from checker.training.students.writing import Desk, Held, Show, Statement, reciprocal_value

REMARKS = ("unit-missing", "rounded-too-early")  # kinds that change no value beyond rounding
STAGES = ("bar", "name", "symbols", "numbers", "middle", "value")


@dataclass(frozen=True)
class StudentLine:
    """One written line: canonical markup, as typed, crossed out or not, and what it states."""

    markup: str
    text: str
    struck: bool = False
    about: tuple[str, ...] = ()


@dataclass(frozen=True)
class StudentPage:
    """A page and its truth.

    ``first_slip``: index of the line where the first slip stands, None on a clean page; ``kind``
    its kind, ``kinds_equal`` all kinds that put the same marks on the paper.  ``second_slip`` and
    ``second_kind``: a further, independent slip.  ``repeated``: the belief behind the first slip
    strikes further steps as well.  ``remarks``: what is odd but right.
    """

    seed: int
    problem: Problem
    circuit: Circuit
    lines: tuple[StudentLine, ...]
    first_slip: int | None = None
    kind: str | None = None
    kinds_equal: frozenset[str] = frozenset()
    second_slip: int | None = None
    second_kind: str | None = None
    remarks: frozenset[str] = frozenset()
    repeated: bool = False


class Unsuitable(Exception):
    """This student, problem and slip do not go together; another is tried."""


def page(
    seed: int,
    slip: str | None = None,
    *,
    second: bool | None = None,
    shape: Shape | None = None,
    habits: Habits | None = None,
) -> StudentPage:
    """The page of a seed: clean, with one ``slip`` of a kind, or "any".

    ``second`` asks for (True), forbids (False) or leaves to chance a later independent slip.
    ``shape`` and ``habits`` fix the network and the student instead of drawing them.
    """
    rng = random.Random(f"{seed}/{slip}")
    kind = rng.choice(KINDS) if slip == "any" else slip
    if kind is not None and kind not in KINDS and kind not in REMARKS:
        raise ValueError(f"no such kind of slip: {kind}")
    for _ in range(2000):
        try:
            return _attempt(seed, kind, second, shape, habits, rng)
        except (Unsuitable, ZeroDivisionError):
            continue
    raise Unsuitable(f"no page found for {kind}")


def _attempt(
    seed: int, kind: str | None, second: bool | None, shape: Shape | None,
    habits: Habits | None, rng: random.Random,
) -> StudentPage:  # fmt: skip
    slipped = kind is not None and kind not in REMARKS
    made = circuit(rng, shape, distinct=slipped or rng.random() < 0.9)
    student = habits or draw(rng)
    if kind in ("energy-half-missing", "energy-not-squared") and "energy" not in made.find:
        made = replace(made, find=(*made.find, "energy"))
    if kind == "unit-missing" and student.units not in ("all", "end"):
        raise Unsuitable
    if kind == "rounded-too-early" and student.numbers.figures < 3:
        raise Unsuitable
    worked, wrong_group = made, None
    if kind == "wrong-elements":
        choice = misread(made, rng)
        if choice is None:
            raise Unsuitable
        worked, wrong_group = choice
    author = Author(made, worked, student, rng)
    if slipped:
        author.misstep(kind or "", wrong_group is not None)
        if second or (second is None and rng.random() < 0.1):
            author.misstep_again()
    elif kind in REMARKS:
        author.oddity = kind
    elif rng.random() < 0.06:
        author.correction = rng.choice(("struck", "restated"))
    author.write()
    return author.finish(seed, kind if slipped else None)


@dataclass
class Task:
    """A step to be written and what goes wrong with it."""

    step: Step
    right: Expr
    fault: Fault | None = None
    second: bool = False
    belief: bool = False  # wrong by the same belief as an earlier step
    show: Show | None = None
    written: Written | None = None
    exact: Fraction = Fraction(0)


@dataclass
class Author:
    """Plans, slips, writes."""

    circuit: Circuit
    worked: Circuit  # as the student sees it
    habits: Habits
    rng: random.Random
    oddity: str | None = None
    correction: str | None = None
    tasks: list[Task] = field(default_factory=list)
    equal: frozenset[str] = frozenset()
    answer_wrongly: bool = False

    def __post_init__(self) -> None:
        steps = Planner(self.worked, self.habits, self.rng).plan()
        self.tasks = [Task(s, s.formula) for s in steps]
        self.desk = Desk.ready(self.worked, self.habits, self.rng)
        self.sheet = Sheet(self.desk)
        self.remarks: set[str] = set()

    # Slips

    def misstep(self, kind: str, wrong_elements: bool) -> None:
        """Put the first slip into the plan."""
        if wrong_elements:
            for task in self.tasks:
                if task.step.key[0] == "C" and not legitimate(
                    task.step.key[1], self.circuit.network
                ):
                    break
            else:
                raise Unsuitable
            index = self.tasks.index(task)
            self._place(Fault("wrong-elements", index, stage="bar", needs=("symbols or numbers",)))
            self._distinct_group(task.step.key[1])
            return
        if kind in ("given-miscopied", "digits-swapped") and self.rng.random() < 0.2:
            self._list_wrongly(kind)
            return
        if kind == "answer-unsupported" and self.rng.random() < 0.4:
            self.answer_wrongly = True
            return
        steps = [t.step for t in self.tasks]
        offers = [f for i in range(len(steps)) for f in MAKERS[kind](steps, i, self.circuit)]
        # A step that is not on paper, or only inside another one, shows no slip of its own.
        offers = [f for f in offers if not steps[f.index].silent]
        if not offers:
            raise Unsuitable
        # Every step first, then a variant: a step with many variants is not struck more often.
        index = self.rng.choice(sorted({f.index for f in offers}))
        self._place(self.rng.choice([f for f in offers if f.index == index]))

    def _list_wrongly(self, kind: str) -> None:
        """A datum copied wrongly into the list on top, and used so ever after."""
        keys: list[Key] = [("C", Element(name)) for name in self.circuit.capacitors]
        keys.append(("V", self.circuit.network))
        key = self.rng.choice(keys)
        new = self._wrong_copy(key, "swap" if kind == "digits-swapped" else "digit")
        self.desk.book[key] = Held(new.value, new)
        self.sheet.wrong_given = key
        # Two digits changed over in a datum are a datum miscopied, too.
        self.equal = frozenset({kind, "given-miscopied"})

    def _answer_wrongly(self) -> None:
        """A result restated at the end as something else."""
        asked: list[Key] = [("C", self.circuit.network)]
        asked += [(s, Element(n)) for n in self.circuit.capacitors for s in "QV"]
        names = {"C": "", "Q": "charge", "V": "voltage"}
        found = [
            (key, written)
            for key in asked
            if names[key[0]] in ("", *self.circuit.find)
            and (written := self.desk.book.get(key, Held(Fraction(0), None)).written) is not None
        ]
        if not found:
            raise Unsuitable
        key, written = self.rng.choice(found)
        new = self.desk.written(edits.anything(written.value, self.rng), key[0])
        a, b = new.number, written.number
        miscopied = len(a) == len(b) and sum(x != y for x, y in zip(a, b, strict=True)) < 2
        if miscopied or edits.same_digits(a, b):
            raise Unsuitable
        for other, (low, high) in self.honest.known.items():
            if other[0] == key[0] and low * 0.99 < float(new.value) < high * 1.01:
                raise Unsuitable
        self.sheet.wrong_answer = key, new
        self.equal = frozenset({"answer-unsupported", "unexplained"})

    def misstep_again(self) -> None:
        """A second slip of the pen at a later step, where there is one."""
        first = next((i for i, t in enumerate(self.tasks) if t.fault), -1)
        if self.answer_wrongly:
            return
        later = [
            i for i, t in enumerate(self.tasks)
            if i > first and not t.belief and not t.step.silent and t.step.rule != "same"
        ]  # fmt: skip
        if not later:
            return
        kind = self.rng.choice(("arithmetic", "decimal-point", "unit-kind"))
        index = self.rng.choice(later)
        steps = [t.step for t in self.tasks]
        self.tasks[index].fault = MAKERS[kind](steps, index, self.circuit)[0]
        self.tasks[index].second = True

    def _distinct_group(self, node: Node) -> None:
        values = {n: d.value for n, d in self.circuit.capacitors.items()}
        wrong = capacitance(node, values)
        for key, value in states(self.circuit.network, values, self.circuit.supply.value).items():
            if key[0] == "C" and abs(value - wrong) < wrong / 50:
                raise Unsuitable

    def _place(self, fault: Fault) -> None:
        task = self.tasks[fault.index]
        task.fault = fault
        step = replace(task.step, silent=False)
        if fault.formula is not None:
            step = replace(step, formula=fault.formula)
        if fault.form == "same":
            others = {k for k, _ in fault.also}
            more = tuple(self.tasks[k].step.key for k in sorted(others))
            task.step = replace(step, rule="same", more=more, form="")
            self.tasks = [t for k, t in enumerate(self.tasks) if k not in others]
            return
        if fault.form == "split":
            keys = (step.key, *step.more)
            formulas = [fault.formula, *(f for _, f in fault.also)]
            new = [
                Task(replace(step, key=k, formula=f or step.formula, more=(), rule="law"),
                     task.right, belief=True)
                for k, f in zip(keys, formulas, strict=True)
            ]  # fmt: skip
            new[0].fault, new[0].belief = fault, False
            self.tasks[fault.index : fault.index + 1] = new
            return
        if fault.form is not None and not fault.form.startswith("added"):
            step = replace(step, form=fault.form)
        task.step = step
        for k, formula in fault.also:
            other = self.tasks[k]
            other.step = replace(other.step, formula=formula, silent=False)
            other.belief = True
            if fault.kind == "label-swapped":
                other.show = Show(False, False, False)

    # Writing

    def write(self) -> None:
        """Work through the tasks, putting lines on the sheet."""
        self.honest = self._honest()
        self.sheet.begin()
        correct_at = self._correction_place()
        odd_at = self._oddity_place()
        for index, task in enumerate(self.tasks):
            if any(
                r.key not in self.desk.book and not r.note for r in references(task.step.formula)
            ):
                raise Unsuitable
            self._work(task, odd=index == odd_at)
            if task.step.silent:
                continue
            if index == correct_at:
                self._correct(task)
            self._put(task)
        self.sheet.checked = not any(t.fault for t in self.tasks)
        if self.answer_wrongly:
            self._answer_wrongly()
        self.sheet.end()

    def _honest(self) -> Honest:
        known = {key: (float(h.exact), float(h.exact)) for key, h in self.desk.book.items()}
        return Honest(self.circuit.network, known)

    def _correction_place(self) -> int:
        places = [
            i for i, t in enumerate(self.tasks)
            if not t.step.silent and t.step.rule not in ("same",) and not self.sheet.tabled(t.step)
        ]  # fmt: skip
        if not self.correction or not places:
            return -1
        return self.rng.choice(places)

    def _oddity_place(self) -> int:
        places = [
            i for i, t in enumerate(self.tasks) if not t.step.silent and t.step.rule != "same"
        ]
        if self.oddity is None:
            return -1
        if not places or (self.oddity == "rounded-too-early" and len(places) < 2):
            raise Unsuitable
        return self.rng.choice(places[:-1] if self.oddity == "rounded-too-early" else places)

    def _work(self, task: Task, odd: bool) -> None:
        step, fault, desk = task.step, task.fault, self.desk
        show = task.show or desk.choose()
        show.converts &= fault is None
        tabled = self.sheet.tabled(step)
        if fault and fault.edit in ("prefix", "power", "unit"):
            tabled = False  # a unit in the head of a table would hide it
        if fault and "numbers" in fault.needs:
            tabled = False
            show.numbers = True
        if fault and "symbols or numbers" in fault.needs and not show.symbols:
            tabled = False
            show.numbers = True
        if (fault and fault.hides) or tabled:
            show = Show(False, False, False)
        if fault and fault.kind == "reciprocals-added-wrongly":
            show.numbers = True
        task.show = show
        self.sheet.in_table[step.key] = tabled
        if fault and fault.copy:
            self._miscopy(task, fault)
        # In the page's own numbers, as people calculate: a wrong formula keeps no dimensions.
        exact = evaluate(step.formula, lambda r: desk.value_of(r) / desk.scale(r.key[0]))
        exact *= desk.scale(step.key[0])
        if exact <= 0:
            raise Unsuitable
        # 1/C written down rounded, and C worked out from that.
        on_paper = not step.silent and (show.numbers or show.symbols)
        if (
            on_paper and step.form == "reciprocal" and isinstance(step.formula, Over)
            and desk.habits.reciprocal_sum == "decimal" and desk.habits.units != "base"
            and desk.habits.carries == "rounded"
        ):  # fmt: skip
            exact = reciprocal_value(desk, exact)
        if step.silent:
            self._hold(step, exact, None)
            if fault is None:
                for key in (step.key, *step.more):
                    self.honest.take(key, self.honest.expected(key, task.right), None)
            return
        figures = None
        if odd and self.oddity == "rounded-too-early":
            figures = self.rng.choice((1, 2)) if self.habits.numbers.figures > 3 else 2
            self.remarks.add("rounded-too-early")
        if step.rule == "same" and isinstance(step.formula, type(task.right)) and not fault:
            source = references(step.formula)[0].key
            kept = desk.book[source].written or desk.written(exact, step.key[0])
            written = desk.misstated.get(source, kept)
        else:
            kept = written = desk.written(exact, step.key[0], figures)
        worked = exact
        if fault and fault.edit and not fault.copy:
            written, kept, exact = self._edit(fault.edit, step, written, exact)
        if odd and self.oddity == "unit-missing":
            written = replace(written, shown=written.number)
            if kept.shown[: len(kept.number)] != kept.number:
                raise Unsuitable
            self.remarks.add("unit-missing")
        if figures:
            exact = written.value
        # The working is shown as it was done; an edit strikes only its result.
        task.written, task.exact = written, worked
        if written.value != kept.value or (fault and fault.edit == "unit"):
            # Restated later, it stays as it was written; otherwise it would be put right.
            desk.misstated.update(dict.fromkeys((step.key, *step.more), written))
        if fault:
            self._check(task)
        for key in (step.key, *step.more):
            self.honest.take(key, self.honest.expected(key, task.right), kept)
        self._hold(step, exact, kept)
        if fault and not task.second:
            self.equal = self._equals(task)

    def _hold(self, step: Step, exact: Fraction, written: Written | None) -> None:
        for key in (step.key, *step.more):
            self.desk.book[key] = Held(exact, written)

    def _miscopy(self, task: Task, fault: Fault) -> None:
        desk, key = self.desk, fault.copy
        assert key is not None
        held = desk.book[key]
        old = held.written
        if old is None:
            raise Unsuitable
        if fault.edit == "raw":
            datum = self.circuit.capacitors[elements(key[1])[0]]
            if self.habits.units == "base":
                raise Unsuitable
            operands = [r for r in references(fault.formula or task.right) if r.key[0] == "C"]
            if self.habits.units == "none" and len(operands) < 2:
                raise Unsuitable  # without units, 270 × 40 may as well be right, in nC
            if self.habits.units == "all":
                # The operand stands there rightly with its unit; only the result is wrong, and
                # with one operand nothing tells this from a wrong prefix.
                alone = {"prefix", "power-of-ten"} if len(operands) < 2 else set()
                fault = replace(fault, stage="value", equal=frozenset(alone))
                task.fault = fault
            text = old.shown[: -len(datum.unit)]
            new = Written(Fraction(datum.number) * desk.scale("C"), Fraction(0), text, old.shown)
        else:
            new = self._wrong_copy(key, fault.edit)
        for name, datum in self.circuit.capacitors.items():
            if ("C", Element(name)) != key and datum.value == new.value and key[0] == "C":
                raise Unsuitable
        desk.copies["copied"] = new
        # A datum misread may stay misread; a result is stated again as it stands further up.
        given = key[0] == "C" and isinstance(key[1], Element)
        if fault.edit != "raw" and given and self.rng.random() < 0.6:
            desk.book[key] = Held(new.value, new)

    def _wrong_copy(self, key: Key, edit: str) -> Written:
        old = self.desk.book[key].written
        if old is None:
            raise Unsuitable
        new = (edits.swap if edit == "swap" else edits.digit)(old, self.rng)
        if new is None or new.value == old.value:
            raise Unsuitable
        if edit == "digit" and edits.same_digits(new.number, old.number):
            raise Unsuitable
        return new

    def _edit(
        self, edit: str, step: Step, right: Written, exact: Fraction
    ) -> tuple[Written, Written, Fraction]:
        """What is written, what the student goes on with, and its exact value."""
        desk, rng, symbol = self.desk, self.rng, step.key[0]
        new: Written | None
        if edit == "not inverted":
            exact = desk.scale("C") ** 2 / exact
            new = desk.written(exact, "C")
            return new, new, exact
        if edit in ("arithmetic", "any"):
            exact = (edits.miscalculated if edit == "arithmetic" else edits.anything)(exact, rng)
            new = desk.written(exact, symbol)
            if edits.same_digits(new.number, right.number):
                raise Unsuitable
            return new, new, exact
        if edit == "swap":
            new = edits.swap(right, rng)
        elif edit == "point":
            new = edits.point(right, rng)
        elif edit == "power":
            new = edits.power(right, symbol, desk, rng)
        elif edit == "prefix":
            new = edits.prefix(right, symbol, rng)
        else:
            new = edits.unit(right, symbol, desk, rng)
        if new is None:
            raise Unsuitable
        if edit in ("prefix", "power", "unit"):
            new = replace(new, forced=True)
        if edit in ("prefix", "power") and desk.habits.units == "all":
            coherent = new.value / desk.scale(symbol)
            if coherent < Fraction(1, 10**5) or coherent > 10**7 or new.value == right.value:
                raise Unsuitable
            text = numbers.localised(numbers.plain_decimal(coherent), desk.habits.numbers)
            new = replace(new, number=text)
        elif new.number == right.number:  # only the unit slips; the number is carried on right
            return new, right, exact
        return new, new, new.value

    # Checks of the truth

    def _check(self, task: Task) -> None:
        """A slip must be out of reach of honest rounding and not look like another quantity."""
        assert task.fault is not None and task.written is not None
        if task.fault.kind in ("unit-kind", "wrong-elements"):
            return
        step, written = task.step, task.written
        for key in (step.key, *step.more):
            expected = self.honest.expected(key, task.right)
            if expected is None:
                raise Unsuitable
            # Unseen intermediate results may have been rounded to as many figures as the result.
            direct = (
                task.right is not None
                and len(references(task.right)) <= 2
                and not (step.key[0] == "C" and step.rule == "series")
            )
            hidden = (
                0.0
                if direct and task.show and task.show.numbers
                else 10.0 ** (1 - self.habits.numbers.figures)
            )
            if explains(expected, written, hidden):
                raise Unsuitable
        if task.fault.kind == "label-swapped":
            return
        for key, (low, high) in self.honest.known.items():
            if key[0] != step.key[0] or key in (step.key, *step.more) or task.fault.form == "same":
                continue
            if low * 0.99 < float(written.value) < high * 1.01:
                raise Unsuitable

    def _equals(self, task: Task) -> frozenset[str]:
        """All kinds that would have put the same marks on paper at this step."""
        fault = task.fault
        assert fault is not None and task.written is not None and task.show is not None
        found = {fault.kind, *fault.equal}
        if fault.copy or fault.stage == "middle":
            return frozenset(found)
        if fault.edit in ("point", "power") and "10^" in task.written.shown:
            # 3.7×10⁻⁴ for 3.7×10⁻⁵: the point or the exponent, nobody can tell.
            ratio = abs(float(task.written.value / task.exact)) if task.exact else 1.0
            if not 500 < ratio < 2000 and not 0.0005 < ratio < 0.002:
                found |= {"decimal-point", "power-of-ten"}
        if not task.show.symbols and not task.show.numbers and self._is_a_siblings(task):
            found.add("label-swapped")
            group = task.step.group
            if not isinstance(group, Element) and len(group.members) == 2:
                symbol = task.step.key[0]
                if symbol == "V" and isinstance(group, Series):
                    found.add("voltage-divided-the-wrong-way")
                elif symbol == "Q" and isinstance(group, Parallel):
                    found.add("charge-divided-the-wrong-way")
        steps = [
            replace(t.step, formula=t.right) if t is task or t.belief else t.step
            for t in self.tasks
        ]
        index = self.tasks.index(task)
        for name, make in MAKERS.items():
            if name in found:
                continue
            try:
                offers = make(steps, index, self.circuit)
            except (AssertionError, ValueError, IndexError, KeyError):
                continue
            for other in offers:
                if other.formula is None or other.copy or other.edit or other.index != index:
                    continue
                if self._same_marks(task, other):
                    found.add(name)
        return frozenset(found)

    def _is_a_siblings(self, task: Task) -> bool:
        """Whether the bare value is the right one of another member of the same group."""
        assert task.written is not None
        (symbol, node), group = task.step.key, task.step.group
        if isinstance(group, Element) or node == group:
            return False
        values = {n: d.value for n, d in self.circuit.capacitors.items()}
        right = states(self.circuit.network, values, self.circuit.supply.value)
        others = [right.get((symbol, m)) for m in group.members if m != node]
        return any(
            o is not None and abs(o - task.written.value) <= max(task.written.step, o / 100)
            for o in others
        )

    def _same_marks(self, task: Task, other: Fault) -> bool:
        assert other.formula is not None and task.show is not None and task.written is not None
        if any(r.key not in self.desk.book for r in references(other.formula)):
            return False
        desk = self.desk
        value = desk.scale(task.step.key[0]) * evaluate(
            other.formula, lambda r: desk.book[r.key].exact / desk.scale(r.key[0])
        )
        if abs(value - task.written.value) > task.written.step:
            return False
        if (other.form or "").startswith("added") and (task.show.symbols or task.show.numbers):
            return False  # its working is written otherwise
        mine = [p.text for p in self.desk._forms(task.step.formula, task.show)]
        return mine == [p.text for p in self.desk._forms(other.formula, task.show)]

    # Lines

    def _put(self, task: Task) -> None:
        assert task.written is not None and task.show is not None
        statements = self._statements(task, task.step.formula, task.written, task.exact)
        wrong = 0
        if task.fault:
            wrong = 2 if task.second else 1
            statements = [self._marked(s, task.fault.stage) for s in statements]
        elif task.belief:
            # Wrong in itself, so should it stand first on the page it is the first slip.
            wrong = 1
            statements = [self._marked(s, "symbols") for s in statements]
        self.sheet.add(task.step, statements, wrong)

    def _statements(
        self, task: Task, formula: Expr, written: Written, exact: Fraction
    ) -> list[Statement]:
        step, fault = task.step, task.fault
        assert task.show is not None
        show = task.show
        if fault and fault.form and fault.form.startswith("added"):
            return self.desk.added_wrongly(step, task.right, written, show, int(fault.form[6:]))
        statements = self.desk.statements(step, formula, step.form, written, exact, show)
        if fault and fault.edit == "not inverted":
            statements = self.desk.not_inverted(step, task.right, written, show)
        return statements

    def _marked(self, statement: Statement, stage: str) -> Statement:
        least = STAGES.index("name" if stage == "symbols" else stage)
        pieces = tuple(replace(p, wrong=STAGES.index(p.stage) >= least) for p in statement.pieces)
        return replace(statement, pieces=pieces)

    def _correct(self, task: Task) -> None:
        """A wrong version first, crossed out or restated right afterwards."""
        assert task.written is not None
        wrong, _, _ = self._edit("arithmetic", task.step, task.written, task.exact)
        statements = self._statements(task, task.step.formula, wrong, task.exact)
        self.sheet.add(task.step, statements, 0, struck=self.correction == "struck")
        self.remarks.add(self.correction or "")

    def finish(self, seed: int, kind: str | None) -> StudentPage:
        """The page with its truth."""
        self._check_table()
        lines = self.sheet.lines
        first = [i for i, line in enumerate(lines) if line.wrong == 1]
        second = [i for i, line in enumerate(lines) if line.wrong == 2]
        if kind and not first:
            raise Unsuitable
        if len(lines) < 2 or len(lines) > 40:
            raise Unsuitable
        if self.habits.numbers.truncates:
            self.remarks.add("truncated")
        texts = self.sheet.typed()
        return StudentPage(
            seed=seed,
            problem=self._problem(),
            circuit=self.circuit,
            lines=tuple(
                StudentLine(line.markup, t, line.struck, tuple(spoken(k) for k in line.about))
                for line, t in zip(lines, texts, strict=True)
            ),
            first_slip=first[0] if first else None,
            kind=kind,
            kinds_equal=self.equal if kind else frozenset(),
            second_slip=second[0] if second else None,
            second_kind=next((t.fault.kind for t in self.tasks if t.second and t.fault), None),
            remarks=frozenset(self.remarks),
            repeated=any(t.belief for t in self.tasks) or self.worked is not self.circuit,
        )

    def _check_table(self) -> None:
        """A wrong result must not show first as an operand and only later in the table."""
        tainted: set[Key] = set()
        for task in self.tasks:
            keys = (task.step.key, *task.step.more)
            tabled = self.sheet.in_table.get(task.step.key, False)
            if (task.fault or task.belief) and tabled:
                tainted.update(keys)
            elif tainted & {r.key for r in references(task.step.formula)}:
                tainted.update(keys)
                if not tabled and not task.step.silent:
                    raise Unsuitable
        # Nor must a consequence stand above it in the table: which came first nobody could tell.
        for line in self.sheet.lines:
            if line.wrong:
                return
            if tainted & set(line.about) and not line.struck:
                raise Unsuitable

    def _problem(self) -> Problem:
        count = len(self.circuit.capacitors)
        return make_problem(
            title=f"{count} capacitors on {self.circuit.supply.text}",
            supply=Quantity(self.circuit.supply.value, "voltage"),
            connection=self.circuit.network,
            capacitors={
                n: Quantity(d.value, "capacitance") for n, d in self.circuit.capacitors.items()
            },
            find=self.circuit.find,
            significant_figures=self.circuit.significant_figures,
        )


def spoken(key: Key) -> str:
    """A quantity by name: "Q of C2, C3"."""
    return f"{key[0]} of {', '.join(elements(key[1]))}"


def legitimate(node: Node, network: Node) -> bool:
    """Whether ``node`` is a group of the network, or some members of one, rightly combined."""
    if isinstance(node, Element) or node == network:
        return True
    groups = [g for g in (network, *parents(network)) if not isinstance(g, Element)]
    return any(type(g) is type(node) and set(node.members) <= set(g.members) for g in groups)


def pages(seeds: Sequence[int], slip: str | None) -> list[StudentPage]:
    """Several pages."""
    return [page(seed, slip) for seed in seeds]


__all__ = ["KINDS", "REMARKS", "PageLine", "StudentLine", "StudentPage", "markup", "page", "pages"]
