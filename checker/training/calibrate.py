"""Fits how sure the line reader may be: stated probability against being right.

    python -m checker.training.calibrate --data shared/handwriting --fonts .fonts --pages 60

Reads simulated photos in pen hands that the reader has not met (``unmet``; validation hands only
ever measure) and fits ``checker.reading.calibration``, written to ``models/calibration.json``.
"""

from __future__ import annotations

import argparse
import json
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, astuple
from pathlib import Path

import cv2
import numpy as np

from checker.benchmarks.drawn_photos import photos
from checker.benchmarks.scores import Tally, score
from checker.reading.calibration import AS_IT_IS, Calibration, terms
from checker.reading.ink_reader import MODELS, InkReader
from checker.reading.read_page import read_page
from checker.training.varied import unmet

CONTENTS = ("students", "grammar")


class Uncalibrated(InkReader):
    calibration = AS_IT_IS


def fit(own: np.ndarray, right: np.ndarray, rounds: int = 50) -> Calibration:
    """The likeliest calibration by Newton's method with a little shrinkage to none at all.

    ``own``: probabilities (n,) that the reader gives its texts; ``right`` (n,): whether they are.
    """
    x = terms(own)
    none = np.array(astuple(AS_IT_IS))
    weights = np.zeros(len(none))  # from where Newton's steps do not overshoot
    for _ in range(rounds):
        p = 1 / (1 + np.exp(-x @ weights))
        gradient = x.T @ (p - right) + 0.1 * (weights - none)
        hessian = (x * (p * (1 - p))[:, None]).T @ x + 0.1 * np.eye(len(none))
        weights = weights - np.linalg.solve(hessian, gradient)
    return Calibration(*weights.tolist())


def stated(task: tuple[Path, Path, int, int]) -> list[tuple[float, bool]]:
    data, fonts, first, pages = task
    cv2.setNumThreads(1)
    reader, tally = Uncalibrated(threads=1), Tally()
    for content in CONTENTS:
        rng = np.random.default_rng(first)
        hands = [unmet(rng, "pen", data, fonts) for _ in range(pages)]
        for page, shot in photos(hands, pages, 700_000 + first, content):
            _, file = cv2.imencode(".jpg", shot.image[..., ::-1])
            score(tally, page, shot, read_page(file.tobytes(), reader=reader).lines)
    return [(probability, right) for probability, right in tally.stated if probability > 0]


def main() -> None:
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("--data", type=Path, required=True)
    parse.add_argument("--fonts", type=Path, required=True)
    parse.add_argument("--pages", type=int, default=60)
    parse.add_argument("--jobs", type=int, default=2)
    options = parse.parse_args()
    each = max(options.pages // (len(CONTENTS) * options.jobs), 1)
    tasks = [(options.data, options.fonts, 1000 * k, each) for k in range(options.jobs)]
    with ProcessPoolExecutor(options.jobs) as pool:
        pairs = np.array([pair for part in pool.map(stated, tasks) for pair in part], float)
    its = fit(pairs[:, 0], pairs[:, 1])
    found = {name: round(value, 4) for name, value in asdict(its).items()} | {"lines": len(pairs)}
    (MODELS / "calibration.json").write_text(json.dumps(found) + "\n")
    print(found)


if __name__ == "__main__":
    main()
