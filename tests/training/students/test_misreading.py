"""The stand-in for a reader: its error rate and its probabilities are what it says."""

from __future__ import annotations

from collections import Counter
from difflib import SequenceMatcher

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
    """The best text errs as the trained reader's did on 2,635 lines in training hands (2.1 % of
    characters, 75.1 % of lines exact, 87.5 % among four candidates), and a candidate of
    probability p is right that often."""
    wrong = total = lines = best = among = 0
    bins: dict[int, Counter[bool]] = {k: Counter() for k in range(5)}
    for seed in range(1, 400):
        student = page(seed)
        for line, read in zip(student.lines, misread(student, seed), strict=True):
            if line.struck:
                assert read.role == "struck"
                continue
            texts = [candidate.text for candidate in read.candidates]
            assert len(set(texts)) == len(texts) <= 4
            assert sum(c.probability for c in read.candidates) < 1 + 1e-9
            for candidate in read.candidates:
                assert "".join(token.text for token in candidate.tokens) == candidate.text
                place = min(4, int(5 * candidate.probability))
                bins[place][candidate.text == line.markup] += 1
            a, b = markup.tokens(line.markup), markup.tokens(texts[0])
            same = SequenceMatcher(None, a, b, autojunk=False)
            total += len(a)
            wrong += sum(
                max(j - i, n - m) for tag, i, j, m, n in same.get_opcodes() if tag != "equal"
            )
            lines += 1
            best += texts[0] == line.markup
            among += line.markup in texts
    assert 0.018 < wrong / total < 0.023
    assert 0.72 < best / lines < 0.78
    assert 0.84 < among / lines < 0.90
    for place, counts in bins.items():
        frequency = counts[True] / counts.total()
        assert place / 5 - 0.04 < frequency < (place + 1) / 5 + 0.04
