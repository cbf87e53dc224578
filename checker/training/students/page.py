"""One invented page: a problem, a student, the lines, and the truth about them."""

from __future__ import annotations

import random
from dataclasses import replace

from checker.training.students.author import Author
from checker.training.students.circuits import Shape, circuit
from checker.training.students.habits import Habits, draw
from checker.training.students.record import StudentLine, StudentPage, Unsuitable
from checker.training.students.slips import KINDS
from checker.training.students.wrong_elements import misread

REMARKS = ("unit-missing", "rounded-too-early")  # kinds that change no value beyond rounding
CORRECTED = 0.06  # share of clean pages with something put right, an assumption
SECOND = 0.1  # share of slipped pages with a second slip, likewise


def page(
    seed: int,
    slip: str | None = None,
    *,
    second: bool | None = None,
    shape: Shape | None = None,
    habits: Habits | None = None,
) -> StudentPage:
    """The page of a seed: clean, with one ``slip`` of a kind, or "any".

    ``slip`` may also be one of REMARKS; the page is clean then.  ``second`` asks for (True),
    forbids (False) or leaves to chance a later independent slip.  ``shape`` and ``habits`` fix the
    network and the student instead of drawing them.  Raises ValueError for an unknown kind.
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
    raise ValueError(f"no page found for {kind}")


def _attempt(
    seed: int,
    kind: str | None,
    second: bool | None,
    shape: Shape | None,
    habits: Habits | None,
    rng: random.Random,
) -> StudentPage:
    slip = kind if kind in KINDS else None
    made = circuit(rng, shape, distinct=slip is not None or rng.random() < 0.9)
    student = habits or draw(rng)
    if kind in ("energy-half-missing", "energy-not-squared") and "energy" not in made.find:
        made = replace(made, find=(*made.find, "energy"))
    if kind == "unit-missing" and student.units not in ("all", "end"):
        raise Unsuitable
    if kind == "rounded-too-early" and student.numbers.figures < 3:
        raise Unsuitable
    author = Author(made, misread(made, rng) if kind == "wrong-elements" else made, student, rng)
    if slip:
        author.misstep(slip)
        if second or (second is None and rng.random() < SECOND):
            author.misstep_again()
    elif kind in REMARKS:
        author.oddity = kind
    elif rng.random() < CORRECTED:
        author.correction = rng.choice(("struck", "restated"))
    author.write()
    return author.finish(seed, slip)


__all__ = ["KINDS", "REMARKS", "StudentLine", "StudentPage", "page"]
