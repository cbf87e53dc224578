"""Whether a page bears the truth that is claimed for it."""

from __future__ import annotations

from collections.abc import Callable, Sequence, Set

from checker.exact import Fraction
from checker.problem.network import Element, Node, Parallel, Series
from checker.training.students.bounds import Honest, explains, parents
from checker.training.students.circuits import Circuit, capacitance, states
from checker.training.students.fault import MAKERS, Fault
from checker.training.students.layout import PageLine, Sheet
from checker.training.students.plan import Step
from checker.training.students.record import Unsuitable
from checker.training.students.task import Task
from checker.training.students.working import Key, evaluate, references
from checker.training.students.writing import Desk


def check_slip(task: Task, honest: Honest, figures: int) -> None:
    """A slip must be out of reach of honest rounding and not look like another quantity.

    Raises Unsuitable otherwise.
    """
    assert task.fault is not None and task.written is not None and task.show is not None
    if task.fault.kind in ("unit-kind", "wrong-elements"):
        return
    step, written = task.step, task.written
    keys = (step.key, *step.more)
    # Unseen intermediate results may have been rounded to as many figures as the result.
    direct = len(references(task.right)) <= 2 and step.rule != "series" and task.show.numbers
    hidden = 0.0 if direct else 10.0 ** (1 - figures)
    for key in keys:
        expected = honest.expected(key, task.right)
        if expected is None or explains(expected, written, hidden):
            raise Unsuitable
        # Without a unit, 0.00115 for 1.15 mC is right in coulombs, by whatever rule it was got.
        bare = written.shown == written.number and not task.fault.edit
        if bare and any(
            explains((expected[0] * scale, expected[1] * scale), written, hidden)
            for scale in (1e-9, 1e-6, 1e-3, 1e3, 1e6, 1e9)
        ):
            raise Unsuitable
    if task.fault.kind == "label-swapped" or task.fault.form == "same":
        return
    check_apart(step.key[0], float(written.value), honest, keys)


def check_labels(task: Task, opaque: Callable[[Node], bool], introduced: Set[Node]) -> None:
    """A slip must not stand under a label such as C_A whose group nobody can know yet.

    Raises Unsuitable.
    """
    assert task.show is not None
    symbol, node = task.step.key
    nodes = {node}
    if task.show.symbols:
        nodes |= {ref.key[1] for ref in references(task.step.formula)}
    left_out = task.fault is not None and task.fault.kind == "element-left-out"
    if symbol == "C" and (task.show.symbols or task.show.numbers) and not left_out:
        nodes.discard(node)  # its operands say what it is; fewer of them may be a smaller group
    if any(opaque(n) and n not in introduced for n in nodes):
        raise Unsuitable


def check_apart(symbol: str, value: float, honest: Honest, keys: Sequence[Key]) -> None:
    """A wrong value must not be that of another quantity of its kind.  Raises Unsuitable."""
    for key, (low, high) in honest.known.items():
        if key[0] == symbol and key not in keys and low * 0.99 < value < high * 1.01:
            raise Unsuitable


def check_group(node: Node, circuit: Circuit) -> None:
    """A wrong group must not have the capacitance of a right one.  Raises Unsuitable."""
    values = {n: d.value for n, d in circuit.capacitors.items()}
    wrong = capacitance(node, values)
    for key, value in states(circuit.network, values, circuit.supply.value).items():
        if key[0] == "C" and abs(value - wrong) < wrong / 50:
            raise Unsuitable


def check_before(
    lines: Sequence[PageLine], first: int, circuit: Circuit, value: Callable[[Key], Fraction]
) -> None:
    """A misread circuit must not show before the group that is combined wrongly.

    A charge that only it would give is wrong where it stands, whatever is combined later on.
    Raises Unsuitable.
    """
    given = {n: d.value for n, d in circuit.capacitors.items()}
    right = states(circuit.network, given, circuit.supply.value)
    for key in (key for line in lines[:first] for key in line.about):
        if key[0] == "C" and key not in right:
            continue
        if key not in right or abs(value(key) - right[key]) > right[key] / 100:
            raise Unsuitable


