"""Where the page generator gets its handwriting from: one interface over pens and fonts."""

from __future__ import annotations

from pathlib import Path
from typing import Literal, Protocol

import numpy as np

from checker.training.hand_fonts import load_font_hands
from checker.training.hand_pen import ARCHIVE, load_pen_hands
from checker.training.marks import Glyph


class Hand(Protocol):
    """One way of writing, able to give every character of ``checker.markup.CHARACTERS``."""

    @property
    def name(self) -> str: ...

    @property
    def kind(self) -> str: ...

    def has(self, character: str) -> bool: ...

    def glyph(self, character: str, rng: np.random.Generator) -> Glyph: ...


def load_hands(
    kind: Literal["pen", "font"],
    split: Literal["train", "calibration", "everyone", "validation"],
    data_dir: str | Path,
    font_dir: str | Path,
) -> list[Hand]:
    """All hands of a kind and split; "everyone" are those to train on and those kept for
    calibration (of typefaces none are kept).

    ``data_dir`` holds the pen archive, ``font_dir`` what ``fetch_fonts`` made.
    """
    if kind == "pen":
        return list(load_pen_hands(Path(data_dir) / ARCHIVE, split))
    return list(load_font_hands(Path(font_dir), "train" if split == "everyone" else split))
