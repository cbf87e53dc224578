"""What stands for a submission after what a person decided."""

from __future__ import annotations

import pytest

from checker.exact import Fraction
from checker.matching.judgement import Judgement
from checker.problem.problem_file import parse_problem
from checker.problem.reduction import solve
from checker.reading.typed import read_typed
from checker.report.marks import suggested_mark
from checker.stack.rows import Action
from checker.stack.standing import marked, marking, overruling, seen, standing
from checker.submission import judge_pages
from tests.samples import TYPED

SCHEME = """
[marks]
equivalent_capacitance = 2
charge = 1
voltage = 1
method_step = 1
follow_through = false
"""
REFERENCE = solve(parse_problem(TYPED.problem.read_text(encoding="utf-8") + SCHEME))
# 6 µF and 3 µF in series are 2 µF, beside 7 µF 9 µF; on 18 V the charge is 162 µC, of which 36 µC
# are on the two in series (series and parallel rules, University Physics 2, section 8.2, OpenStax).
RIGHT = """1/C12 = 1/6 + 1/3 = 1/2
C12 = 2 µF
C_eq = C12 + C3 = 2 + 7 = 9 µF
Q3 = C3 V = 7 × 18 = 126 µC
Q12 = C12 V = 2 × 18 = 36 µC
V1 = Q12/C1 = 36/6 = 6 V
V2 = Q12/C2 = 36/3 = 12 V
V3 = 18 V
"""
SLIPPED = RIGHT.replace("C12 = 2 µF", "C12 = 0.5 µF").replace("2 + 7 = 9", "0.5 + 7 = 7.5")
SLIPPED = SLIPPED.replace("2 × 18 = 36", "0.5 × 18 = 9").replace("36/6 = 6", "9/6 = 1.5")
SLIPPED = SLIPPED.replace("36/3 = 12", "9/3 = 3")


def judged(text: str) -> Judgement:
    return judge_pages(REFERENCE, (read_typed(text.encode()),))


def log(*entries: tuple[str, dict]) -> list[Action]:
    return [Action(n, 1, kind, payload) for n, (kind, payload) in enumerate(entries)]


def agreed(judgement: Judgement) -> tuple[str, dict]:
    return "agree", {"saw": seen(judgement)}


def confirmed(judgement: Judgement) -> tuple[str, dict]:
    return "mark", marking(judgement, Fraction(5, 2), Fraction(14))


def test_the_pages_are_what_they_are_said_to_be() -> None:
    assert judged(RIGHT).outcome == "all follows"
    slipped = judged(SLIPPED)
    assert slipped.outcome == "slip found"
    assert sum(s.verdict == "carried forward" for s in slipped.statements) > 3


def test_without_a_decision_the_programs_judgement_stands() -> None:
    judgement = judged(SLIPPED)
    found = standing(judgement, ())
    assert (found.judgement, found.person, found.points) == (judgement, None, None)


def test_an_agreement_holds_for_what_was_agreed_to() -> None:
    before, after = judged(SLIPPED), judged(RIGHT)
    assert standing(before, log(agreed(before))).person == "agreed"
    assert standing(after, log(agreed(before))).person is None


def test_a_confirmed_mark_holds_while_nothing_of_the_judgement_changed() -> None:
    judgement = judged(SLIPPED)
    found = standing(judgement, log(confirmed(judgement)))
    assert (found.points, found.of) == (Fraction(5, 2), 14)
    # The same first slip, and another verdict on a line below it.
    changed = judged(SLIPPED.replace("9/3 = 3 V", "9/3 = 4 V"))
    assert seen(changed) == seen(judgement) and marked(changed) != marked(judgement)
    assert standing(changed, log(confirmed(judgement))).points is None


def test_a_mark_of_an_older_store_is_not_confirmed() -> None:
    entry = ("mark", {"points": "3", "of": "14"})
    assert standing(judged(RIGHT), log(entry)).points is None


def test_a_mark_does_not_outlive_an_overruling_and_comes_back_with_its_undoing() -> None:
    judgement = judged(SLIPPED)
    overruled = ("overrule", overruling(judgement, "all follows", None, ""))
    assert standing(judgement, log(confirmed(judgement), overruled)).points is None
    stands = standing(judgement, log(overruled)).judgement
    assert standing(judgement, log(overruled, confirmed(stands))).points == Fraction(5, 2)


def test_the_mark_given_last_is_the_one() -> None:
    judgement = judged(RIGHT)
    later = ("mark", marking(judgement, Fraction(7), Fraction(14)))
    assert standing(judgement, log(confirmed(judgement), later)).points == 7


@pytest.mark.parametrize("text", [SLIPPED, SLIPPED.replace("C12 = 0.5 µF", "C12 = Z 0.5 ( µF")])
def test_overruled_to_all_follows_it_has_the_points_of_a_page_that_all_follows(text: str) -> None:
    judgement = judged(text)
    payload = overruling(judgement, "all follows", None, "meant otherwise")
    found = standing(judgement, log(("overrule", payload)))
    assert (found.person, found.remark) == ("overruled", "meant otherwise")
    assert {s.verdict for s in found.judgement.statements} <= {"follows", "not working"}
    assert not any(s.question for s in found.judgement.statements)
    right = suggested_mark(REFERENCE, judged(RIGHT))
    mark = suggested_mark(REFERENCE, found.judgement)
    assert right is not None and mark is not None
    assert mark.points == right.points > suggested_mark(REFERENCE, judgement).points
    assert mark.to_look_at == right.to_look_at


def test_overruled_to_a_slip_elsewhere_nothing_before_it_is_one() -> None:
    judgement = judged(SLIPPED)
    first = judgement.first_slip.statement
    later = next(s.index for s in judgement.statements if s.index > first + 2)
    payload = overruling(judgement, "slip found", later, "here")
    found = standing(judgement, log(("overrule", payload))).judgement
    assert found.outcome == "slip found"
    assert (found.first_slip.statement, found.first_slip.explanation) == (later, "here")
    assert [s.index for s in found.statements if s.verdict == "first slip"] == [later]
    assert found.statements[first].verdict == "follows"


def test_an_overruling_of_a_line_that_now_says_something_else_keeps_the_outcome_only() -> None:
    before, after = judged(RIGHT), judged(RIGHT.replace("V2 = Q12/C2", "V_2 = Q12/C2"))
    place = len(before.statements) - 3
    payload = {**overruling(before, "slip found", place, ""), "text": "something else"}
    found = standing(after, log(("overrule", payload)))
    assert (found.judgement.outcome, found.judgement.first_slip) == ("slip found", None)


def test_overruled_to_needs_a_look_nobody_is_accused() -> None:
    judgement = judged(SLIPPED)
    payload = overruling(judgement, "needs a look", None, "")
    found = standing(judgement, log(("overrule", payload))).judgement
    assert found.outcome == "needs a look" and found.first_slip is None
    assert {"first slip", "later slip"}.isdisjoint(s.verdict for s in found.statements)


def test_an_agreement_after_an_overruling_takes_it_back() -> None:
    judgement = judged(SLIPPED)
    payload = overruling(judgement, "all follows", None, "r")
    found = standing(judgement, log(("overrule", payload), agreed(judgement)))
    assert (found.judgement, found.person, found.remark) == (judgement, "agreed", "")
