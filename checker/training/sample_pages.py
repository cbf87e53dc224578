"""Makes the sample pages: invented work in handwriting fonts, photographed by the simulated phone.

    python -m checker.training.sample_pages --fonts .fonts --into sample_pages [--seed N]
    python -m checker.training.sample_pages --fonts .fonts --into DIR --seed N --invented 20

Without ``--invented`` the ten fixed pages and a typed one are made; with it, so many pages of
invented students.  Each becomes a folder with page.jpg, problem.toml and truth.toml.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np

from checker.benchmarks.scores import true_polygon
from checker.training.compose import Style, draw_style
from checker.training.font_outlines import from_files
from checker.training.hand_fonts import FontHand
from checker.training.hands import Hand, load_hands
from checker.training.marks import Glyph
from checker.training.pages import make_page
from checker.training.photo import photograph
from checker.training.students import StudentPage
from checker.training.students import page as student_page
from checker.training.students.files import problem_text, truth_text
from checker.training.students.samples import SAMPLES

TYPEFACE = Path("/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf")


@dataclass(frozen=True)
class Look:
    folder: str
    family: str
    ruling: str
    mode: str = "phone"


LOOKS = (
    Look("right_in_order", "Kalam", "ruled"),
    Look("crossed_out_line", "Patrick Hand", "grid"),
    Look("series_added_up", "Architects Daughter", "blank"),
    Look("reciprocal_left_standing", "Indie Flower", "ruled"),
    Look("value_miscopied", "Schoolbell", "dotted"),
    Look("voltage_shared_wrongly", "Shantell Sans", "grid"),
    Look("division_slip", "Handlee", "blank", "scan"),
    Look("decimal_point_moved", "Coming Soon", "ruled"),
    Look("half_forgotten", "Gochi Hand", "grid"),
    Look("charge_into_parallel", "Mali", "blank"),
)
TYPED = (Look("typed_photo", "", "blank"), 3)  # the fourth page again, set in a typeface


def typeface(path: Path = TYPEFACE) -> FontHand:
    """A printer's typeface as a hand.  Raises FileNotFoundError (Debian: fonts-dejavu-core)."""
    outlines = from_files([path.read_bytes()], "typed")
    glyphs = {}
    for character, paths in outlines.paths.items():
        left = min(float(part[:, 0].min()) for part in paths)
        right = max(float(part[:, 0].max()) for part in paths) - left
        glyphs[character] = Glyph(tuple(part - [left, 0] for part in paths), True, right)
    return FontHand("typed", glyphs, frozenset(), "font")


def style(rng: np.random.Generator, typed: bool) -> Style:
    """Writing of a comfortable size and not too pale; type is set straight and even."""
    drawn = draw_style(rng)
    drawn = replace(drawn, height=float(rng.uniform(4.2, 5.4)), darkness=max(drawn.darkness, 0.8))
    if typed:
        drawn = replace(drawn, height=3.2, slant=0.0, wave=0.0, climb=0.0, jitter=0.0, stretch=1.0,
                        spacing=0.12, script=0.65, fraction_size=0.9)  # fmt: skip
    return drawn


def write(page: StudentPage, hand: Hand, look: Look, seed: int, into: Path) -> None:
    """One folder.  Photos that cut off writing are taken again.

    Raises ValueError when the work does not fit a sheet.
    """
    texts = [(line.markup, "struck" if line.struck else "working") for line in page.lines]
    for attempt in range(20):
        rng = np.random.default_rng([seed, attempt, sum(map(ord, look.folder))])
        drawn = style(rng, hand.name == "typed")
        made = make_page(rng, hand, texts, drawn, look.ruling, (210, 297), sketch=False)
        shot = photograph(made.sheet, rng, megapixels=3.2, mode=look.mode, severity=0.7)
        polygons = [np.round(true_polygon(line, shot)).astype(int) for line in made.lines]
        high, wide = shot.image.shape[:2]
        corners = np.concatenate(polygons)
        inside = (corners > 4).all() and (corners < [wide - 4, high - 4]).all()
        if inside and len(polygons) == len(texts) and np.ptp(corners[:, 0]) > 0.4 * wide:
            break
    else:
        raise ValueError(f"{look.folder}: {len(texts)} lines do not fit the sheet")
    folder = into / look.folder
    folder.mkdir(parents=True, exist_ok=True)
    quality = [cv2.IMWRITE_JPEG_QUALITY, 82]
    cv2.imwrite(str(folder / "page.jpg"), shot.image[..., ::-1], quality)
    (folder / "problem.toml").write_text(problem_text(page.circuit, page.problem.title), "utf-8")
    rows = [f"    {polygon.tolist()}," for polygon in polygons]
    truth = truth_text(page) + "polygons = [\n" + "\n".join(rows) + "\n]\n"
    (folder / "truth.toml").write_text(truth, "utf-8")


def main() -> None:
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("--fonts", type=Path, required=True)
    parse.add_argument("--into", type=Path, required=True)
    parse.add_argument("--seed", type=int, default=3)
    parse.add_argument("--invented", type=int, default=0)
    options = parse.parse_args()
    hands = load_hands("font", "train", options.into, options.fonts)
    hands += load_hands("font", "validation", options.into, options.fonts)
    if options.invented:
        rng = np.random.default_rng(options.seed)
        for k in range(options.invented):
            page = student_page(options.seed * 1000 + k, "any" if k % 2 else None)
            hand = hands[int(rng.integers(len(hands)))]
            ruling = str(rng.choice(["blank", "ruled", "grid", "dotted"]))
            look = Look(f"invented_{k:03d}", hand.name, ruling)
            write(page, hand, look, options.seed, options.into)
        return
    by_name = {hand.name: hand for hand in hands}
    for page, look in zip(SAMPLES, LOOKS, strict=True):
        write(page, by_name[look.family], look, options.seed, options.into)
    look, number = TYPED
    write(SAMPLES[number], typeface(), look, options.seed, options.into)


if __name__ == "__main__":
    main()
