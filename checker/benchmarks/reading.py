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
import re
import signal
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from multiprocessing import Pool
from pathlib import Path
from typing import Literal

import cv2
import numpy as np

from checker.benchmarks.reliability import bins, draw
from checker.markup import canonical, tokens
from checker.reading.page import Line, LineReader
from checker.reading.read_page import read_page
from checker.reading.shape import polygon
from checker.training.content import Writer
from checker.training.hands import Hand, load_hands
from checker.training.page_lines import true_shape
from checker.training.pages import Page, PageLine, make_page
from checker.training.photo import Shot, photograph

NUMBER = re.compile(r"\d+(?:[.,]\d+)?(?:[×·]10\^\{-?\d+\})?(?:[µunpmk]?[FCVJΩAHW])?")
OURS = "ours"
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


@dataclass
class Tally:
    """Counts over pages; adds up over processes."""

    count: Counter[str] = field(default_factory=Counter)
    stated: list[tuple[float, bool]] = field(default_factory=list)  # confidence, right
    seconds: list[float] = field(default_factory=list)
    examples: list[tuple[str, str, float]] = field(default_factory=list)
    hands: set[str] = field(default_factory=set)

    def add(self, other: Tally) -> None:
        self.count += other.count
        self.stated += other.stated
        self.seconds += other.seconds
        self.examples += other.examples
        self.hands |= other.hands


def align(truth: Sequence[str], read: Sequence[str]) -> list[tuple[int | None, int | None]]:
    """Pairs of positions of a shortest edit path; None where one side has nothing."""
    n, m = len(truth), len(read)
    cost = np.zeros((n + 1, m + 1), int)
    cost[:, 0], cost[0] = np.arange(n + 1), np.arange(m + 1)
    for i in range(1, n + 1):
        for j in range(1, m + 1):
            change = cost[i - 1, j - 1] + (truth[i - 1] != read[j - 1])
            cost[i, j] = min(change, cost[i - 1, j] + 1, cost[i, j - 1] + 1)
    pairs: list[tuple[int | None, int | None]] = []
    i, j = n, m
    while i or j:
        if i and j and cost[i, j] == cost[i - 1, j - 1] + (truth[i - 1] != read[j - 1]):
            i, j = i - 1, j - 1
            pairs.append((i, j))
        elif i and cost[i, j] == cost[i - 1, j] + 1:
            i -= 1
            pairs.append((i, None))
        else:
            j -= 1
            pairs.append((None, j))
    return pairs[::-1]


def compare(tally: Tally, truth: str, candidates: Sequence[tuple[str, float]]) -> None:
    """Count one working line; spaces that nobody sees are no difference."""
    truth = canonical(truth)
    candidates = [(canonical(text), confidence) for text, confidence in candidates]
    text, confidence = candidates[0]
    a, b = tokens(truth), tokens(text)
    pairs = align(a, b)
    count = tally.count
    right = text == truth
    count["lines"] += 1
    count["exact"] += right
    count["among candidates"] += any(other == truth for other, _ in candidates)
    count["characters"] += len(a)
    count["errors"] += sum(i is None or j is None or a[i] != b[j] for i, j in pairs)
    for i, j in pairs:
        was = i is not None and a[i] == "."
        now = j is not None and b[j] == "."
        count["points"] += was
        count["points read"] += now
        count["points right"] += was and now
    count_numbers(count, truth, a, b, pairs)
    tally.stated.append((confidence, right))
    if not right:
        tally.examples.append((truth, text, confidence))


