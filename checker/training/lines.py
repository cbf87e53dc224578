"""Endless training lines: one line of work with its neighbours, as the line reader meets it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, Protocol

import cv2
import numpy as np

from checker.markup import TOKENS
from checker.training import hand_drawn
from checker.training.compose import Setter, Style, Written, draw_style
from checker.training.content import Shapes, Writer
from checker.training.hands import Hand, load_hands
from checker.training.marks import Mark
from checker.training.photo import strip
from checker.training.sketch import circuit, prose

Rng = np.random.Generator
Split = Literal["train", "everyone", "validation"]
HEIGHT, LONGEST, SPECIALS, EOS = 96, 1280, 3, 2
MOST_TOKENS = 110
WIDTHS = (160, 256, 352, 448, 576, 704, 832, 960, 1120, 1280)
CELLS_PER_LINE = 96 * 640  # a line of middling width
NUMBER = {token: SPECIALS + at for at, token in enumerate(TOKENS)}


@dataclass(frozen=True)
class Sample:
    """image (96, W) uint8; ids with EOS; boxes (len(ids), 4) in pixels, nan where there is none."""

    image: np.ndarray
    ids: np.ndarray
    boxes: np.ndarray
    markup: str


class Source(Protocol):
    """Gives one line after another; None stands for one that was too long."""

    def sample(self) -> Sample | None: ...


Choose = Callable[[Rng, Sequence[Hand]], Hand]  # the hand of a page


def one_of(rng: Rng, hands: Sequence[Hand]) -> Hand:
    """A hand as it is."""
    return hands[int(rng.integers(len(hands)))]


class Lines:
    """Draws lines of a set of hands, pen and font mixed."""

    def __init__(
        self,
        pens: list[Hand],
        fonts: list[Hand],
        rng: Rng,
        severity: float = 1.0,
        choose: Choose = one_of,
    ) -> None:
        self.pens, self.fonts, self.rng, self.severity = pens, fonts, rng, severity
        self.choose = choose
        self.left = 0
        self.shapes = Shapes()

    def _new_page(self) -> None:
        rng = self.rng
        use_pen = self.pens and (not self.fonts or rng.random() < 0.66)
        pool = self.pens if use_pen else self.fonts
        self.hand = self.choose(rng, pool)
        self.style: Style = draw_style(rng)
        self.writer = Writer(rng, shapes=self.shapes)
        self.ruling = str(
            rng.choice(["blank", "ruled", "grid", "dotted"], p=[0.3, 0.28, 0.24, 0.18])
        )
        self.crowd = float(rng.uniform(-0.12, 1.0))
        self.left = int(rng.integers(4, 10))

    def sample(self, text: str | None = None) -> Sample | None:
        """The next line, ``text`` or one of its own; None where it is too long."""
        if self.left <= 0:
            self._new_page()
        self.left -= 1
        rng, style = self.rng, self.style
        setter = Setter(self.hand, style, rng)
        roll = rng.random()
        extra: list[Mark] = []
        if text is None and roll < 0.035:
            kind = "aside"
            written, extra = self._aside(setter)
        else:
            kind = "working"
            written = setter.set_line(text or self.writer.line(), 0.0, 0.0)
            if text is None and roll < 0.06:
                kind = "struck"
        x0, y0, x1, y1 = written.box
        for mark in extra:
            points = np.concatenate(mark.paths)
            x0, y0 = min(x0, points[:, 0].min()), min(y0, points[:, 1].min())
            x1, y1 = max(x1, points[:, 0].max()), max(y1, points[:, 1].max())
        if kind == "struck":
            paths = hand_drawn.scribble(
                rng, (x1 - x0) / style.height, (y1 - y0) / style.height * 0.8
            )
            moved = tuple(
                (path * style.height + [x0, y0 + (y1 - y0) * 0.1]).astype(np.float32)
                for path in paths
            )
            extra.append(Mark(moved, False, style.pen, style.darkness, style.colour))
        elif kind == "working":
            extra += self._decoration(x0, y0, x1, y1, len(written.tokens))
        tall = max(y1 - y0, 1.3 * style.height)  # a lone dot is not blown up to fill the frame
        y0, y1 = (y0 + y1 - tall) / 2, (y0 + y1 + tall) / 2
        # The finder's strips leave more or less room than they should.
        margin = tall * rng.uniform(0.02, 0.34 if rng.random() < 0.8 else 0.55, 2) + 0.1
        side = style.height * rng.uniform(0.1, 1.0 if rng.random() < 0.8 else 2.5, 2)
        window = (x0 - side[0], y0 - margin[0], x1 + side[1], y1 + margin[1])
        px_per_mm = min(HEIGHT / (window[3] - window[1]), LONGEST / (window[2] - window[0]))
        # Very small lines come enlarged from the page; the enlarging is the camera's, not ours.
        px_per_mm *= float(rng.uniform(0.82, 1.0)) if rng.random() < 0.3 else 1.0
        near = within(self._neighbours(setter, x0, y0, x1, y1), window)
        marks = [*written.marks, *extra, *near]
        shot = strip(
            marks, window, rng, px_per_mm=px_per_mm, severity=self.severity, ruling=self.ruling
        )
        tokens: tuple[str, ...] = written.tokens
        boxes = written.boxes
        if kind != "working":
            tokens = (f"<{kind}>",)
            boxes = np.array([[x0, y0, x1, y1]])
        if len(tokens) > MOST_TOKENS:
            return None
        image, offset = fit(shot.image)
        return labelled(image, tokens, boxes, lambda mm: shot.to_pixels(mm) + offset)

    def _aside(self, setter: Setter) -> tuple[Written, list[Mark]]:
        rng, style = self.rng, self.style
        if rng.random() < 0.5:
            text = prose(rng, int(rng.integers(3, 8)))
            return setter.set_line(text, 0.0, 0.0, float(rng.uniform(0.6, 1.0))), []
        wide, high = style.height * rng.uniform(6, 22), style.height * rng.uniform(4, 10)
        marks = circuit(rng, self.hand, style, 0.0, 0.0, float(wide), float(high))
        return setter.set_line("C", float(wide) * 0.5, float(high) * 0.5, 0.8), list(marks)

    def _decoration(self, x0: float, y0: float, x1: float, y1: float, count: int) -> list[Mark]:
        """A box round the answer, an underline, a tick: common, and no part of the markup."""
        rng, h = self.rng, self.style.height
        roll = rng.random()
        if roll > 0.09:
            return []
        pad = h * rng.uniform(0.1, 0.3)
        from_x = x0 if count < 14 or roll < 0.02 else x0 + (x1 - x0) * rng.uniform(0.4, 0.8)
        width = x1 - from_x + 2 * pad
        if roll < 0.05:
            paths = hand_drawn.box(rng, width / h, (y1 - y0 + 2 * pad) / h)
            place = [from_x - pad, y0 - pad]
        else:
            paths = (hand_drawn.line(rng, width / h),)
            place = [from_x - pad, y1 + pad]
        moved = tuple((path * h + place).astype(np.float32) for path in paths)
        return [Mark(moved, False, self.style.pen, self.style.darkness, self.style.colour)]

    def _neighbours(self, setter: Setter, x0: float, y0: float, x1: float, y1: float) -> list[Mark]:
        rng, h = self.rng, self.style.height
        marks: list[Mark] = []
        for side in (-1, 1):
            if rng.random() < 0.3:
                continue
            near = setter.set_line(self.writer.line(), x0 + float(rng.normal(0, 2 * h)), 0.0)
            low, high = near.box[1], near.box[3]
            gap = h * max(self.crowd + float(rng.normal(0, 0.15)), -0.15)
            dy = y0 - gap - high if side < 0 else y1 + gap - low
            shift = np.array([0.0, dy], np.float32)
            for mark in near.marks:
                moved = tuple(path + shift for path in mark.paths)
                marks.append(Mark(moved, mark.filled, mark.width, mark.darkness, mark.colour))
        return marks


def within(marks: list[Mark], window: tuple[float, float, float, float]) -> list[Mark]:
    """Only the strokes that can show in the window (mm)."""
    low, high = np.array(window[:2]) - 2.0, np.array(window[2:]) + 2.0
    kept = []
    for mark in marks:
        paths = tuple(p for p in mark.paths if (p.max(0) > low).all() and (p.min(0) < high).all())
        if paths:
            kept.append(Mark(paths, mark.filled, mark.width, mark.darkness, mark.colour))
    return kept


def fit(
    image: np.ndarray, height: int = HEIGHT, longest: int = LONGEST
) -> tuple[np.ndarray, np.ndarray]:
    """Centre a strip in the reader's frame; also how far (x, y) the pixels moved."""
    h, w = image.shape
    if h > height or w > longest:
        image = image[:height, :longest]
        h, w = image.shape
    top = (height - h) // 2
    white = int(np.percentile(image, 80))
    wide = -(-w // 16) * 16
    out = cv2.copyMakeBorder(
        image, top, height - h - top, 0, wide - w, cv2.BORDER_CONSTANT, value=white
    )
    return out, np.array([0.0, top])


def labelled(
    image: np.ndarray,
    tokens: Sequence[str],
    boxes: np.ndarray,
    to_pixels: Callable[[np.ndarray], np.ndarray],
) -> Sample:
    """A line image with its tokens, whose ``boxes`` (n, 4) are in mm."""
    pixels = _boxes_to_pixels(boxes, to_pixels)
    pixels = np.concatenate([pixels, np.full((1, 4), np.nan)]).astype(np.float32)
    ids = np.array([NUMBER[token] for token in tokens] + [EOS], np.int64)
    return Sample(image, ids, pixels, "".join(tokens))


def _boxes_to_pixels(
    boxes: np.ndarray, to_pixels: Callable[[np.ndarray], np.ndarray]
) -> np.ndarray:
    corners = boxes[:, [0, 1, 2, 1, 2, 3, 0, 3]].reshape(-1, 2)
    known = ~np.isnan(corners[:, 0])
    out = np.full_like(corners, np.nan)
    if known.any():
        out[known] = to_pixels(corners[known])
    quads = out.reshape(-1, 4, 2)
    return np.concatenate([quads.min(1), quads.max(1)], 1)


@dataclass(frozen=True)
class Batch:
    image: np.ndarray  # (N, 96, W) uint8
    ids: np.ndarray  # (N, T) int64, padded with 0
    boxes: np.ndarray  # (N, T, 4) float32
    widths: np.ndarray  # (N,)


def batches(lines: Source, cells: int) -> Iterator[Batch]:
    """Batches of lines of like width, each of about ``cells`` pixels."""
    waiting: dict[int, list[Sample]] = {width: [] for width in WIDTHS}
    while True:
        sample = lines.sample()
        if sample is None:
            continue
        width = next((w for w in WIDTHS if w >= sample.image.shape[1]), WIDTHS[-1])
        queue = waiting[width]
        queue.append(sample)
        if len(queue) * width * HEIGHT >= cells:
            yield collate(queue, width)
            waiting[width] = []


def collate(samples: list[Sample], width: int) -> Batch:
    n, longest = len(samples), max(len(sample.ids) for sample in samples)
    image = np.full((n, HEIGHT, width), 255, np.uint8)
    ids = np.zeros((n, longest), np.int64)
    boxes = np.full((n, longest, 4), np.nan, np.float32)
    for at, sample in enumerate(samples):
        image[at, :, : sample.image.shape[1]] = sample.image
        ids[at, : len(sample.ids)] = sample.ids
        boxes[at, : len(sample.ids)] = sample.boxes
    return Batch(image, ids, boxes, np.array([sample.image.shape[1] for sample in samples]))


def load_both(
    split: Split, data: Path, fonts: Path, kind: str = "both"
) -> tuple[list[Hand], list[Hand]]:
    """Pens and typefaces; one of them empty where only the other ``kind`` is wanted."""
    pens = load_hands("pen", split, data, fonts) if kind != "font" else []
    outlines = load_hands("font", split, data, fonts) if kind != "pen" else []
    return pens, outlines


def make_lines(split: Split, data: Path, fonts: Path, rng: Rng, kind: str = "both") -> Lines:
    return Lines(*load_both(split, data, fonts, kind), rng)
