"""The stand-in for a reader: its error rate and its probabilities are what it says."""

from __future__ import annotations

from collections import Counter

from checker import markup
from checker.training.students import page
from checker.training.students.misreading import exact, misread


def test_exact_reading_is_the_page() -> None:
    student = page(5)
    assert [line.candidates[0].text for line in exact(student)] == [
        line.markup for line in student.lines
    ]
    assert [line.candidates[0].text for line in exact(student, typed=True)] == [
        line.text for line in student.lines
    ]
    assert misread(student, 5) == misread(student, 5)


def test_error_rate_and_calibration() -> None:
    """2 % wrong characters in the best; a candidate of probability p is right that often."""
    wrong = total = 0
    bins: dict[int, Counter[bool]] = {k: Counter() for k in range(5)}
    for seed in range(1, 500):
        student = page(seed)
        for line, read in zip(student.lines, misread(student, seed), strict=True):
            if line.struck:
                assert read.role == "struck"
                continue
            texts = [candidate.text for candidate in read.candidates]
            assert len(set(texts)) == len(texts)
            assert sum(c.probability for c in read.candidates) < 1 + 1e-9
            a, b = markup.tokens(line.markup), markup.tokens(texts[0])
            total += len(a)
            wrong += sum(x != y for x, y in zip(a, b, strict=False)) if len(a) == len(b) else 1
            for candidate in read.candidates:
                place = min(4, int(5 * candidate.probability))
                bins[place][candidate.text == line.markup] += 1
    assert 0.016 < wrong / total < 0.024
    for place, counts in bins.items():
        frequency = counts[True] / counts.total()
        assert place / 5 - 0.04 < frequency < (place + 1) / 5 + 0.04