def count_numbers(
    count: Counter[str],
    truth: str,
    a: Sequence[str],
    b: Sequence[str],
    pairs: Sequence[tuple[int | None, int | None]],
) -> None:
    """Numbers with their units: right when every token of one is, and nothing was slipped in."""
    ends = np.cumsum([len(token) for token in a])
    where = {int(end - len(token)): k for k, (token, end) in enumerate(zip(a, ends, strict=True))}
    stops = {int(end): k for k, end in enumerate(ends)}
    for match in NUMBER.finditer(truth):
        if match.start() not in where or match.end() not in stops:
            continue
        first, last = where[match.start()], stops[match.end()]
        inside = [k for k, (i, _) in enumerate(pairs) if i is not None and first <= i <= last]
        span = pairs[inside[0] : inside[-1] + 1]
        good = all(i is not None and j is not None and a[i] == b[j] for i, j in span)
        for beside in (inside[0] - 1, inside[-1] + 1):  # a digit or point too many at either end
            if 0 <= beside < len(pairs):
                i, j = pairs[beside]
                good = good and not (i is None and j is not None and b[j] in "0123456789.,")
        count["numbers"] += 1
        count["numbers right"] += good


def overlap(one: np.ndarray, two: np.ndarray) -> float:
    """Intersection over union of two convex polygons (n, 2)."""
    shared, _ = cv2.intersectConvexConvex(one.astype(np.float32), two.astype(np.float32))
    area = cv2.contourArea(one.astype(np.float32)) + cv2.contourArea(two.astype(np.float32))
    return float(shared / max(area - shared, 1e-6))


def true_polygon(line: PageLine, shot: Shot) -> np.ndarray:
    """The line's strip on the photo, made as the reading makes its own."""
    return np.array(polygon(true_shape(line, shot)))


def matched(
    page: Page, shot: Shot, lines: Sequence[Line]
) -> list[tuple[PageLine, Line | None]]:
    """The lines written, each with the one read there, best overlap first."""
    truth = [true_polygon(line, shot) for line in page.lines]
    found = [line for line in lines if line.polygon is not None and line.candidates[0].tokens]
    shapes = [np.array(line.polygon) for line in found]
    table = np.array([[overlap(a, b) for b in shapes] for a in truth]).reshape(len(truth), -1)
    partner: dict[int, Line] = {}
    while table.size and table.max() >= 0.5:
        at, over = map(int, np.unravel_index(int(table.argmax()), table.shape))
        partner[at] = found[over]
        table[at], table[:, over] = -1, -1
    return [(line, partner.get(at)) for at, line in enumerate(page.lines)]


def score(tally: Tally, page: Page, shot: Shot, lines: Sequence[Line]) -> None:
    """Match the lines read with those written and count."""
    count = tally.count
    pairs = matched(page, shot, lines)
    count["lines written"] += len(pairs)
    count["lines found"] += sum(
        line.polygon is not None and bool(line.candidates[0].tokens) for line in lines
    )
    count["lines matched"] += sum(read is not None for _, read in pairs)
    for line, read in pairs:
        if line.role == "working":
            texts = [(c.text, c.probability) for c in read.candidates] if read else [("", 0.0)]
            compare(tally, line.markup, texts)
        else:
            count[line.role] += 1
            count[f"{line.role} right"] += read is not None and read.role == line.role


def student_texts(seed: int) -> list[tuple[str, str]]:
    from checker.training.students import page as student_page

    made = student_page(seed, None if seed % 2 else "any")
    return [(line.markup, "struck" if line.struck else "working") for line in made.lines]


