"""Hands from fonts: outlines (or single strokes) that ``fetch_fonts`` prepared."""

from __future__ import annotations

import json
import zlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from checker.markup import CHARACTERS
from checker.training.font_outlines import Outlines
from checker.training.marks import Glyph

OUTLINES = "outlines.npz"
INDEX = "index.json"
UNIT = 2000  # stored integers to the em
VALIDATION_PERCENT = 15


@dataclass(frozen=True)
class FontHand:
    """One font; ``drawn`` are the characters the font lacks, filled in by rule."""

    name: str
    glyphs: dict[str, Glyph]
    drawn: frozenset[str]
    kind: str

    def has(self, character: str) -> bool:
        """Whether ``glyph`` can give the character."""
        return character in self.glyphs

    def own(self, character: str) -> bool:
        """Whether the shape is the font's (else drawn by rule)."""
        return character in self.glyphs and character not in self.drawn

    def glyph(self, character: str, rng: np.random.Generator) -> Glyph:
        """The font's one shape of the character; ``rng`` is not used."""
        return self.glyphs[character]


def split_of(ancestor: str) -> str:
    """Which split a family belongs to, by the first word of the name of the design it goes back
    to, so that near relatives ("… Beginner", single-stroke tracings) stay together."""
    word = ancestor.split()[0].lower()
    return "validation" if zlib.crc32(word.encode()) % 100 < VALIDATION_PERCENT else "train"


def save_outlines(folder: Path, fonts: dict[str, Outlines], index: list[dict[str, str]]) -> None:
    """Write all fonts into one archive of flat arrays, and the index of families beside it."""
    paths = [p for name in fonts for c in CHARACTERS for p in fonts[name].paths[c]]
    np.savez_compressed(
        folder / OUTLINES,
        points=np.round(np.concatenate(paths) * UNIT).astype(np.int16),
        path_sizes=np.array([len(p) for p in paths], np.int32),
        glyph_sizes=np.array([len(fonts[n].paths[c]) for n in fonts for c in CHARACTERS], np.int32),
        names=np.array(list(fonts)),
        filled=np.array([font.filled for font in fonts.values()]),
        own=np.array([font.own for font in fonts.values()]),
        characters=np.array(CHARACTERS),
    )
    (folder / INDEX).write_text(json.dumps(index, indent=1, ensure_ascii=False) + "\n", "utf-8")


def load_font_hands(folder: Path, split: str) -> list[FontHand]:
    """All prepared fonts of a split.

    Raises FileNotFoundError when nothing was prepared in the folder.
    """
    index = {entry["family"]: entry for entry in json.loads((folder / INDEX).read_text("utf-8"))}
    with np.load(folder / OUTLINES) as z:
        points = z["points"].astype(np.float32) / UNIT
        path_ends = np.concatenate([[0], np.cumsum(z["path_sizes"])])
        glyph_ends = np.concatenate([[0], np.cumsum(z["glyph_sizes"])])
        names, filled, own = z["names"].tolist(), z["filled"].tolist(), z["own"].tolist()
        characters = str(z["characters"])
    hands = []
    for i, name in enumerate(names):
        if index[name]["split"] != split:
            continue
        glyphs = {}
        for j, character in enumerate(characters, i * len(characters)):
            parts = range(glyph_ends[j], glyph_ends[j + 1])
            paths = [points[path_ends[p] : path_ends[p + 1]] for p in parts]
            glyphs[character] = _from_zero(paths, filled[i])
        kind = "font" if filled[i] else "ink-single-stroke"
        hands.append(FontHand(name, glyphs, frozenset(characters) - set(own[i]), kind))
    return hands


def _from_zero(paths: list[np.ndarray], filled: bool) -> Glyph:
    left = min(float(path[:, 0].min()) for path in paths)
    right = max(float(path[:, 0].max()) for path in paths)
    shift = np.array([left, 0], np.float32)
    return Glyph(tuple(path - shift for path in paths), filled, right - left)
