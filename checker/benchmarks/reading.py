"""How well pages are read: figures on simulated phone photos in hands never trained on.

    python -m checker.benchmarks.reading --data shared/handwriting --fonts .fonts \\
        [--pages 40] [--kind pen|font] [--content students|grammar] [--tesseract] [--jobs 2]

Pages are written by validation writers (pen) or held-out families (font), photographed at 1.5 to
12 megapixels and read as a user's photo would be.  ``students``: circuit working as invented
students write it; ``grammar``: the training grammar, with senseless lines among the rest.
"""

from __future__ import annotations

import argparse
import json
import re
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

import cv2
import numpy as np

from checker.markup import tokens
from checker.reading.page import Line, LineReader
from checker.reading.read_page import read_page
from checker.reading.shape import LineShape, polygon
from checker.training.content import Writer
from checker.training.hands import Hand, load_hands
from checker.training.pages import Page, PageLine, make_page
from checker.training.photo import Shot, photograph

NUMBER = re.compile(r"\d+(?:[.,]\d+)?(?:[×·]10\^\{-?\d+\})?(?:[µunpmk]?[FCVJΩAHW])?")


@dataclass
class Tally:
    """Counts over pages; adds up over processes."""

    count: Counter[str] = field(default_factory=Counter)
    stated: list[tuple[float, bool]] = field(default_factory=list)  # confidence, right
    seconds: list[float] = field(default_factory=list)
    examples: list[tuple[str, str, float]] = field(default_factory=list)

    def add(self, other: Tally) -> None:
        self.count += other.count
        self.stated += other.stated
        self.seconds += other.seconds
        self.examples += other.examples


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
    """Count one working line."""
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
    written = line.written
    centre = shot.to_pixels(written.centre)
    up = np.linalg.norm(
        shot.to_pixels(written.centre - np.stack([0 * written.up, written.up], 1)) - centre, axis=1
    )
    down = np.linalg.norm(
        shot.to_pixels(written.centre + np.stack([0 * written.down, written.down], 1)) - centre,
        axis=1,
    )
    return np.array(polygon(LineShape(centre, up, down, 1.0)))


def score(tally: Tally, page: Page, shot: Shot, lines: Sequence[Line]) -> None:
    """Match the lines read with those written, best overlap first, and count."""
    count = tally.count
    truth = [true_polygon(line, shot) for line in page.lines]
    found = [line for line in lines if line.polygon is not None and line.candidates[0].tokens]
    shapes = [np.array(line.polygon) for line in found]
    table = np.array([[overlap(a, b) for b in shapes] for a in truth]).reshape(len(truth), -1)
    partner: dict[int, int] = {}
    while table.size and table.max() >= 0.5:
        at, over = map(int, np.unravel_index(int(table.argmax()), table.shape))
        partner[at] = over
        table[at], table[:, over] = -1, -1
    count["lines written"] += len(truth)
    count["lines found"] += len(found)
    count["lines matched"] += len(partner)
    for i, line in enumerate(page.lines):
        read = found[partner[i]] if i in partner else None
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


def photos(
    hands: Sequence[Hand], pages: int, first: int, content: str, megapixels: float | None = None
) -> Iterator[tuple[Page, Shot]]:
    for k in range(first, first + pages):
        rng = np.random.default_rng([k, 2024])
        hand = hands[k % len(hands)]
        texts = student_texts(100_000 + k) if content == "students" else None
        page = make_page(rng, hand, texts)
        yield page, photograph(page.sheet, rng, megapixels=megapixels)


def ink_reader() -> LineReader:
    from checker.reading.ink_reader import InkReader

    return InkReader(threads=1)


def read_some(task: tuple[argparse.Namespace, int, int, str]) -> Tally:
    options, first, pages, kind = task
    cv2.setNumThreads(1)
    hands = load_hands(kind, "validation", options.data, options.fonts)  # type: ignore[arg-type]
    reader: LineReader
    if options.tesseract:
        from checker.reading.tesseract_reader import TesseractReader

        reader = TesseractReader()
    else:
        reader = ink_reader()
    tally = Tally()
    for page, shot in photos(hands, pages, first, options.content):
        _, data = cv2.imencode(".jpg", shot.image[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 95])
        start = time.perf_counter()
        reading = read_page(data.tobytes(), reader=reader)
        tally.seconds.append(time.perf_counter() - start)
        score(tally, page, shot, reading.lines)
    return tally


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


def report(name: str, tally: Tally, examples: int) -> None:
    count = tally.count
    print(f"\n== {name}: {len(tally.seconds)} photos")
    for part, whole, label in (
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
    ):
        print(f"  {label:34} {share(count, part, whole)}")
    sure = [right for stated, right in tally.stated if stated >= 0.95]
    if sure:
        wrong = 100 * (1 - sum(sure) / len(sure))
        print(f"  {'wrong though stated >= 0.95':34} {wrong:.2f} % of {len(sure)}")
    print("  stated    lines   right")
    edges = [0, 0.2, 0.4, 0.6, 0.8, 0.9, 0.95, 1.01]
    for low, high in zip(edges, edges[1:], strict=False):
        inside = [right for stated, right in tally.stated if low <= stated < high]
        if inside:
            rate = 100 * sum(inside) / len(inside)
            print(f"  {low:4.2f}-{min(high, 1):4.2f} {len(inside):6} {rate:7.1f} %")
    print(f"  seconds a page (one thread): median {np.median(tally.seconds):.2f}")
    for truth, text, confidence in tally.examples[:examples]:
        print(f"    written {truth}\n    read    {text}  ({confidence:.2f})")


def main() -> None:
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("--data", type=Path, required=True)
    parse.add_argument("--fonts", type=Path, required=True)
    parse.add_argument("--pages", type=int, default=40, help="of each kind of hand; 0: none")
    parse.add_argument("--first", type=int, default=0)
    parse.add_argument("--kind", choices=("pen", "font"))
    parse.add_argument("--content", choices=("students", "grammar"), default="students")
    parse.add_argument("--tesseract", action="store_true", help="read with Tesseract instead")
    parse.add_argument("--jobs", type=int, default=2)
    parse.add_argument("--examples", type=int, default=0, help="misread lines to show")
    parse.add_argument("--stated", type=Path, help="write (confidence, right) pairs as JSON")
    parse.add_argument("--arithmetic", type=int, default=0, help="lines for the blindness check")
    parse.add_argument("--digits", type=int, default=0, help="rows of UCI digits to read as well")
    options = parse.parse_args()
    if options.digits:
        right, digits = digits_right(ink_reader(), list(digit_rows(options.digits)))
        print(f"UCI optical digits read right: {100 * right / digits:.2f} % of {digits}")
    if options.arithmetic:
        physics_blind(options)
    stated: list[tuple[float, bool]] = []
    for kind in ("pen", "font"):
        if options.pages and options.kind in (None, kind):
            each = -(-options.pages // options.jobs)
            tasks = [(options, options.first + k * each, each, kind) for k in range(options.jobs)]
            total = Tally()
            with ProcessPoolExecutor(options.jobs) as pool:
                for tally in pool.map(read_some, tasks):
                    total.add(tally)
            report(f"{kind} hands, {options.content}", total, options.examples)
            stated += total.stated
    if options.stated:
        options.stated.write_text(json.dumps(stated))


if __name__ == "__main__":
    main()
