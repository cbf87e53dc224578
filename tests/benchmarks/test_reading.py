"""The reading benchmark counts what it says it counts."""

from types import SimpleNamespace

import numpy as np
import pytest

from checker.benchmarks.drawn_photos import hand_of
from checker.benchmarks.scores import Tally, align, compare, matched, overlap
from checker.reading.page import Candidate, Line, Token


def counted(truth: str, read: str) -> dict[str, int]:
    tally = Tally()
    compare(tally, truth, [(read, 0.9)])
    return dict(tally.count)


def test_alignment_is_a_shortest_edit_path() -> None:
    assert align("kitten", "sitting").count((0, 0)) == 1
    changes = [
        (i, j) for i, j in align("kitten", "sitting")
        if i is None or j is None or "kitten"[i] != "sitting"[j]
    ]  # fmt: skip
    assert len(changes) == 3  # the textbook distance of these two words


def test_a_right_line_has_all_its_numbers_and_points() -> None:
    count = counted("C_{12}={4.7×12}/{16.7}=3.38µF", "C_{12}={4.7×12}/{16.7}=3.38µF")
    assert count["exact"] == 1 and count["errors"] == 0
    assert count["points"] == count["points right"] == 3
    assert count["numbers"] == count["numbers right"] == 5  # the index counts as one


@pytest.mark.parametrize("read", ["Q=196µC", "Q=1.96mC", "Q=1.9µC", "Q=1.966µC", "Q=1.96.µC"])
def test_a_number_with_its_unit_is_right_only_whole(read: str) -> None:
    count = counted("Q=1.96µC", read)
    assert count["numbers"] == 1 and count["numbers right"] == 0


def test_a_lost_and_an_invented_point_are_told_apart() -> None:
    assert counted("Q=1.96", "Q=196")["points read"] == 0
    count = counted("Q=196", "Q=1.96")
    assert count.get("points", 0) == 0 and count["points read"] == 1


def test_overlap_of_squares() -> None:
    square = np.array([[0, 0], [2, 0], [2, 2], [0, 2]], float)
    assert overlap(square, square) == pytest.approx(1.0)
    assert overlap(square, square + [1, 0]) == pytest.approx(1 / 3)
    assert overlap(square, square + [5, 0]) == 0


def test_a_page_without_writing_is_matched_with_what_was_read_there() -> None:
    corners = ((0.0, 0.0), (9.0, 0.0), (9.0, 3.0), (0.0, 3.0))
    read = Line(0, (Candidate("1", 0.5, (Token("1", (0.0, 0.0, 1.0, 1.0), 0.5),)),), corners)
    assert matched(SimpleNamespace(lines=()), None, [read]) == []  # type: ignore[arg-type]


def test_few_pages_are_spread_over_all_hands() -> None:
    hands = list("abcdefghij")
    assert [hand_of(hands, at, 5) for at in range(5)] == list("acegi")
    assert {hand_of(hands, at, 25) for at in range(25)} == set(hands)
