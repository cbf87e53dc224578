"""Marks can be told apart without colour and read by everyone."""

from itertools import combinations
from typing import get_args, get_type_hints

import numpy as np
import pytest
from PIL import Image

from checker.matching.judgement import JudgedStatement, Judgement
from checker.report.drawing import draw_sign, font
from checker.report.verdict_marks import MARKS, OUTCOME_MARK, OUTCOMES, VerdictMark


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(a: str, b: str) -> float:
    """Contrast ratio as WCAG 2.2 defines it."""
    dark, light = sorted((luminance(a), luminance(b)))
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_gives_the_published_extreme() -> None:
    # WCAG 2.2, "contrast ratio": ratios range from 1 to 21.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#808080", "#808080") == 1


@pytest.mark.parametrize("mark", MARKS.values(), ids=MARKS)
def test_contrast_is_at_least_4_5(mark: VerdictMark) -> None:
    # WCAG 2.2, success criterion 1.4.3; white on the tag and the page, and the strip's paper.
    assert contrast(mark.colour, "#ffffff") >= 4.5
    assert contrast(mark.colour, "#fbfaf7") >= 4.5


def test_every_verdict_and_outcome_has_its_mark_and_words() -> None:
    assert set(get_args(get_type_hints(JudgedStatement)["verdict"])) == set(MARKS)
    outcomes = set(get_args(get_type_hints(Judgement)["outcome"]))
    assert outcomes == set(OUTCOMES) == set(OUTCOME_MARK)


def test_signs_and_words_are_all_different() -> None:
    assert len({mark.sign for mark in MARKS.values()}) == len(MARKS)
    assert len({mark.meaning for mark in MARKS.values()}) == len(MARKS)


def test_marks_differ_when_all_have_one_colour() -> None:
    def drawn(mark: VerdictMark) -> np.ndarray:
        canvas = Image.new("RGB", (60, 60), "#b0b0b0")
        grey = VerdictMark(mark.sign, mark.outline, "#404040", mark.meaning)
        draw_sign(canvas, (30, 30), 40, grey)
        return np.asarray(canvas.convert("L"), dtype=float)

    pictures = {name: drawn(mark) for name, mark in MARKS.items()}
    for a, b in combinations(pictures, 2):
        differing = np.abs(pictures[a] - pictures[b]) > 60
        assert differing.sum() > 100, (a, b)


def test_the_label_font_has_every_sign_and_unit() -> None:
    letters = font(40)
    missing = bytes(letters.getmask("\uffff"))
    signs = "µΩΔ∥×·÷±≈→′₁₂✓✗↳" + "".join(mark.sign for mark in MARKS.values())
    assert not [sign for sign in signs if bytes(letters.getmask(sign)) == missing]
