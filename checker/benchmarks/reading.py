"""How well pages are read: figures on simulated phone photos in hands never trained on.

    python -m checker.benchmarks.reading --data shared/handwriting --fonts .fonts \\
        [--pages 40] [--kind pen|font] [--content students|grammar] [--tesseract] [--jobs 2] \\
        [--diagram reliability.svg]

Pages are written by validation writers (pen) or held-out families (font), photographed at 1.5 to
12 megapixels and read as a user's photo would be.  ``students``: circuit working as invented
students write it; ``grammar``: the training grammar, with senseless lines among the rest.  Ten
lines stand on a page, so 110 pages are some 1,000 lines of a kind.  With ``--tesseract`` the same
photos are read with Tesseract as well, on the lines found here and told that they are upright.
Ctrl-C prints what was measured so far.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from multiprocessing import Pool
from pathlib import Path

import cv2
import numpy as np

from checker.benchmarks.arithmetic import blindness
from checker.benchmarks.digits import digit_rows, digits_right
from checker.benchmarks.drawn_photos import hand_of, photo, start_worker, validation_hands
from checker.benchmarks.readers import OURS, ink_reader, readers
from checker.benchmarks.reliability import bins, draw
from checker.benchmarks.scores import Tally, score
from checker.reading.read_page import read_page

FIGURES = (
    ("exact", "lines", "lines read exactly"),
    ("among candidates", "lines", "right text among the candidates"),
    ("numbers right", "numbers", "numbers with their unit right"),
    ("errors", "characters", "character error"),
    ("points right", "points", "decimal points, recall"),
    ("points right", "points read", "decimal points, precision"),
    ("lines matched", "lines written", "lines found, recall"),
    ("lines matched", "lines found", "lines found, precision"),
    ("struck right", "struck", "crossed-out lines told"),
    ("aside right", "aside", "prose lines set aside"),
)


def read_one(task: tuple[argparse.Namespace, str, int]) -> dict[str, Tally]:
    """Draw one page once and read it with every reader."""
    options, kind, at = task
    hands = validation_hands(kind, options.data, options.fonts)
    hand = hand_of(hands, at, options.pages)
    page, shot = photo(hand, options.first + at, options.content)
    _, data = cv2.imencode(".jpg", shot.image[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 95])
    found = {}
    for name, reader in readers(options.tesseract).items():
        tally = found[name] = Tally()
        start = time.perf_counter()
        reading = read_page(data.tobytes(), reader=reader, upright=name != OURS)
        tally.seconds.append(time.perf_counter() - start)
        tally.hands.add(hand.name)
        score(tally, page, shot, reading.lines)
    return found


def measure(options: argparse.Namespace, kind: str) -> tuple[dict[str, Tally], bool]:
    """Counts for every reader, and whether all pages were read before someone pressed Ctrl-C."""
    total: dict[str, Tally] = {}
    tasks = [(options, kind, at) for at in range(options.pages)]
    with Pool(options.jobs, start_worker) as pool:
        try:
            for done, found in enumerate(pool.imap_unordered(read_one, tasks), 1):
                for name, tally in found.items():
                    total.setdefault(name, Tally()).add(tally)
                lines = total[OURS].count["lines"]
                print(f"\r{kind}: {done} of {len(tasks)} pages, {lines} lines ", end="",
                      file=sys.stderr, flush=True)  # fmt: skip
        except KeyboardInterrupt:
            return total, False
        finally:
            print(file=sys.stderr)
    return total, True


def rate(count: Counter[str], part: str, whole: str) -> str:
    return f"{100 * count[part] / count[whole]:.2f} % of {count[whole]}" if count[whole] else "-"


def sure_but_wrong(tally: Tally) -> str:
    sure = [right for stated, right in tally.stated if stated >= 0.95]
    return f"{100 * sure.count(False) / len(sure):.2f} % of {len(sure)}" if sure else "-"


def report(title: str, total: dict[str, Tally], examples: int) -> None:
    """A table with a column for each reader, then our calibration and misread lines."""
    ours = total[OURS]
    print(f"\n== {title}: {len(ours.seconds)} photos in {len(ours.hands)} hands")
    print(" " * 37 + "".join(f"{name:22}" for name in total))
    for part, whole, label in FIGURES:
        print(f"  {label:35}" + "".join(f"{rate(t.count, part, whole):22}" for t in total.values()))
    wrong = "".join(f"{sure_but_wrong(tally):22}" for tally in total.values())
    print(f"  {'wrong though stated >= 0.95':35}{wrong}")
    seconds = "".join(f"{np.median(tally.seconds):<22.2f}" for tally in total.values())
    print(f"  {'seconds a page, one thread, median':35}{seconds}")
    print("  stated    lines   right (ours)")
    for one in bins(ours.stated):
        print(f"  {one.low:4.2f}-{one.high:4.2f} {one.count:6} {100 * one.rate:7.1f} %")
    for truth, text, confidence in ours.examples[:examples]:
        print(f"    written {truth}\n    read    {text}  ({confidence:.2f})")


def main() -> None:
    parse = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parse.add_argument("--data", type=Path, required=True)
    parse.add_argument("--fonts", type=Path, required=True)
    parse.add_argument("--pages", type=int, default=40, help="of each kind of hand; 0: none")
    parse.add_argument("--first", type=int, default=0)
    parse.add_argument("--kind", choices=("pen", "font"))
    parse.add_argument("--content", choices=("students", "grammar"), default="students")
    parse.add_argument("--tesseract", action="store_true", help="read with Tesseract as well")
    parse.add_argument("--jobs", type=int, default=2)
    parse.add_argument("--examples", type=int, default=0, help="misread lines to show")
    parse.add_argument("--stated", type=Path, help="write (confidence, right) pairs as JSON")
    parse.add_argument("--diagram", type=Path, help="draw the reliability diagram (.svg, .png)")
    parse.add_argument("--arithmetic", type=int, default=0, help="lines for the blindness check")
    parse.add_argument("--digits", type=int, default=0, help="rows of UCI digits to read as well")
    options = parse.parse_args()
    if options.digits:
        right, digits = digits_right(ink_reader(), list(digit_rows(options.digits)))
        print(f"UCI optical digits read right: {100 * right / digits:.2f} % of {digits}")
    if options.arithmetic:
        print(blindness(ink_reader(), options.arithmetic, options.data, options.fonts))
    stated: dict[str, list[tuple[float, bool]]] = {}
    for kind in ("pen", "font"):
        if not options.pages or options.kind not in (None, kind):
            continue
        total, complete = measure(options, kind)
        if total:
            report(f"{kind} hands, {options.content}", total, options.examples)
            stated[f"{kind} hands"] = total[OURS].stated
        if not complete:
            print("\nstopped early: the figures are of the pages read so far")
            break
    if options.stated:
        options.stated.write_text(json.dumps([pair for some in stated.values() for pair in some]))
    if options.diagram and stated:
        draw(stated, options.diagram)


if __name__ == "__main__":
    main()
