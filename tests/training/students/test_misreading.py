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
    """The best text errs as the reader's does in hands it never saw, on lines that were found
    (``checker.benchmarks.reading``: 83 to 88 % of lines exact, 93 to 94 % among the candidates,
    about 1 % wrong of those stated as 0.95 sure), and a candidate of probability p is right that
    often."""
    wrong = total = lines = best = among = 0
    sure: Counter[bool] = Counter()
    bins: dict[int, Counter[bool]] = {k: Counter() for k in range(5)}
    for seed in range(1, 300):
        student = page(seed)
        for line, read in zip(student.lines, misread(student, seed), strict=True):
            if line.struck:
                assert read.role == "struck"
                continue
            truth = markup.canonical(line.markup)
            texts = [candidate.text for candidate in read.candidates]
            assert len(set(texts)) == len(texts)
            assert sum(c.probability for c in read.candidates) < 1.001
            for candidate in read.candidates:
                assert "".join(token.text for token in candidate.tokens) == candidate.text
                place = min(4, int(5 * candidate.probability))
                bins[place][candidate.text == truth] += 1
            a, b = markup.tokens(truth), markup.tokens(texts[0])
            same = SequenceMatcher(None, a, b, autojunk=False)
            total += len(a)
            wrong += sum(
                max(j - i, n - m) for tag, i, j, m, n in same.get_opcodes() if tag != "equal"
            )
            lines += 1
            best += texts[0] == truth
            among += truth in texts
            if read.candidates[0].probability >= 0.95:
                sure[texts[0] == truth] += 1
    assert 0.013 < wrong / total < 0.023
    assert 0.80 < best / lines < 0.88
    assert 0.91 < among / lines < 0.95
    assert 0.001 < sure[False] / sure.total() < 0.008  # as measured: 0.3 % in changed hands
    for place, counts in bins.items():
        frequency = counts[True] / counts.total()
        assert place / 5 - 0.06 < frequency < (place + 1) / 5 + 0.06
