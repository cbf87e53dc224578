"""The stand-in for a reader: its error rate and its probabilities are what it says."""

from __future__ import annotations

from collections import Counter
from difflib import SequenceMatcher

from checker import markup
from checker.training.students import page
from checker.training.students.misreading import UNSEEN, exact, misread


def test_exact_reading_is_the_page() -> None:
    student = page(5)
    assert [line.candidates[0].text for line in exact(student)] == [
        line.markup for line in student.lines
    ]
    assert [line.candidates[0].text for line in exact(student, typed=True)] == [
        line.text for line in student.lines
    ]
    assert misread(student, 5) == misread(student, 5)


def test_the_reader_s_errors_in_unseen_hands_are_as_measured() -> None:
    """What ``confusions --unseen`` printed: 95.6 % of lines exact, 98.8 % among the candidates."""
    lines = best = among = 0
    for seed in range(1, 120):
        student = page(seed)
        for line, read in zip(student.lines, misread(student, seed, None, UNSEEN), strict=True):
            if not line.struck:
                truth = markup.canonical(line.markup)
                texts = [candidate.text for candidate in read.candidates]
                lines, best = lines + 1, best + (texts[0] == truth)
                among += truth in texts
    assert 0.92 < best / lines < 0.97
    assert 0.96 < among / lines < 0.995


def test_error_rate_and_calibration() -> None:
    """The best text errs as the reader's does in hands it never saw, on lines that were found
    (``checker.benchmarks.reading``: 92 % of pen lines exact, 97 % among the candidates, 1 to 2 %
    wrong of those stated as 0.95 sure), and a candidate of probability p is right at least
    that often."""
    wrong = total = lines = best = among = 0
    sure: Counter[bool] = Counter()
    bins: dict[int, Counter[bool]] = {k: Counter() for k in range(5)}
    for seed in range(1, 400):
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
    assert 0.002 < wrong / total < 0.007
    assert 0.91 < best / lines < 0.96
    assert 0.96 < among / lines < 0.995
    assert 0.004 < sure[False] / sure.total() < 0.025  # as measured: 1.3 %
    for place, counts in bins.items():
        frequency = counts[True] / counts.total()
        assert place / 5 - 0.06 < frequency < (place + 1) / 5 + 0.13


def test_the_share_of_wrong_characters_may_be_set() -> None:
    wrong = total = 0
    for seed in range(1, 400):  # errors come together on few pages
        student = page(seed)
        for line, read in zip(student.lines, misread(student, seed, 0.01), strict=True):
            if not line.struck:
                a = markup.tokens(markup.canonical(line.markup))
                b = markup.tokens(read.candidates[0].text)
                same = SequenceMatcher(None, a, b, autojunk=False).get_opcodes()
                total += len(a)
                wrong += sum(max(j - i, n - m) for tag, i, j, m, n in same if tag != "equal")
    assert 0.006 < wrong / total < 0.015
