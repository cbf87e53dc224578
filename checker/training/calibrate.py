"""Fits how sure the line reader may be: stated probability against being right.

    python -m checker.training.calibrate --data shared/handwriting --fonts .fonts --pages 60

Reads simulated photos in hands that the reader has never met (``unmet``; validation hands only
ever measure) and fits a logistic map of the log-odds of the whole text (Platt scaling), written to
``models/calibration.json``.
"""

from __future__ import annotations

import argparse
import json
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Literal

import cv2
import numpy as np

from checker.benchmarks.drawn_photos import photos
from checker.benchmarks.scores import Tally, score
from checker.reading.ink_reader import MODELS, InkReader
from checker.reading.read_page import read_page
from checker.training.varied import unmet

NO_CHANGE = (1.0, 0.0)


class Uncalibrated(InkReader):
    @property
    def _calibration(self) -> tuple[float, float]:
        return NO_CHANGE


def fit(probability: np.ndarray, right: np.ndarray, rounds: int = 50) -> tuple[float, float]:
    """Slope and offset of the log-odds by Newton's method with a little shrinkage to (1, 0)."""
    clipped = np.clip(probability, 1e-9, 1 - 1e-6)
    x = np.stack([np.log(clipped) - np.log1p(-clipped), np.ones(len(clipped))], 1)
    weights = np.array(NO_CHANGE)
    for _ in range(rounds):
        p = 1 / (1 + np.exp(-x @ weights))
        gradient = x.T @ (p - right) + 0.1 * (weights - NO_CHANGE)
        hessian = (x * (p * (1 - p))[:, None]).T @ x + 0.1 * np.eye(2)
        weights = weights - np.linalg.solve(hessian, gradient)
    return float(weights[0]), float(weights[1])


def stated(task: tuple[Path, Path, int, int]) -> list[tuple[float, bool]]:
    data, fonts, first, pages = task
    cv2.setNumThreads(1)
    reader, tally = Uncalibrated(threads=1), Tally()
    plan: tuple[tuple[Literal["pen", "font"], str], ...]
    plan = ("pen", "students"), ("font", "grammar"), ("pen", "grammar")
    for kind, content in plan:
        rng = np.random.default_rng(first)
        hands = [unmet(rng, kind, data, fonts) for _ in range(pages)]
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
    each = max(options.pages // (3 * options.jobs), 1)
    tasks = [(options.data, options.fonts, 1000 * k, each) for k in range(options.jobs)]
    with ProcessPoolExecutor(options.jobs) as pool:
        pairs = np.array([pair for part in pool.map(stated, tasks) for pair in part], float)
    slope, offset = fit(pairs[:, 0], pairs[:, 1])
    found = {"slope": round(slope, 4), "offset": round(offset, 4), "lines": len(pairs)}
    (MODELS / "calibration.json").write_text(json.dumps(found) + "\n")
    print(found)


if __name__ == "__main__":
    main()
