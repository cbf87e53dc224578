"""From statements to lines: chains, one step a line, several a line, tables, answers."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from checker import markup
from checker.exact import Fraction
from checker.problem.network import Element, Parallel, Series
from checker.training.students.numbers import BASE_UNIT, Written
from checker.training.students.plan import Step
from checker.training.students.working import Key
from checker.training.students.writing import Desk, Piece, Statement

CONNECTIVES = {"so": "so ", "since": "so ", "∴": "∴", "→": "→", "⇒": "⇒"}
LONGEST = 66  # characters of a line on paper, an assumption


@dataclass
class PageLine:
    """A line in the making; ``wrong``: 0, 1 first slip, 2 second slip."""

    markup: str
    about: tuple[Key, ...] = ()
    wrong: int = 0
    struck: bool = False
    step: int = -1


@dataclass
class Sheet:
    """The lines of one page."""

    desk: Desk
    lines: list[PageLine] = field(default_factory=list)
    in_table: dict[Key, bool] = field(default_factory=dict)
    cells: dict[Key, tuple[Written, int]] = field(default_factory=dict)
    wrong_given: Key | None = None  # this datum is listed wrongly
    wrong_answer: tuple[Key, Written] | None = None  # restated so
    checked: bool = True  # sums may be checked at the end

    def begin(self) -> None:
        """Givens, where the student lists them."""
        desk = self.desk
        if not desk.habits.lists_givens and not self.wrong_given:
            return
        texts: list[tuple[str, Key]] = []
        for name in desk.circuit.capacitors:
            key: Key = ("C", Element(name))
            texts.append((self._given(key), key))
        supply: Key = ("V", desk.circuit.network)
        texts.append((self._given(supply), supply))
        step = desk.rng.choice((1, 2, 3, 4))
        gap = self._gap()
        for k in range(0, len(texts), step):
            some = texts[k : k + step]
            keys = tuple(key for _, key in some)
            wrong = int(self.wrong_given in keys)
            self.lines.append(PageLine(gap.join(t for t, _ in some), keys, wrong))

    def _given(self, key: Key) -> str:
        written = self.desk.book[key].written
        assert written is not None
        return f"{self.desk.labels.of(key)}={self.desk.stated(written)}"

    def _gap(self) -> str:
        if self.desk.habits.numbers.comma:
            return self.desk.rng.choice(("  ", ";"))
        return self.desk.rng.choice(("  ", ",", ";"))

    def tabled(self, step: Step) -> bool:
        """Whether the result goes into the table at the end."""
        return (
            self.desk.habits.table != "none"
            and isinstance(step.key[1], Element)
            and all(isinstance(k[1], Element) for k in step.more)
            and step.key[0] in "QVU"
        )

    def add(
        self, step: Step, statements: list[Statement], wrong: int, struck: bool = False
    ) -> None:
        """Put the statements of a step on paper."""
        if self.in_table.get(step.key):
            for key in (step.key, *step.more):
                written = self.desk.book[key].written
                assert written is not None
                self.cells[key] = written, wrong
            return
        habits = self.desk.habits
        if not struck and not wrong and step.rule == "same":
            if self._told_in_words(step):
                return
            if self._chained(step):
                return
        lead = self._lead(step) if not struck else ""
        for place, statement in enumerate(statements):
            if place and habits.layout == "chain" and not struck and self._joined(statement, wrong):
                continue
            start = ""
            if place:
                start = {"so": "so ", "since": "so ", "∴": "∴", "→": "→", "⇒": "⇒"}.get(
                    habits.connective, ""
                )
            for text, bad in self._laid(statement, lead if place == 0 else start):
                line = PageLine(text, statement.about, wrong if bad else 0, struck)
                if not self._beside(line, place, statement):
                    self.lines.append(line)

    # Ways of writing

    def _told_in_words(self, step: Step) -> bool:
        if self.desk.habits.same != "word":
            return False
        symbol = self.desk.habits.charge if step.key[0] == "Q" else self.desk.habits.voltage
        how = "series" if isinstance(step.group, Series) else "parallel"
        text = self.desk.rng.choice(
            (
                f"{symbol} same in {how}",
                f"same {symbol} in {how}",
                f"{symbol} same",
                f"{how} so same {symbol}",
                f"{symbol} same since {how}",
            )
        )
        self.lines.append(PageLine(text))
        return True

    def _chained(self, step: Step) -> bool:
        """Q = C V = 48 µC = Q1 = Q2, where the last line ended with that value."""
        if self.desk.habits.same != "chain" or not self.lines:
            return False
        last = self.lines[-1]
        source = (step.key[0], step.group)
        if last.about != (source,) or last.struck or len(last.markup) > LONGEST - 12 or last.wrong:
            return False
        names = "".join(f"={self.desk.labels.of(k)}" for k in (step.key, *step.more))
        last.markup += names
        last.about = (source, step.key, *step.more)
        return True

    def _lead(self, step: Step) -> str:
        habits, rng = self.desk.habits, self.desk.rng
        if rng.random() >= habits.words:
            return ""
        if step.rule in ("series", "parallel"):
            members = step.key[1].members if not isinstance(step.key[1], Element) else ()
            names = [self.desk.labels.of(("C", m)) for m in members]
            style = rng.random()
            if style < 0.35:
                return f"{step.rule}:"
            if style < 0.6:
                return f"in {step.rule}:"
            if all(isinstance(m, Element) for m in members) and style < 0.9:
                joined = f"{', '.join(names[:-1])} and {names[-1]}".replace(", ", ",")
                self.lines.append(PageLine(f"{joined} in {step.rule}"))
            return ""
        return rng.choice(("so ", "then ", "∴", "→", "now ", ""))

    def _joined(self, statement: Statement, wrong: int) -> bool:
        """1/C = 1/4 + 1/12 → C = 3 µF, on one line."""
        rng, last = self.desk.rng, self.lines[-1] if self.lines else None
        text = self._whole(statement)
        if last is None or len(last.markup) + len(text) > LONGEST or rng.random() < 0.5:
            return False
        habits = self.desk.habits
        sign = {"so": " so ", "since": " so ", "∴": "∴", "⇒": "⇒"}.get(habits.connective, "→")
        if sign == " so ":
            sign = rng.choice((" so ", "→"))
        last.markup += sign + text
        last.about = tuple(dict.fromkeys((*last.about, *statement.about)))
        if any(p.wrong for p in statement.pieces) and not last.wrong:
            last.wrong = wrong
        return True

    def _beside(self, line: PageLine, place: int, statement: Statement) -> bool:
        """A short result on the same line as the one before it."""
        if place or line.struck or not self.lines or line.markup.startswith(("=", "≈")):
            return False
        last = self.lines[-1]
        if self.desk.rng.random() >= self.desk.habits.several or last.struck or not last.about:
            return False
        if len(last.markup) + len(line.markup) > 44 or last.markup.startswith(("=", "≈")):
            return False
        if ":" in line.markup or line.markup.startswith(("so ", "then ", "now ")):
            return False
        last.markup += self._gap() + line.markup.lstrip("∴→⇒")
        last.about = tuple(dict.fromkeys((*last.about, *line.about)))
        if not last.wrong:
            last.wrong = line.wrong
        return True

    def _whole(self, statement: Statement) -> str:
        text = statement.lhs
        for k, piece in enumerate(statement.pieces):
            text += (("≈" if piece.approx else "=") if statement.lhs or k else "") + piece.text
        return text

    def _laid(self, statement: Statement, lead: str) -> list[tuple[str, bool]]:
        """The lines of one statement, and which of them hold something wrong."""
        layout, rng = self.desk.habits.layout, self.desk.rng
        whole = lead + self._whole(statement)
        if layout == "chain" and len(markup.plain(whole)) <= LONGEST:
            return [(whole, any(p.wrong for p in statement.pieces))]
        out: list[tuple[str, bool]] = []
        text, bad = lead + statement.lhs, False
        on_line = 0
        for k, piece in enumerate(statement.pieces):
            sign = "≈" if piece.approx else "="
            if k == 0 and not statement.lhs:
                sign = ""
            names = piece.stage == "name" or (k and statement.pieces[k - 1].stage == "name")
            new_line = k > 0 and not names and (rng.random() < 0.7 or len(text) > LONGEST - 20)
            if new_line and on_line:
                out.append((text, bad))
                again = layout == "lines" and statement.lhs != ""
                text, bad, on_line = (statement.lhs if again else ""), False, 0
            text += sign + piece.text
            bad |= piece.wrong
            on_line += 1
        out.append((text, bad))
        return out

    # Tables, answers, checks

    def end(self) -> None:
        """The table, the restated answers, a check of sums."""
        if self.cells:
            self._table()
        if self.desk.habits.answers or self.wrong_answer:
            self._answers()
        if self.checked and self.desk.rng.random() < self.desk.habits.checks:
            self._check()

    def _table(self) -> None:
        desk, habits = self.desk, self.desk.habits
        names = [
            n for n in desk.circuit.capacitors if any((s, Element(n)) in self.cells for s in "QVU")
        ]
        symbols = [s for s in "QVU" if any((s, Element(n)) in self.cells for n in names)]
        held = [desk.book.get((s, Element(n))) for s in symbols for n in names]
        if any(h is None or h.written is None for h in held):
            for key, (written, bad) in self.cells.items():  # too few values for a table
                text = f"{desk.labels.of(key)}={desk.stated(written)}"
                self.lines.append(PageLine(text, (key,), bad))
            return
        letters = {"Q": habits.charge, "V": habits.voltage, "U": habits.energy, "C": "C"}
        in_head = habits.units in ("end", "none") and desk.rng.random() < 0.5
        if any(not self._coherent(s, n) for s in ("C", *symbols) for n in names):
            in_head = False

        def head(symbol: str) -> str:
            return f"{letters[symbol]}({desk.unit(symbol)})" if in_head else letters[symbol]

        def cell(symbol: str, name: str) -> str:
            found = self.cells.get((symbol, Element(name)))
            if found is None:
                written = desk.book[symbol, Element(name)].written
                assert written is not None
                return written.number if in_head else desk.stated(written)
            return found[0].number if in_head else desk.stated(found[0])

        def wrong(keys: list[Key]) -> int:
            marks = [self.cells[k][1] for k in keys if k in self.cells and self.cells[k][1]]
            return min(marks) if marks else 0

        labels = {n: desk.labels.of(("C", Element(n))) for n in names}
        if desk.rng.random() < 0.4:
            symbols = ["C", *symbols]
        if habits.table == "columns":
            self.lines.append(PageLine("  ".join(["", *(head(s) for s in symbols)]).strip()))
            for name in names:
                keys: list[Key] = [(s, Element(name)) for s in symbols]
                text = "  ".join([labels[name], *(cell(s, name) for s in symbols)])
                self.lines.append(PageLine(text, tuple(keys), wrong(keys)))
        else:
            self.lines.append(PageLine("  ".join(labels.values())))
            for symbol in symbols:
                keys = [(symbol, Element(n)) for n in names]
                text = "  ".join([head(symbol), *(cell(symbol, n) for n in names)])
                self.lines.append(PageLine(text, tuple(keys), wrong(keys)))

    def _coherent(self, symbol: str, name: str) -> bool:
        """Whether the number of a result is in the page's coherent unit."""
        key: Key = (symbol, Element(name))
        written = self.cells[key][0] if key in self.cells else self.desk.book[key].written
        return written is not None and written.shown == written.number + self.desk.unit(symbol)

    def _answers(self) -> None:
        desk = self.desk
        keys: list[Key] = [("C", desk.circuit.network)]
        if "charge" in desk.circuit.find:
            keys += [("Q", Element(n)) for n in desk.circuit.capacitors]
        if "voltage" in desk.circuit.find:
            keys += [("V", Element(n)) for n in desk.circuit.capacitors]
        texts = []
        for key in keys:
            held = desk.book.get(key)
            if held and held.written:
                written = desk.misstated.get(key, held.written)
                if self.wrong_answer and self.wrong_answer[0] == key:
                    written = self.wrong_answer[1]
                texts.append((f"{desk.labels.of(key)}={desk.stated(written)}", key))
        word = desk.rng.choice(("", "answer:", "∴", "so "))
        gap = self._gap()
        for k in range(0, len(texts), 3):
            some = texts[k : k + 3]
            lead = word if k == 0 else ""
            about = tuple(key for _, key in some)
            wrong = int(self.wrong_answer is not None and self.wrong_answer[0] in about)
            self.lines.append(PageLine(lead + gap.join(t for t, _ in some), about, wrong))

    def _check(self) -> None:
        """The voltages of a series group, or the charges of a parallel one, added up."""
        desk = self.desk
        for symbol, node in list(desk.book):
            adding = {"V": Series, "Q": Parallel}.get(symbol)
            if adding is None or isinstance(node, Element) or not isinstance(node, adding):
                continue
            parts = [desk.book.get((symbol, m)) for m in node.members]
            written = [h.written for h in parts if h and h.written]
            if len(written) < len(parts):
                continue
            total = desk.written(sum((w.value for w in written), Fraction(0)), symbol)
            if desk.habits.units == "all":
                numbers = "+".join(w.shown for w in written)
            else:
                numbers = "+".join(w.number for w in written)
            names = "+".join(desk.labels.of((symbol, m)) for m in node.members)
            lead = desk.rng.choice(("check:", "check ", ""))
            text = f"{lead}{names}={numbers}={desk.stated(total)}"
            self.lines.append(PageLine(text, ((symbol, node),)))
            return

    def typed(self) -> list[str]:
        """The lines as the student would type them."""
        rng = self.desk.rng
        micro = rng.choice(("µ", "µ", "u"))
        times = rng.choice(("×", "*", "x", "·"))
        close = rng.random() < 0.3
        out = []
        for line in self.lines:
            # In type C_{eq}V would run together as C_eqV.
            apart = re.sub(r"(_\{[A-Za-z]+\d*\}|')(?=[A-Za-z({Δ])(?![ ])", r"\1·", line.markup)
            text = markup.plain(apart).replace("µ", micro)
            text = text.replace("×", times).replace("·", times if times != "x" else "*")
            if close:
                for sign in "=+-*×·":
                    text = text.replace(f" {sign} ", sign)
            out.append(text)
        return out


__all__ = ["BASE_UNIT", "PageLine", "Piece", "Sheet"]
