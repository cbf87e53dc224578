"""Outlines from fonts built here glyph by glyph, so that every measure is known beforehand."""

import io
import tomllib
from pathlib import Path

import cv2
import numpy as np
import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

import checker.training.fetch_fonts as fetch_fonts
from checker.markup import CHARACTERS
from checker.training.font_outlines import UnusableFont, from_files, from_stroke_font
from checker.training.hand_fonts import load_font_hands, save_outlines, split_of
from checker.training.hands import load_hands

ASCII = [c for c in CHARACTERS if c.isascii()]


def bar(pen, left, bottom, right, top, hole=False):
    corners = [(left, bottom), (left, top), (right, top), (right, bottom)]
    for i, corner in enumerate(corners[::-1] if hole else corners):
        (pen.lineTo if i else pen.moveTo)(corner)
    pen.closePath()


def font(change=None):
    """Every glyph a tall bar with two teeth whose lengths encode the character; 700 units high."""
    glyphs = {".notdef": TTGlyphPen(None).glyph()}
    cmap = {}
    for number, character in enumerate([*ASCII, "×", "\u2212", "µ"]):
        pen = TTGlyphPen(None)
        bar(pen, 100, -200 if character == "µ" else 0, 160, 700)
        bar(pen, 140, 100, 200 + 30 * (number % 10), 200)  # overlaps the stem
        bar(pen, 140, 400, 200 + 30 * (number // 10), 500)
        if change:
            change(character, pen)
        cmap[ord(character)] = f"g{number}"
        glyphs[f"g{number}"] = pen.glyph()
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder(list(glyphs))
    builder.setupCharacterMap(cmap)
    builder.setupGlyf(glyphs)
    builder.setupHorizontalMetrics(dict.fromkeys(glyphs, (600, 0)))
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": "Teeth", "styleName": "Regular"})
    builder.setupOS2()
    builder.setupPost()
    out = io.BytesIO()
    builder.save(out)
    return out.getvalue()


def area(paths):
    """Ink area by the even-odd rule, em² (digit height 1)."""
    image = np.zeros((700, 900), np.uint8)
    shifted = [np.round(p * 300 + [100, 450]).astype(np.int32) for p in paths]
    cv2.fillPoly(image, shifted, 1)
    return image.sum() / 300**2


def test_outlines_are_in_em_units_with_overlaps_merged():
    outlines = from_files([font()], "Teeth")
    zero = np.concatenate(outlines.paths["0"])  # number 0: both teeth end at 200
    assert zero[:, 1].min() == pytest.approx(-1, abs=0.01)
    assert zero[:, 1].max() == pytest.approx(0, abs=0.01)
    assert np.ptp(zero[:, 0]) == pytest.approx(100 / 700, abs=0.01)
    known = (60 * 700 + 2 * 40 * 100) / 700**2  # stem and what of the teeth sticks out
    assert area(outlines.paths["0"]) == pytest.approx(known, rel=0.06)
    assert max(len(path) for paths in outlines.paths.values() for path in paths) <= 60


def test_what_a_font_lacks_is_drawn_in_its_stem_width():
    outlines = from_files([font()], "Teeth")
    assert set(outlines.paths) == set(CHARACTERS)
    assert "×" in outlines.own and "-" in outlines.own and "Ω" not in outlines.own
    bars = outlines.paths["∥"]
    tall = np.ptp(np.concatenate(bars)[:, 1])
    # The stem is 60 of 700 units wide; depth at the crossings with the teeth reads a little more.
    assert area(bars) / (2 * tall) == pytest.approx(60 / 700, rel=0.35)


def test_a_micro_sign_without_a_descender_is_not_believed():
    def stump(character, pen):
        if character == "µ":
            pen.__init__(None)
            bar(pen, 100, 0, 400, 500)

    outlines = from_files([font(stump)], "Teeth")
    assert "µ" not in outlines.own
    assert np.concatenate(outlines.paths["µ"])[:, 1].max() > 0.2


def test_fonts_with_wrong_shapes_are_refused():
    def same_digits(character, pen):
        if character in "38":
            pen.__init__(None)
            bar(pen, 100, 0, 400, 700)

    with pytest.raises(UnusableFont, match="3 looks like 8"):
        from_files([font(same_digits)], "Teeth")

    def no_q(character, pen):
        if character == "Q":
            pen.__init__(None)

    with pytest.raises(UnusableFont, match="Q"):
        from_files([font(no_q)], "Teeth")


def test_saved_and_loaded_hands_are_the_same_shapes(tmp_path):
    outlines = from_files([font()], "Teeth")
    split = split_of("Teeth")
    entry = {"family": "Teeth", "licence": "none", "package": "none", "split": split}
    save_outlines(tmp_path, {"Teeth": outlines}, [entry])
    (hand,) = load_hands("font", split, tmp_path, tmp_path)
    rng = np.random.default_rng(0)
    assert hand.kind == "font" and all(hand.has(c) for c in CHARACTERS)
    for character in CHARACTERS:
        glyph = hand.glyph(character, rng)
        before = np.concatenate(outlines.paths[character])
        after = np.concatenate(glyph.paths)
        assert glyph.filled and after[:, 0].min() == pytest.approx(0, abs=1e-3)
        assert np.allclose(after - after.min(0), before - before.min(0), atol=2e-3)
        assert np.allclose(after[:, 1], before[:, 1], atol=2e-3)
    assert load_font_hands(tmp_path, {"train": "validation", "validation": "train"}[split]) == []


def test_single_stroke_fonts_stay_strokes():
    glyphs = "".join(
        f'<glyph unicode="{c}" d="M 0 0 L 0 600 M {i + 10} 0 C 0 100 100 200 50 300"/>'
        for i, c in enumerate(c for c in ASCII if c.isalnum())
    )
    svg = f'<svg xmlns="http://www.w3.org/2000/svg"><defs><font>{glyphs}</font></defs></svg>'
    outlines = from_stroke_font(svg.encode(), "Sticks")
    stem, curve = outlines.paths["A"]
    assert not outlines.filled and np.allclose(stem, [[0, 0], [0, -1]])
    assert np.allclose(curve[-1], [50 / 600, -0.5]) and set(outlines.paths) == set(CHARACTERS)


def test_relatives_share_a_split():
    assert split_of("Edu SA Beginner") == split_of("Edu TAS Beginner")
    families = [f"Family{i} Hand" for i in range(400)]
    share = sum(split_of(f) == "validation" for f in families) / 400
    assert 0.09 < share < 0.21


def test_every_font_used_has_an_open_licence():
    """Licences as in the SPDX licence list, and the Hershey fonts' own terms."""
    text = Path(fetch_fonts.__file__).with_name("fonts_used.toml").read_text("utf-8")
    fonts = tomllib.loads(text)["font"]
    assert {f["licence"] for f in fonts} <= {"OFL-1.1", "Apache-2.0", "Hershey"}
    assert len({f["family"] for f in fonts}) == len(fonts) >= 60
    held = [f for f in fonts if f["split"] == "validation"]
    assert 0.08 < len(held) / len(fonts) < 0.25
