"""The student who plans, slips and writes a page."""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace

from checker.exact import Fraction, rational
from checker.problem.given import Problem, make_problem
from checker.problem.network import Element, Node, elements
from checker.quantity import Quantity
from checker.training.students import edits, truth
from checker.training.students.bounds import Honest
from checker.training.students.circuits import Circuit
from checker.training.students.habits import Habits
from checker.training.students.layout import Sheet
from checker.training.students.numbers import Written
from checker.training.students.plan import Planner, Step
from checker.training.students.record import StudentLine, StudentPage, Unsuitable, spoken
from checker.training.students.slips import MAKERS, Fault
from checker.training.students.task import Task, place
from checker.training.students.working import Expr, Key, Over, Ref, evaluate, references
from checker.training.students.writing import Desk, Held, Show, Statement, reciprocal_value

STAGES = ("bar", "name", "symbols", "numbers", "middle", "value")
LONGEST_PAGE = 40  # lines


@dataclass
class Author:
    """Plans, slips, writes.

    ``oddity``: a remark kind to be worked in; ``correction``: "struck" or "restated".
    """

    circuit: Circuit
    worked: Circuit  # as the student sees it
    habits: Habits
    rng: random.Random
    oddity: str | None = None
    correction: str | None = None
    equal: frozenset[str] = frozenset()
    answer_wrongly: bool = False
    remarks: set[str] = field(default_factory=set)
    introduced: set[Node] = field(default_factory=set)  # groups whose capacitance is on the page

    def __post_init__(self) -> None:
        self.plan = Planner(self.worked, self.habits, self.rng).plan()
        self.tasks = [Task(step, step) for step in self.plan]
        self.desk = Desk.ready(self.worked, self.habits, self.rng)
        self.sheet = Sheet(self.desk)

    # Slips

    def misstep(self, kind: str) -> None:
        """Put the first slip into the plan."""
        if kind == "wrong-elements":
            self._combine_wrongly()
        elif kind in ("given-miscopied", "digits-swapped") and self.rng.random() < 0.2:
            self._list_wrongly(kind)
        elif kind == "answer-unsupported" and self.rng.random() < 0.4:
            self.answer_wrongly = True
        else:
            # A step that is not on paper, or only inside another one, shows no slip of its own.
            shown = [i for i, step in enumerate(self.plan) if not step.silent]
            offers = [f for i in shown for f in MAKERS[kind](self.plan, i, self.circuit)]
            if not offers:
                raise Unsuitable
            # The step first, then a variant: many variants do not make a step more likely.
            index = self.rng.choice(sorted({f.index for f in offers}))
            fault = self.rng.choice([f for f in offers if f.index == index])
            self.tasks = place(self.tasks, fault)

    def _combine_wrongly(self) -> None:
        """The first wrong group of a misread circuit."""
        for index, step in enumerate(self.plan):
            symbol, node = step.key
            if symbol == "C" and not truth.legitimate(node, self.circuit.network):
                truth.check_group(node, self.circuit)
                needs = ("symbols or numbers",)
                fault = Fault("wrong-elements", index, stage="bar", needs=needs)
                self.tasks = place(self.tasks, fault)
                return
        raise Unsuitable

    def _list_wrongly(self, kind: str) -> None:
        """A datum copied wrongly into the list on top, and used so ever after."""
        keys: list[Key] = [("C", Element(name)) for name in self.circuit.capacitors]
        keys.append(("V", self.circuit.network))
        key = self.rng.choice(keys)
        new = edits.miscopied(
            self.desk.book[key].written, "swap" if kind == "digits-swapped" else "digit", self.rng
        )
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
        if edits.one_digit_apart(a, b) or edits.same_digits(a, b):
            raise Unsuitable
        truth.check_apart(key[0], float(new.value), self.honest, ())
        self.sheet.wrong_answer = key, new
        self.equal = frozenset({"answer-unsupported", "unexplained"})

    def misstep_again(self) -> None:
        """A second slip of the pen at a later step, where there is one."""
        if self.answer_wrongly:
            return
        first = next((i for i, t in enumerate(self.tasks) if t.fault), -1)
        later = [t for t in self.tasks[first + 1 :] if t.open and not t.belief]
        if not later:
            return
        task = self.rng.choice(later)
        make = MAKERS[self.rng.choice(("arithmetic", "decimal-point", "unit-kind"))]
        task.fault = make(self.plan, self.plan.index(task.planned), self.circuit)[0]
        task.second = True

    # Writing

    def write(self) -> None:
        """Work through the tasks, putting lines on the sheet."""
        known = {key: (float(h.exact), float(h.exact)) for key, h in self.desk.book.items()}
        self.honest = Honest(self.circuit.network, known)
        self.sheet.begin()
        correct_at, odd_at = self._correction_place(), self._oddity_place()
        for index, task in enumerate(self.tasks):
            operands = references(task.step.formula)
            if any(r.key not in self.desk.book and not r.note for r in operands):
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

    def _correction_place(self) -> int:
        places = [i for i, t in enumerate(self.tasks) if t.open and not self.sheet.tabled(t.step)]
        return self.rng.choice(places) if self.correction and places else -1

    def _oddity_place(self) -> int:
        if self.oddity is None:
            return -1
        places = [i for i, t in enumerate(self.tasks) if t.open]
        if self.oddity == "rounded-too-early":
            places = places[:-1]  # something must come after it
        if not places:
            raise Unsuitable
        return self.rng.choice(places)

    def _work(self, task: Task, odd: bool) -> None:
        """Work out a task: its exact value, what is written, what is carried on."""
        step, fault, desk = task.step, task.fault, self.desk
        task.show = show = self._shown(task)
        if fault and fault.copy:
            self._miscopy(task, fault)
            fault = task.fault
        exact = self._result(step, show)
        keys = (step.key, *step.more)
        if step.silent:
            for key in keys:
                desk.book[key] = Held(exact, None)
                if fault is None:
                    self.honest.take(key, self.honest.expected(key, task.right), None)
            return
        figures = None
        if odd and self.oddity == "rounded-too-early":
            figures = self.rng.choice((1, 2)) if self.habits.numbers.figures > 3 else 2
            self.remarks.add("rounded-too-early")
        if step.rule == "same" and not fault:
            source = references(step.formula)[0].key
            kept = desk.book[source].written or desk.written(exact, step.key[0])
            written = desk.misstated.get(source, kept)
        else:
            kept = written = desk.written(exact, step.key[0], figures)
        # The working is shown as it was done; an edit strikes only its result.
        task.exact = exact
        if figures:
            exact = written.value
        if fault and fault.edit and not fault.copy:
            written, kept, exact = edits.edited(fault.edit, step.key[0], written, exact, desk)
        if odd and self.oddity == "unit-missing":
            if not written.shown.startswith(written.number):
                raise Unsuitable
            written = replace(written, shown=written.number)
            self.remarks.add("unit-missing")
        task.written = written
        if written.value != kept.value or (fault and fault.edit == "unit"):
            # Restated later, it stays as it was written; otherwise it would be put right.
            desk.misstated.update(dict.fromkeys(keys, written))
        if fault:
            truth.check_labels(task, desk.labels.opaque, self.introduced)
            truth.check_slip(task, self.honest, self.habits.numbers.figures)
        for key in keys:
            self.honest.take(key, self.honest.expected(key, task.right), kept)
            desk.book[key] = Held(exact, kept)
        if fault and not task.second:
            self.equal = truth.kinds_equal(task, self.plan, self.circuit, desk)

    def _shown(self, task: Task) -> Show:
        """What parts of a task are put on paper, and whether its result goes into the table."""
        fault = task.fault
        show = task.show or self.desk.choose()
        show.converts &= fault is None
        tabled = self.sheet.tabled(task.step)
        if fault:
            if fault.edit in ("prefix", "power", "unit"):
                tabled = False  # a unit in the head of a table would hide it
            both = "symbols or numbers" in fault.needs and not show.symbols
            if "numbers" in fault.needs or both:
                tabled, show.numbers = False, True
        self.sheet.in_table[task.step.key] = tabled
        return Show(False, False, False) if tabled or (fault and fault.hides) else show

    def _result(self, step: Step, show: Show) -> Fraction:
        """What the student works out, in SI."""
        desk = self.desk
        # In the page's own numbers, as people calculate: a wrong formula keeps no dimensions.
        # A quantity is taken rounded or exact, but the same wherever it stands in one step.
        taken: dict[Ref, Fraction] = {}

        def value(ref: Ref) -> Fraction:
            if ref not in taken:
                taken[ref] = desk.value_of(ref) / desk.scale(ref.key[0])
            return taken[ref]

        exact = evaluate(step.formula, value)
        if exact <= 0:
            raise Unsuitable
        exact *= desk.scale(step.key[0])
        # 1/C written down rounded, and C worked out from that.
        written_down = step.form == "reciprocal" and isinstance(step.formula, Over)
        on_paper = not step.silent and (show.numbers or show.symbols)
        decimal = self.habits.reciprocal_sum == "decimal" and self.habits.units != "base"
        if written_down and on_paper and decimal and self.habits.carries == "rounded":
            return reciprocal_value(desk, exact)
        return exact

    def _miscopy(self, task: Task, fault: Fault) -> None:
        """Copy an operand wrongly, or take a datum's number without regard to its prefix."""
        desk, key = self.desk, fault.copy
        assert key is not None
        old = desk.book[key].written
        if fault.edit == "raw":
            new = self._regardless_of_prefix(task, fault, old)
        else:
            new = edits.miscopied(old, fault.edit, self.rng)
        for name, datum in self.circuit.capacitors.items():
            if ("C", Element(name)) != key and datum.value == new.value and key[0] == "C":
                raise Unsuitable
        desk.copies["copied"] = new
        # A datum misread may stay misread; a result is stated again as it stands further up.
        given = key[0] == "C" and isinstance(key[1], Element)
        if fault.edit != "raw" and given and self.rng.random() < 0.6:
            desk.book[key] = Held(new.value, new)

    def _regardless_of_prefix(self, task: Task, fault: Fault, old: Written | None) -> Written:
        assert fault.copy is not None
        units = self.habits.units
        operands = [r for r in references(task.step.formula) if r.key[0] == "C"]
        # A single 270 × 40 may as well be right, in nC; whether it is then the number or the unit
        # of the result that is wrong would be open.
        single = len(operands) < 2
        if old is None or units == "base" or (single and units != "all"):
            raise Unsuitable
        if units == "all":
            # The operands stand there rightly, each in its unit; only what comes of them is
            # wrong, and with a single one nothing tells this from a wrong prefix.
            alone = {"prefix", "power-of-ten"} if single else ()
            task.fault = replace(fault, stage="middle", equal=frozenset(alone))
        datum = self.circuit.capacitors[elements(fault.copy[1])[0]]
        text = old.shown[: -len(datum.unit)]
        value = rational(datum.number) * self.desk.scale("C")
        return Written(value, Fraction(0), text, old.shown)

    # Lines

    def _put(self, task: Task) -> None:
        assert task.written is not None and task.show is not None
        statements = self._statements(task, task.step.formula, task.written, task.exact)
        wrong = 0
        if task.fault:
            wrong = 2 if task.second else 1
            statements = [_marked(s, task.fault.stage) for s in statements]
        elif task.belief:
            # Wrong in itself, so should it stand first on the page it is the first slip.
            wrong = 1
            statements = [_marked(s, "symbols") for s in statements]
        self.sheet.add(task.step, statements, wrong)
        if task.step.key[0] == "C":
            self.introduced.add(task.step.key[1])

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

    def _correct(self, task: Task) -> None:
        """A wrong version first, crossed out or restated right afterwards."""
        assert task.written is not None
        wrong, _, _ = edits.edited(
            "arithmetic", task.step.key[0], task.written, task.exact, self.desk
        )
        statements = self._statements(task, task.step.formula, wrong, task.exact)
        self.sheet.add(task.step, statements, 0, struck=self.correction == "struck")
        self.remarks.add(self.correction or "")

    def finish(self, seed: int, kind: str | None) -> StudentPage:
        """The page with its truth."""
        truth.check_table(self.tasks, self.sheet)
        lines = self.sheet.lines
        first = [i for i, line in enumerate(lines) if line.wrong == 1]
        second = [i for i, line in enumerate(lines) if line.wrong == 2]
        if kind and not first:
            raise Unsuitable
        if self.worked is not self.circuit:
            truth.check_before(lines, first[0], self.circuit, lambda k: self.desk.book[k].exact)
        if len(lines) < 2 or len(lines) > LONGEST_PAGE:
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


def _marked(statement: Statement, stage: str) -> Statement:
    """The statement with its sides marked wrong from a stage on."""
    least = STAGES.index("name" if stage == "symbols" else stage)
    pieces = tuple(replace(p, wrong=STAGES.index(p.stage) >= least) for p in statement.pieces)
    return replace(statement, pieces=pieces)
