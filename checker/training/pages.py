"""Whole pages: lines of work down a sheet with what else people put there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from checker.training import hand_drawn
from checker.training.compose import Setter, Style, Written, draw_style
from checker.training.content import LONGEST, Shapes, Writer
from checker.training.hands import Hand
from checker.training.marks import Mark, Sheet
from checker.training.sketch import circuit, prose

Rng = np.random.Generator
Box = tuple[float, float, float, float]
SIZES = ((210.0, 297.0), (216.0, 279.0), (210.0, 297.0), (148.0, 210.0))


@dataclass(frozen=True)
class PageLine:
    """A line as written; ``role`` is working, struck or aside (prose, a name)."""

    written: Written
    role: str

    @property
    def markup(self) -> str:
        return self.written.markup if self.role == "working" else f"<{self.role}>"


@dataclass(frozen=True)
class Page:
    sheet: Sheet
    lines: tuple[PageLine, ...]
    drawings: tuple[Box, ...]  # mm


def make_page(
    rng: Rng,
    hand: Hand,
    texts: Sequence[tuple[str, str]] | None = None,
    style: Style | None = None,
    ruling: str | None = None,
    size: tuple[float, float] | None = None,
    sketch: bool = True,
    shapes: Shapes | None = None,
) -> Page:
    """A page in one hand; ``texts`` are (markup, role), drawn at random where not given.

    ``sketch``: given texts may have a drawing of a circuit (any circuit) above them.
    ``shapes``: invented lines to borrow from, kept from page to page.
    """
    style = style or draw_style(rng)
    size = size or SIZES[int(rng.integers(len(SIZES)))]
    ruling = ruling or str(rng.choice(["blank", "ruled", "grid", "dotted"]))
    page = _Layout(rng, hand, style, size)
    if texts is None:
        page.fill(shapes)
    else:
        page.write(texts, sketch)
    marks = tuple(mark for line in page.lines for mark in line.written.marks) + tuple(page.extra)
    return Page(Sheet(size, marks, ruling), tuple(page.lines), tuple(page.drawings))


class _Layout:
    def __init__(self, rng: Rng, hand: Hand, style: Style, size: tuple[float, float]) -> None:
        self.rng, self.hand, self.size = rng, hand, size
        self.style = replace(style, height=min(style.height, size[0] / 32))
        self.setter = Setter(hand, self.style, rng)
        self.lines: list[PageLine] = []
        self.extra: list[Mark] = []
        self.drawings: list[Box] = []
        self.gap = self.style.height * float(rng.uniform(-0.05, 1.3))
        self.left = float(rng.uniform(8, 28))
        self.indent = float(rng.choice([0.0, 2.0, 10.0]))

    def fill(self, shapes: Shapes | None) -> None:
        rng, (width, height) = self.rng, self.size
        writer = Writer(rng, shapes=shapes)
        y = float(rng.uniform(10, 35))
        if rng.random() < 0.4:
            y = (
                self.put(
                    prose(rng, int(rng.integers(1, 5))),
                    "aside",
                    self.left + float(rng.uniform(0, 90)),
                    y,
                )
                or y
            )
        if rng.random() < 0.55:
            y = self.sketch(y)
        stop = height * float(rng.uniform(0.5, 1.0)) - 12
        columns = 2 if rng.random() < 0.12 and width > 180 else 1
        top = y
        for column in range(columns):
            left = self.left + column * width * 0.5
            right = width - 4 if column == columns - 1 else width * 0.5 - 2
            y = top
            while y < stop:
                roll = rng.random()
                if roll < 0.03:
                    text, role = prose(rng, int(rng.integers(2, 7))), "aside"
                else:
                    text, role = writer.line(LONGEST if columns == 1 else 24), "working"
                    role = "struck" if roll > 0.965 else role
                if roll > 0.94 and roll < 0.955 and columns == 1 and y + 40 < stop:
                    y = self.sketch(y)
                    continue
                below = self.put(
                    text, role, left + float(abs(rng.normal(0, self.indent))), y, right
                )
                y = below if below is not None else y
                if rng.random() < 0.08:
                    y += float(rng.uniform(2, 15))
        if rng.random() < 0.2:
            self.scribbles()

    def write(self, texts: Sequence[tuple[str, str]], sketch: bool) -> None:
        """Given lines down the page, the gap made to suit; the last ones may leave the sheet."""
        y = float(self.rng.uniform(14, 28))
        if sketch and self.rng.random() < 0.5:
            y = self.sketch(y)
        for text, role in texts:
            below = self.put(text, role, self.left + float(abs(self.rng.normal(0, self.indent))), y)
            if below is None:  # too wide for the sheet: write smaller
                below = self.put(text, role, self.left, y, size=0.7) or y
            y = below

    def put(self, text: str, role: str, x: float, y: float, right: float | None = None,
            size: float = 1.0) -> float | None:  # fmt: skip
        """One line with its top at y; the next line's top, or None where it does not fit."""
        written = self.setter.set_line(text, x, 0.0, size)
        x0, top, x1, bottom = written.box
        if x1 > (right or self.size[0] - 3) or y + bottom - top > self.size[1] - 3:
            return None if x1 > (right or self.size[0] - 3) else self.size[1]
        written = moved(written, 0.0, y - top)
        rng, h = self.rng, self.style.height
        x0, top, x1, bottom = written.box
        if role == "struck":
            paths = hand_drawn.scribble(rng, (x1 - x0) / h, (bottom - top) / h * 0.8)
            self.mark(paths, h, x0, top + (bottom - top) * 0.1)
        elif role == "working" and rng.random() < 0.06:
            pad = h * float(rng.uniform(0.1, 0.3))
            if rng.random() < 0.6:
                self.mark(
                    hand_drawn.box(rng, (x1 - x0 + 2 * pad) / h, (bottom - top + 2 * pad) / h),
                    h,
                    x0 - pad,
                    top - pad,
                )
            else:
                self.mark([hand_drawn.line(rng, (x1 - x0) / h)], h, x0, bottom + pad)
        self.lines.append(PageLine(written, role))
        return bottom + self.gap + h * float(abs(rng.normal(0, 0.15))) + 0.3

    def sketch(self, y: float) -> float:
        rng = self.rng
        wide, high = float(rng.uniform(45, 110)), float(rng.uniform(22, 50))
        x = float(rng.uniform(self.left, max(self.size[0] - wide - 15, self.left + 1)))
        self.extra += circuit(rng, self.hand, self.style, x, y + 6, wide, high)
        self.drawings.append((x - 4, y, x + wide + 6, y + high + 12))
        return y + high + 15 + self.gap

    def scribbles(self) -> None:
        """A tick or a small note in the margin."""
        rng, h = self.rng, self.style.height
        x, y = float(rng.uniform(2, self.left - 2)), float(rng.uniform(30, self.size[1] - 30))
        self.mark(hand_drawn.tick(rng, 1.2), h, x, y)

    def mark(self, paths: Sequence[np.ndarray], scale: float, x: float, y: float) -> None:
        placed = tuple((path * scale + [x, y]).astype(np.float32) for path in paths)
        self.extra.append(
            Mark(placed, False, self.style.pen, self.style.darkness, self.style.colour)
        )


def moved(written: Written, dx: float, dy: float) -> Written:
    shift = np.array([dx, dy], np.float32)
    marks = tuple(
        Mark(
            tuple(path + shift for path in mark.paths),
            mark.filled,
            mark.width,
            mark.darkness,
            mark.colour,
        )
        for mark in written.marks
    )
    return replace(
        written, marks=marks, boxes=written.boxes + np.tile(shift, 2), centre=written.centre + shift
    )