def hand_of(hands: Sequence[Hand], at: int, pages: int) -> Hand:
    """Whose hand page ``at`` of so many is in: few pages are spread over all hands."""
    return hands[at * len(hands) // pages if pages < len(hands) else at % len(hands)]


def photo(
    hand: Hand, number: int, content: str, megapixels: float | None = None
) -> tuple[Page, Shot]:
    """Page ``number`` of a kind of content, written and photographed; the same every time."""
    rng = np.random.default_rng([number, 2024])
    page = make_page(rng, hand, student_texts(100_000 + number) if content == "students" else None)
    return page, photograph(page.sheet, rng, megapixels=megapixels)


def photos(
    hands: Sequence[Hand], pages: int, first: int, content: str, megapixels: float | None = None
) -> Iterator[tuple[Page, Shot]]:
    for k in range(pages):
        yield photo(hand_of(hands, k, pages), first + k, content, megapixels)


def ink_reader() -> LineReader:
    from checker.reading.ink_reader import InkReader

    return InkReader(threads=1)


def readers(tesseract: bool) -> dict[str, LineReader]:
    """The readers measured, ours first."""
    if not tesseract:
        return {OURS: ink_reader()}
    from checker.reading.tesseract_reader import TesseractReader

    return {OURS: ink_reader(), "Tesseract": TesseractReader()}


@cache
def validation_hands(kind: Literal["pen", "font"], data: Path, fonts: Path) -> list[Hand]:
    """The hands that only measure, loaded once in a process."""
    return load_hands(kind, "validation", data, fonts)


_readers = cache(readers)


def start_worker() -> None:
    """For processes that draw and read pages."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the one who counts
    cv2.setNumThreads(1)


def read_one(task: tuple[argparse.Namespace, str, int]) -> dict[str, Tally]:
    """Draw one page once and read it with every reader."""
    options, kind, at = task
    hands = validation_hands(kind, options.data, options.fonts)
    hand = hand_of(hands, at, options.pages)
    page, shot = photo(hand, options.first + at, options.content)
    _, data = cv2.imencode(".jpg", shot.image[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 95])
    found = {}
    for name, reader in _readers(options.tesseract).items():
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


def digit_rows(count: int) -> Iterator[tuple[np.ndarray, str]]:
    """Rows of five digits written by real people, outside the project: the UCI optical digits that
    scikit-learn bundles, 8x8 pixels each and so enlarged."""
    from sklearn.datasets import load_digits

    data = load_digits()
    rng = np.random.default_rng(5)
    for _ in range(count):
        picked = rng.integers(0, len(data.images), 5)
        parts = []
        for k in picked:
            ink = data.images[k].astype(np.float32) * 16
            big = np.clip(cv2.resize(ink, (44, 56), interpolation=cv2.INTER_CUBIC), 0, 255)
            parts.append(np.pad(big, ((12, 12), (3, 3))))
        image = 255 - np.concatenate(parts, 1).astype(np.uint8)
        yield cv2.GaussianBlur(image, (0, 0), 1.2), "".join(map(str, data.target[picked]))


def digits_right(reader: LineReader, rows: Sequence[tuple[np.ndarray, str]]) -> tuple[int, int]:
    """Digits read right (rows of another length count as wrong), and digits."""
    found = reader.read([image for image, _ in rows])
    right = sum(
        sum(a == b for a, b in zip(candidates[0].text, truth, strict=True))
        for candidates, (_, truth) in zip(found, rows, strict=True)
        if len(candidates[0].text) == len(truth)
    )
    return right, 5 * len(rows)


def physics_blind(options: argparse.Namespace) -> None:
    """Lines whose arithmetic is right against lines whose arithmetic is wrong, same hands: a reader
    that had learned arithmetic would read the wrong ones worse."""
    from checker.training.lines import Sample, make_lines

    rng = np.random.default_rng(11)
    source = make_lines("validation", options.data, options.fonts, rng)
    pairs: list[tuple[Sample, bool]] = []
    while len(pairs) < options.arithmetic:
        text = Writer(rng).arithmetic(right := bool(len(pairs) % 2))
        if sample := source.sample(text):
            pairs.append((sample, right))
    found = ink_reader().read([sample.image for sample, _ in pairs])
    rates = []
    for side in (True, False):
        exact = [
            candidates[0].text == sample.markup
            for candidates, (sample, right) in zip(found, pairs, strict=True)
            if right == side
        ]
        rates.append(sum(exact) / len(exact))
    spread = 1.96 * np.sqrt(sum(rate * (1 - rate) for rate in rates) / (len(pairs) / 2))
    print(
        f"arithmetic lines read: right {100 * rates[0]:.1f} %, wrong {100 * rates[1]:.1f} % "
        f"(difference {100 * (rates[0] - rates[1]):+.1f}; 95 % of chance ±{100 * spread:.1f})"
    )


def share(count: Counter[str], part: str, whole: str) -> str:
    return f"{100 * count[part] / count[whole]:.2f} % of {count[whole]}" if count[whole] else "-"


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
        physics_blind(options)
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
