"""The terminal report."""

from dataclasses import replace

from checker.report.as_text import WIDTH, as_text
from tests.report import made


def test_every_step_stands_once_in_order_with_its_verdict() -> None:
    lines = as_text(made.typed()).splitlines()
    steps = [line for line in lines if line[:4].strip().isdecimal()]
    assert [line.split()[0] for line in steps] == ["1", "2"]
    assert "follows" in steps[0] and steps[0].endswith("1/C12 = 1/4 + 1/12")
    assert "first slip" in steps[1] and steps[1].endswith("C12 = 16 µF")


def test_the_first_slip_says_quantity_written_expected_and_why() -> None:
    text = as_text(made.typed())
    after = text[text.index("First slip: step 2") :]
    for part in ("equivalent capacitance of C1, C2", "16 µF", "3 µF", made.SLIP.hint):
        assert part in after
    assert made.SLIP.explanation in after


def test_a_slip_about_no_known_quantity_leaves_out_what_is_not_known() -> None:
    checked = made.typed()
    slip = replace(made.SLIP, quantity=None, expected=None)
    text = as_text(replace(checked, judgement=replace(checked.judgement, first_slip=slip)))
    assert "First slip: step 2 (" in text
    assert "expected" not in text and "None" not in text


def test_a_question_stands_below_its_step() -> None:
    question = "Is the value on this line 1.96 µF or 196 µF?"
    unsure = made.judgement(
        [made.statement(0, "unsure", line=0, question=question)], outcome="needs a look"
    )
    lines = as_text(replace(made.typed(), judgement=unsure)).splitlines()
    below = next(i for i, line in enumerate(lines) if "? unsure" in line) + 1
    assert lines[below].strip() == question


def test_long_notes_are_wrapped() -> None:
    slip = replace(made.SLIP, explanation="word " * 80)
    checked = made.typed()
    long = replace(checked, judgement=replace(checked.judgement, first_slip=slip))
    assert max(map(len, as_text(long).splitlines())) <= WIDTH


def test_caution_is_shown_above_the_published_voltage_limit() -> None:
    # 50 V: OSHA, 29 CFR 1910.303(g)(2)(i), guarding of live parts.
    problem = made.make_problem("High", "400 V", "series(C1, C2)", {"C1": "4 µF", "C2": "4 µF"})
    assert "Caution" not in as_text(made.typed())
    assert "Caution" in as_text(replace(made.typed(), reference=made.solve(problem)))


def test_a_question_about_a_whole_line_is_asked_once() -> None:
    question = "Is this 9/33?"
    unsure = made.judgement(
        [made.statement(i, "unsure", line=0, question=question) for i in range(3)],
        outcome="needs a look",
    )
    assert as_text(replace(made.typed(), judgement=unsure)).count(question) == 1
