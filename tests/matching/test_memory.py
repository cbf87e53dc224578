"""What is judged once.  No published source: properties of the memory itself."""

from checker.matching.circuit import Circuit
from checker.matching.habit import habit_of
from checker.matching.labels import PLAIN_USAGE
from checker.matching.memory import Memory
from checker.problem.reduction import solve
from checker.training.students import page


def test_states_of_one_content_are_one_state() -> None:
    circuit = Circuit(solve(page(1, None).problem))
    memory = Memory(circuit, habit_of(circuit, (), comma=False), PLAIN_USAGE)
    start = memory.start()
    text = "C1 = C1"
    one = memory.read(text, start, explain=False)[1]
    other = memory.read(text + " ", start, explain=False)[1]
    assert one == other
    assert one is other


def test_every_explanation_is_asked_of_the_line_once() -> None:
    circuit = Circuit(solve(page(2, None).problem))
    memory = Memory(circuit, habit_of(circuit, (), comma=False), PLAIN_USAGE)
    first = memory.read("C1 + C2 = 1", memory.start(), explain=True)
    assert memory.read("C1 + C2 = 1", memory.start(), explain=True) is first
