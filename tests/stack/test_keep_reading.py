"""Readings and judgements come back exactly as they were kept."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from checker.matching.judgement import JudgedStatement, Judgement, Slip
from checker.reading.page import Candidate, Line, PageReading, Token
from checker.stack.keep_reading import (
    judgement_from_json,
    judgement_to_json,
    reading_from_json,
    reading_to_json,
)

FLOATS = st.floats(allow_nan=False)
TEXTS = st.text(st.characters(), max_size=20)  # surrogates too, as file names may have them
BOXES = st.tuples(FLOATS, FLOATS, FLOATS, FLOATS)
POINTS = st.tuples(FLOATS, FLOATS)
POLYGONS = st.none() | st.tuples(POINTS, POINTS, POINTS, POINTS)
COUNTS = st.integers(0, 10**6)


def some(strategy):
    return st.lists(strategy, max_size=3).map(tuple)


CANDIDATES = st.builds(Candidate, TEXTS, FLOATS, some(st.builds(Token, TEXTS, BOXES, FLOATS)))
ROLES = st.sampled_from(["working", "struck", "aside"])
LINES = st.builds(Line, COUNTS, some(CANDIDATES), POLYGONS, st.none() | COUNTS, ROLES)
READINGS = st.builds(
    PageReading,
    page=COUNTS,
    source=TEXTS,
    size=st.tuples(COUNTS, COUNTS),
    lines=some(LINES),
    remarks=some(TEXTS),
    doubts=some(TEXTS),
    turned=st.integers(0, 3),
)
SLIPS = st.builds(
    Slip, COUNTS, TEXTS, st.none() | TEXTS, TEXTS, st.none() | TEXTS, TEXTS, TEXTS, some(TEXTS)
)
STATEMENTS = st.builds(
    JudgedStatement,
    index=COUNTS,
    page=COUNTS,
    polygon=POLYGONS,
    line=st.none() | COUNTS,
    text=TEXTS,
    confidence=FLOATS,
    quantity=st.none() | TEXTS,
    verdict=st.sampled_from(["follows", "first slip", "unsure"]),
    remark=st.none() | TEXTS,
    question=st.none() | TEXTS,
)
JUDGEMENTS = st.builds(
    Judgement,
    outcome=st.sampled_from(["all follows", "slip found", "needs a look", "nothing read"]),
    first_slip=st.none() | SLIPS,
    statements=some(STATEMENTS),
    later_slips=some(SLIPS),
    remarks=some(TEXTS),
)


@given(READINGS)
def test_a_reading_comes_back_exactly(reading):
    text = reading_to_json(reading)
    assert text.isascii()
    assert reading_from_json(text) == reading


@given(JUDGEMENTS)
def test_a_judgement_comes_back_exactly(judgement):
    text = judgement_to_json(judgement)
    assert text.isascii()
    assert judgement_from_json(text) == judgement


def test_numpy_numbers_come_back_as_plain_ones():
    box = tuple(np.float32([0.1, 2.5, 3.25, 4.125]))
    candidate = Candidate("3", np.float32(0.7), (Token("3", box, np.float64(0.9)),))
    reading = PageReading(0, "", (np.int64(640), np.int64(480)), (Line(0, (candidate,)),))
    back = reading_from_json(reading_to_json(reading))
    assert back == reading
    assert type(back.lines[0].candidates[0].tokens[0].box[0]) is float
