"""A photo to fill a stack with: 12 megapixels, 15 lines of one student's work on one problem."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path

from checker.stack.intake import GivenPage

LINES = 15
_SEED = 300_000  # no other benchmark uses these pages


def student_photo(data: Path, fonts: Path) -> tuple[str, bytes]:
    """The text of a problem file and a JPEG of working on it, in a hand that never trained."""
    import cv2
    import numpy as np

    from checker.problem.problem_file import problem_to_toml
    from checker.training.hands import load_hands
    from checker.training.pages import make_page
    from checker.training.photo import photograph
    from checker.training.students import page as student_page

    hand = load_hands("pen", "validation", data, fonts)[3]
    for seed in range(_SEED, _SEED + 1000):
        student = student_page(seed, "any", second=False)
        texts = [(line.markup, "struck" if line.struck else "working") for line in student.lines]
        if len(texts) != LINES:
            continue
        rng = np.random.default_rng(seed)
        page = make_page(rng, hand, texts, ruling="grid", size=(210, 297))
        if len(page.lines) == LINES:  # they fit on the sheet
            break
    shot = photograph(page.sheet, rng, megapixels=12, mode="phone")
    photo = cv2.imencode(".jpg", shot.image[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 90])[1]
    return problem_to_toml(student.problem), photo.tobytes()


def copies(photo: bytes, count: int) -> Iterator[GivenPage]:
    """``count`` pages with the same picture and other bytes behind it, so that none is taken over
    from the one before."""
    for number in range(count):
        content = photo + number.to_bytes(4, "big")
        digest = hashlib.sha256(content).hexdigest()
        yield GivenPage(f"{number:05}.jpg", 1, content, digest)