def check_table(tasks: Sequence[Task], sheet: Sheet) -> None:
    """A wrong result in the table must be seen there before any consequence of it.

    Neither as an operand on a line above nor through another cell above: which came first nobody
    could tell.  Raises Unsuitable.
    """
    tainted: set[Key] = set()
    for task in tasks:
        keys = (task.step.key, *task.step.more)
        tabled = sheet.in_table.get(task.step.key, False)
        if (task.fault or task.belief) and tabled:
            tainted.update(keys)
        elif tainted & {r.key for r in references(task.step.formula)}:
            tainted.update(keys)
            if not tabled and not task.step.silent:
                raise Unsuitable
    for line in sheet.lines:
        if line.wrong:
            return
        if tainted & set(line.about) and not line.struck:
            raise Unsuitable


def legitimate(node: Node, network: Node) -> bool:
    """Whether ``node`` is a group of the network, or some members of one, rightly combined."""
    if isinstance(node, Element) or node == network:
        return True
    groups = [g for g in (network, *parents(network)) if not isinstance(g, Element)]
    return any(type(g) is type(node) and set(node.members) <= set(g.members) for g in groups)


def kinds_equal(task: Task, plan: Sequence[Step], circuit: Circuit, desk: Desk) -> frozenset[str]:
    """All kinds that would have put the same marks on paper at this step."""
    fault = task.fault
    assert fault is not None and task.written is not None and task.show is not None
    found = {fault.kind, *fault.equal}
    if fault.copy or fault.stage == "middle":
        return frozenset(found)
    if fault.edit in ("point", "power") and "10^" in task.written.shown:
        # 3.7×10⁻⁴ for 3.7×10⁻⁵: the point or the exponent, nobody can tell.
        ratio = float(task.written.value / task.exact)
        if not 500 < ratio < 2000 and not 0.0005 < ratio < 0.002:
            found |= {"decimal-point", "power-of-ten"}
    if not task.show.symbols and not task.show.numbers:
        found |= _as_swapped(task, circuit)
        if fault.kind == "unexplained":  # without its working it is an answer without support
            found.add("answer-unsupported")
    index = plan.index(task.planned)
    for name, make in MAKERS.items():
        offers = [f for f in make(plan, index, circuit) if f.index == index]
        if any(_same_marks(task, other, desk) for other in offers):
            found.add(name)
    return frozenset(found)


def _as_swapped(task: Task, circuit: Circuit) -> set[str]:
    """What else a bare value may be that is right for another member of the group."""
    assert task.written is not None
    (symbol, node), group = task.step.key, task.step.group
    if isinstance(group, Element) or node == group:
        return set()
    values = {n: d.value for n, d in circuit.capacitors.items()}
    right = states(circuit.network, values, circuit.supply.value)
    others = [right[symbol, m] for m in group.members if m != node and (symbol, m) in right]
    written = task.written
    if not any(abs(o - written.value) <= max(written.step, o / 100) for o in others):
        return set()
    found = {"label-swapped"}
    if len(group.members) == 2:
        if symbol == "V" and isinstance(group, Series):
            found.add("voltage-divided-the-wrong-way")
        elif symbol == "Q" and isinstance(group, Parallel):
            found.add("charge-divided-the-wrong-way")
    return found


def _same_marks(task: Task, other: Fault, desk: Desk) -> bool:
    """Whether another fault would have been written just like this one."""
    assert task.show is not None and task.written is not None
    formula, show = other.formula, task.show
    if formula is None or other.copy or other.edit:
        return False
    if any(r.key not in desk.book for r in references(formula)):
        return False
    if (other.form or "").startswith("added") and (show.symbols or show.numbers):
        return False  # its working is written otherwise
    try:
        value = evaluate(formula, lambda r: desk.book[r.key].exact / desk.scale(r.key[0]))
    except ZeroDivisionError:
        return False
    if abs(Fraction(value) * desk.scale(task.step.key[0]) - task.written.value) > task.written.step:
        return False
    return desk.forms(task.step.formula, show) == desk.forms(formula, show)
