"""How fast a photo is read here: 12 megapixels, 15 lines, no GPU.

    python -m checker.benchmarks.speed --data shared/handwriting --fonts .fonts [--times 20]

Prints how long imports and models take to load, the median of a whole reading with two threads,
the peak of memory, and the ratio to one pass of Tesseract over the same photo in the same run.
"""

from __future__ import annotations

import argparse
import resource
import time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from statistics import median

LINES = 15


def photo_file(data: Path, fonts: Path) -> bytes:
    """A grid sheet of 15 full lines in a writer's hand, as a 12-megapixel JPEG."""
    import cv2
    from numpy.random import default_rng

    from checker.training.content import Writer
    from checker.training.hands import load_hands
    from checker.training.pages import make_page
    from checker.training.photo import photograph

    rng = default_rng(5)
    hand = load_hands("pen", "validation", data, fonts)[3]
    writer = Writer(rng)
    texts: list[tuple[str, str]] = []
    while len(texts) < LINES:
        text = writer.line(40)
        if len(text) > 12:
            texts.append((text, "working"))
    page = make_page(rng, hand, texts, ruling="grid", size=(210, 297))
    shot = photograph(page.sheet, rng, megapixels=12, mode="phone")
    return cv2.imencode(".jpg", shot.image[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 90])[1].tobytes()


def main() -> None:
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("--data", type=Path, required=True)
    parse.add_argument("--fonts", type=Path, required=True)
    parse.add_argument("--times", type=int, default=20)
    options = parse.parse_args()

    start = time.perf_counter()
    import cv2
    import numpy as np

    from checker.reading.ink_reader import InkReader
    from checker.reading.layout_net import TrainedFinder
    from checker.reading.read_page import read_page

    imported = time.perf_counter()
    reader, finder = InkReader(), TrainedFinder()
    reader.read([np.full((40, 200), 255, np.uint8)])
    corners = np.array([[0, 0], [64, 0], [64, 64], [0, 64]], float)
    finder.find(np.full((64, 64, 3), 255, np.uint8), np.full((64, 64), 255, np.uint8), corners)
    loaded = time.perf_counter()
    print(f"imports {imported - start:.2f} s")
    print(f"all models loaded and used once {loaded - imported:.2f} s")

    with ProcessPoolExecutor(1, get_context("spawn")) as pool:  # its memory is not the reader's
        data = pool.submit(photo_file, options.data, options.fonts).result()
    seconds = []
    for _ in range(options.times):
        start = time.perf_counter()
        reading = read_page(data, reader=reader, finder=finder)
        seconds.append(time.perf_counter() - start)
    count = len(reading.lines)
    print(f"one photo, {count} lines found: median {median(seconds):.2f} s of {len(seconds)}")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory {peak:.0f} MB")

    import pytesseract  # only now: what it needs is no memory of the reader

    image = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
    passes = []
    for _ in range(3):
        start = time.perf_counter()
        pytesseract.image_to_string(image)
        passes.append(time.perf_counter() - start)
    ratio = median(seconds) / median(passes)
    print(f"one Tesseract pass over it: median {median(passes):.2f} s; ratio {ratio:.2f}")


if __name__ == "__main__":
    main()
