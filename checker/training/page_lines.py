"""Training lines cut from whole simulated photos, as the reading program cuts them.

Straightened strips (``lines``) are cheap; these carry what only a page has: the real light evening,
the camera's perspective, the line finder's small errors.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import cv2
import numpy as np

from checker.reading.ink_reader import frame
from checker.reading.light import even
from checker.reading.shape import LineShape, extract
from checker.training.content import Shapes
from checker.training.hands import Hand
from checker.training.lines import HEIGHT, MOST_TOKENS, Choose, Sample, labelled, one_of
from checker.training.pages import Page, PageLine, make_page
from checker.training.photo import Shot, photograph

Rng = np.random.Generator


def true_shape(line: PageLine, shot: Shot) -> LineShape:
    """Where the line runs on the photo, as a perfect finder would say."""
    written = line.written
    centre = shot.to_pixels(written.centre)
    reach = [
        np.linalg.norm(
            shot.to_pixels(written.centre + np.stack([0 * far, far], 1)) - centre, axis=1
        )
        for far in (-written.up, written.down)
    ]
    return LineShape(centre, reach[0], reach[1], 1.0)


def disturbed(shape: LineShape, rng: Rng) -> LineShape:
    """The shape as a good finder finds it: never so far off that ink is lost at the ends."""
    tall = shape.height
    centre = shape.centre.copy()
    step = np.diff(centre, axis=0)
    step /= np.maximum(np.linalg.norm(step, axis=1, keepdims=True), 1e-6)
    first, last = rng.uniform(-0.7, 0.22, 2) * tall
    centre[0] += step[0] * min(first, 0.4 * shape.length)
    centre[-1] -= step[-1] * min(last, 0.4 * shape.length)
    if rng.random() < 0.6:  # found straighter than it is
        at = np.linspace(-1, 1, len(centre))
        line = np.stack([np.polyval(np.polyfit(at, centre[:, k], 1), at) for k in (0, 1)], 1)
        centre += (line - centre) * rng.uniform(0, 1)
    across = np.array([-step[0][1], step[0][0]])
    centre += across * rng.normal(0, 0.03) * tall
    grow = np.exp(rng.normal(0.02, 0.08, 2))
    if rng.random() < 0.2:
        grow *= rng.uniform(0.92, 1.5, 2)
    ends = np.ones(len(centre))
    return LineShape(
        centre,
        float(shape.up.mean() * grow[0]) * ends,
        float(shape.down.mean() * grow[1]) * ends,
        1.0,
    )


def cut(page: Page, shot: Shot, rng: Rng) -> list[Sample]:
    """Every line of the page as the reader would be given it."""
    width, height = page.sheet.size
    corners = shot.to_pixels(np.array([[0, 0], [width, 0], [width, height], [0, height]], float))
    evened, _ = even(cv2.cvtColor(shot.image, cv2.COLOR_RGB2GRAY), corners)
    samples = []
    for line in page.lines:
        written = line.written
        tokens: Sequence[str] = written.tokens
        boxes = written.boxes
        if line.role != "working":
            tokens, boxes = (f"<{line.role}>",), np.array([written.box])
        if len(tokens) > MOST_TOKENS:
            continue
        strip, to_photo = extract(evened, disturbed(true_shape(line, shot), rng), HEIGHT)
        image, scale, top = frame(strip)
        to_strip = inverse(to_photo, strip.shape[1], strip.shape[0])

        def place(mm: np.ndarray, to_strip=to_strip, scale=scale, top=top) -> np.ndarray:  # type: ignore[no-untyped-def]
            return to_strip(shot.to_pixels(mm)) * scale + [0.0, top]

        samples.append(labelled(image, tokens, boxes, place))
    return samples


def inverse(
    to_photo: Callable[[np.ndarray], np.ndarray], width: int, height: int
) -> Callable[[np.ndarray], np.ndarray]:
    """The way from the photo to the strip: a cubic fitted to a grid of known points."""
    grid = np.stack(np.meshgrid(np.linspace(0, width, 9), np.linspace(0, height, 4)), -1)
    strip = grid.reshape(-1, 2)
    photo = to_photo(strip)
    middle, size = photo.mean(0), photo.std() + 1e-6

    def terms(points: np.ndarray) -> np.ndarray:
        x, y = ((points - middle) / size).T
        powers = [(0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2), (3, 0), (2, 1), (1, 2), (0, 3)]
        return np.stack([x**i * y**j for i, j in powers], 1)

    weights = np.linalg.lstsq(terms(photo), strip, rcond=1e-7)[0]
    return lambda points: terms(points) @ weights


class PageLines:
    """Lines of one simulated photo after another, in the manner of ``lines.Lines``."""

    def __init__(
        self, pens: list[Hand], fonts: list[Hand], rng: Rng, choose: Choose = one_of
    ) -> None:
        self.pens, self.fonts, self.rng, self.choose = pens, fonts, rng, choose
        self.shapes = Shapes()
        self.waiting: list[Sample] = []

    def sample(self) -> Sample:
        while not self.waiting:
            rng = self.rng
            use_pen = self.pens and (not self.fonts or rng.random() < 0.66)
            pool = self.pens if use_pen else self.fonts
            page = make_page(rng, self.choose(rng, pool), shapes=self.shapes)
            megapixels = float(np.exp(rng.uniform(np.log(1.5), np.log(6))))
            shot = photograph(page.sheet, rng, megapixels=megapixels)
            self.waiting = cut(page, shot, rng)
        return self.waiting.pop()
