"""Measures what the line reader confuses, for judging misread pages.

    python -m checker.training.confusions --data shared/handwriting --fonts .fonts [--unseen]

Simulated photos of invented students' working in hands that the reader has not met (``unmet``, as
long as it was not trained in every hand; two of three with a pen, one in a typeface) are read as a
user's would be; with ``--unseen``, in hands that only measure.  What became of every line that was
found, its doubts and the probabilities stated, is written to ``students/misreadings.json``, or to
``misreadings_unseen.json``, from which ``students/misreading`` misreads pages.  Lines that the
reader could not read at all are left out, and the share of lines not found is only printed.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from itertools import groupby
from pathlib import Path
from typing import Literal

import cv2
import numpy as np

from checker import markup
from checker.benchmarks.drawn_photos import photo, validation_hands
from checker.benchmarks.readers import ink_reader
from checker.benchmarks.scores import align, matched
from checker.reading.page import Candidate
from checker.reading.read_page import read_page
from checker.training.lines import one_of
from checker.training.students.misreading import MEASURED, UNSEEN
from checker.training.varied import unmet

FIRST = 800_000  # number of the first page; other numbers than any benchmark's
IN_DOUBT = 0.98  # stated of a token below which it is in doubt though every candidate has it
HOPELESS = 0.5  # share of wrong tokens from which a line was not read at all
Row = tuple[int, int, list[float], list[list[tuple[str, list[str], float]]]]


def row(truth: str, candidates: Sequence[Candidate]) -> tuple[Row, bool]:
    """A line of the file (see ``misreading.Measured``), and whether a candidate has the truth."""
    tokens = markup.tokens(markup.canonical(truth))
    texts = [markup.tokens(markup.canonical(candidate.text)) for candidate in candidates]
    spread = [_spread(tokens, text) for text in texts]
    best = _stated(candidates[0], spread[0])
    doubts = [
        (at, (token, ["".join(its[at]) for its in spread], round(best[at], 4)))
        for at, token in enumerate(tokens)
        if best[at] < IN_DOUBT or any(its[at] != [token] for its in spread)
    ]
    runs = [
        [doubt for _, (_, doubt) in run]
        for _, run in groupby(enumerate(doubts), key=lambda one: one[1][0] - one[0])
    ]
    errors = sum(
        max(len(its), 1) if token not in its else len(its) - 1
        for token, its in zip(tokens, spread[0], strict=True)
    )
    stated = [round(candidate.probability, 4) for candidate in candidates]
    return (len(tokens), errors, stated, runs), tokens in texts


def _spread(truth: Sequence[str], read: Sequence[str]) -> list[list[str]]:
    """What was read for every token of the truth, with what was slipped in after it."""
    found: list[list[str]] = [[] for _ in truth]
    at = 0
    for i, j in align(truth, read):
        at = at if i is None else i
        if j is not None:
            found[at].append(read[j])
    return found


def _stated(best: Candidate, spread: Sequence[Sequence[str]]) -> list[float]:
    """The least probability stated of what was read for every token; for one that was overlooked,
    that of what comes next."""
    its = [token.probability for token in best.tokens]
    if "".join(token.text for token in best.tokens) != "".join(map("".join, spread)):
        return [best.probability] * len(spread)
    out, at = [], 0
    for read in spread:
        out.append(min(its[at : at + max(len(read), 1)], default=best.probability))
        at += len(read)
    return out


def read_pages(task: tuple[Path, Path, bool, int, int]) -> tuple[list[list[tuple[Row, bool]]], int]:
    """The lines of each of ``pages`` pages from ``start`` on; how many were not found."""
    data, fonts, unseen, start, pages = task
    cv2.setNumThreads(1)
    reader = ink_reader()
    photos, lost = [], 0
    for number in range(FIRST + start, FIRST + start + pages):
        rng = np.random.default_rng(number)
        kind: Literal["pen", "font"] = "pen" if rng.random() < 2 / 3 else "font"
        if unseen:
            hand = one_of(rng, validation_hands(kind, data, fonts))
        else:
            hand = unmet(rng, kind, data, fonts)
        rows = []
        page, shot = photo(hand, number, "students")
        _, file = cv2.imencode(".jpg", shot.image[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 95])
        for line, read in matched(page, shot, read_page(file.tobytes(), reader=reader).lines):
            if line.role == "working" and read is not None and read.role == "working":
                rows.append(row(line.markup, read.candidates))
            lost += line.role == "working" and read is None
        photos.append(rows)
    return photos, lost


def main() -> None:
    parse = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parse.add_argument("--data", type=Path, required=True)
    parse.add_argument("--fonts", type=Path, required=True)
    parse.add_argument("--pages", type=int, default=120)
    parse.add_argument("--jobs", type=int, default=2)
    parse.add_argument("--unseen", action="store_true", help="in hands that only measure")
    options = parse.parse_args()
    each = -(-options.pages // options.jobs)
    its = options.data, options.fonts, options.unseen
    tasks = [(*its, each * k, each) for k in range(options.jobs)]
    with ProcessPoolExecutor(options.jobs) as pool:
        parts = list(pool.map(read_pages, tasks))
    every = [photo for photos, _ in parts for photo in photos]
    photos = [[one for one in photo if one[0][1] < HOPELESS * one[0][0]] for photo in every]
    kept = [one for photo in photos for one in photo]
    rows = [r for r, _ in kept]
    sure = [r for r in rows if r[2][0] >= 0.95]
    print(
        f"{sum(map(len, every))} lines read, {sum(lost for _, lost in parts)} not found, "
        f"{sum(map(len, every)) - len(kept)} not read at all; of the others\n"
        f"  characters wrong            {sum(r[1] for r in rows) / sum(r[0] for r in rows):.2%}\n"
        f"  exact                       {sum(not r[1] for r in rows) / len(rows):.1%}\n"
        f"  right among the candidates  {sum(among for _, among in kept) / len(rows):.1%}\n"
        f"  wrong though stated >= 0.95 {sum(r[1] > 0 for r in sure) / len(sure):.2%}"
        f" of {len(sure)}"
    )
    lines = [[r for r, _ in photo] for photo in photos if photo]
    text = ",\n".join(json.dumps(p, ensure_ascii=False, separators=(",", ":")) for p in lines)
    out = UNSEEN if options.unseen else MEASURED
    out.write_text(f"[\n{text}\n]\n", encoding="utf-8")


if __name__ == "__main__":
    main()
