"""From the photo to the verdict: simulated photos of invented students' work in unseen hands.

    python -m checker.benchmarks.whole --data shared/handwriting --fonts .fonts [--pages 40]

Each page is written twice, right and with one slip, photographed, and checked as a user's photo
would be.  Pages that do not fit on one sheet are left out.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from functools import partial
from multiprocessing import Pool
from pathlib import Path
from typing import Literal

import cv2
import numpy as np

from checker.benchmarks.drawn_photos import hand_of, start_worker, validation_hands
from checker.benchmarks.outcome import outcome
from checker.benchmarks.scores import true_polygon
from checker.reading.page import Polygon
from checker.submission import Upload, check
from checker.training.hands import Hand
from checker.training.pages import Page, make_page
from checker.training.photo import Shot, photograph
from checker.training.students import page as student_page

REPORTING = 200_000  # first seed; no other benchmark uses these pages
Kind = Literal["pen", "font"]


def is_on_line(page: Page, shot: Shot, line: int, polygon: Polygon) -> bool:
    """Whether the middle of a place on the photo lies in a line of the page."""
    outline = true_polygon(page.lines[line], shot).astype(np.float32)
    middle = tuple(map(float, np.array(polygon).mean(0)))
    return cv2.pointPolygonTest(outline, middle, False) >= 0


def checked(hand: Hand, seed: int, slip: str | None) -> str | None:
    """What became of one photo; None where the work does not fit on the sheet."""
    rng = np.random.default_rng([seed, 77])
    student = student_page(seed, slip, second=False)
    texts = [(line.markup, "struck" if line.struck else "working") for line in student.lines]
    page = make_page(rng, hand, texts)
    if len(page.lines) < len(texts):
        return None
    shot = photograph(page.sheet, rng)
    _, data = cv2.imencode(".jpg", shot.image[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 92])
    found = check(Upload("page.jpg", data.tobytes()), student.problem)
    polygons = {s.index: s.polygon for s in found.judgement.statements}

    def is_there(statement: int) -> bool:
        first, polygon = student.first_slip, polygons[statement]
        return first is not None and polygon is not None and is_on_line(page, shot, first, polygon)

    return outcome(student, found.judgement, is_there)


def _one(options: argparse.Namespace, task: tuple[Kind, int]) -> Counter[str]:
    kind, at = task
    hand = hand_of(validation_hands(kind, options.data, options.fonts), at, options.pages)
    counts: Counter[str] = Counter()
    for name, slip in (("clean", None), ("with a slip", "any")):
        found = checked(hand, options.first_seed + at, slip)
        if found:
            counts[f"{name} pages"] += 1
            counts[f"{name} {found}"] += 1
    return counts


def report(kind: Kind, counts: Counter[str]) -> str:
    rows = [f"{kind} hands"]
    for name, words in (
        ("clean", ("right", "asked", "accused")),
        ("with a slip", ("right", "asked", "elsewhere", "missed")),
    ):
        total = max(counts[f"{name} pages"], 1)
        shares = ", ".join(
            f"{word} {100 * counts[f'{name} {word}'] / total:.1f} %" for word in words
        )
        rows.append(f"  {counts[f'{name} pages']} pages {name}: {shares}")
    return "\n".join(rows)


def main() -> None:
    parse = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parse.add_argument("--data", type=Path, required=True)
    parse.add_argument("--fonts", type=Path, required=True)
    parse.add_argument("--pages", type=int, default=40, help="clean and slipped, of each kind")
    parse.add_argument("--first-seed", type=int, default=REPORTING)
    parse.add_argument("--jobs", type=int, default=2)
    options = parse.parse_args()
    kinds: tuple[Kind, ...] = ("pen", "font")
    for kind in kinds:
        counts: Counter[str] = Counter()
        tasks = [(kind, at) for at in range(options.pages)]
        with Pool(options.jobs, start_worker) as pool:
            try:
                for done, found in enumerate(pool.imap_unordered(partial(_one, options), tasks), 1):
                    counts += found
                    print(f"\r{kind}: {done} of {len(tasks)} ", end="", file=sys.stderr, flush=True)
            except KeyboardInterrupt:
                print("\nstopped early: the figures are of the pages checked so far")
        print(f"\n{report(kind, counts)}")


if __name__ == "__main__":
    main()
