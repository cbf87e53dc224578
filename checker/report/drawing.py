"""Smooth marks on a picture: signs, frames and tags, with a label font that the package brings.

Lengths are in pixels of the picture. Every mark is drawn enlarged on a patch of its own and scaled
down, so that it is smooth on a small photo and cheap on a large one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from functools import cache, lru_cache
from importlib import resources
from io import BytesIO
from typing import NamedTuple

from PIL import Image, ImageDraw, ImageFont

from checker.report.verdict_marks import Outline, VerdictMark

Place = tuple[float, float]
Pen = Callable[[ImageDraw.ImageDraw, float], None]


class Box(NamedTuple):
    left: float
    top: float
    right: float
    bottom: float

    def overlap(self, other: Box) -> float:
        """The area that both cover."""
        width = min(self.right, other.right) - max(self.left, other.left)
        height = min(self.bottom, other.bottom) - max(self.top, other.top)
        return max(width, 0) * max(height, 0)


def box_of(places: Iterable[Place]) -> Box:
    xs, ys = zip(*places, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


def font(size: float) -> ImageFont.FreeTypeFont:
    """The label font (it has µ, Ω, Δ, ∥, × and the signs of the marks) at ``size`` pixels."""
    return ImageFont.truetype(BytesIO(_font_file()), max(round(size), 6))


@cache
def _font_file() -> bytes:
    return resources.files("checker.report").joinpath("fonts/label.ttf").read_bytes()


def draw_sign(canvas: Image.Image, centre: Place, size: float, mark: VerdictMark) -> None:
    """A mark ``size`` high: its outline filled white, its sign inside."""
    patch, reach = _sign(size, mark), size * 0.62
    canvas.paste(patch, (round(centre[0] - reach), round(centre[1] - reach)), patch)


@lru_cache(64)  # a page has many alike
def _sign(size: float, mark: VerdictMark) -> Image.Image:
    reach = size * 0.62
    pointed = mark.outline in ("triangle", "diamond")

    def draw(pen: ImageDraw.ImageDraw, scale: float) -> None:
        middle, half = reach * scale, size * scale / 2
        width = max(round(half * 0.16), 1)
        if mark.outline == "circle":
            box = (middle - half, middle - half, middle + half, middle + half)
            pen.ellipse(box, fill="white", outline=mark.colour, width=width)
        elif mark.outline != "none":
            corners = [(middle + x * half, middle + y * half) for x, y in _CORNERS[mark.outline]]
            pen.polygon(corners, fill="white", outline=mark.colour, width=width)
        place = (middle, middle + (half * 0.28 if mark.outline == "triangle" else 0))
        letters = font(half * (1.15 if pointed else 1.4))
        pen.text(place, mark.sign, fill=mark.colour, font=letters, anchor="mm")

    return _patch(2 * reach, 2 * reach, draw)


_CORNERS: dict[Outline, tuple[Place, ...]] = {
    "square": ((-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)),
    "triangle": ((0, -1.1), (1.15, 0.9), (-1.15, 0.9)),
    "diamond": ((0, -1.15), (1.15, 0), (0, 1.15), (-1.15, 0)),
}


def draw_frame(
    canvas: Image.Image, corners: Sequence[Place], line: float, colour: str, dashed: bool
) -> None:
    """A closed frame through ``corners`` with a thin white edge, so that it shows on dark paper."""
    around = box_of(corners)
    edge = 2 * line
    patch = Box(around.left - edge, around.top - edge, around.right + edge, around.bottom + edge)

    def draw(pen: ImageDraw.ImageDraw, scale: float) -> None:
        places = [((x - patch.left) * scale, (y - patch.top) * scale) for x, y in corners]
        sides = list(zip(places, [*places[1:], places[0]], strict=True))
        strokes = (
            [d for a, b in sides for d in _dashes(a, b, line * 4 * scale)] if dashed else sides
        )
        for ink, width in (("white", line * 1.8 * scale), (colour, line * scale)):
            for a, b in strokes:
                pen.line([a, b], fill=ink, width=max(round(width), 1))
                for x, y in (a, b):
                    half = width / 2
                    pen.ellipse((x - half, y - half, x + half, y + half), fill=ink)

    _stamp(canvas, patch, draw)


def _dashes(a: Place, b: Place, dash: float) -> list[tuple[Place, Place]]:
    count = max(round(math.dist(a, b) / dash / 2), 1)

    def at(t: float) -> Place:
        return a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t

    return [(at(i / count), at((i + 0.55) / count)) for i in range(count)]


def draw_tag(
    canvas: Image.Image, text: str, size: float, colour: str, beside: Box, avoid: Sequence[Box]
) -> None:
    """White ``text`` on ``colour`` next to ``beside``, where it hides the least of ``avoid``."""
    pad, gap = size * 0.35, size * 0.25
    width, height = font(size).getlength(text) + 2 * pad, size + 2 * pad
    middle = (beside.top + beside.bottom - height) / 2
    above, below = beside.top - gap - height, beside.bottom + gap
    places = [
        (beside.right + gap, middle),
        (beside.right - width, above),
        (beside.right - width, below),
        (beside.left, above),
        (beside.left, below),
        (beside.left - gap - width, middle),
    ]
    page = Box(0, 0, *canvas.size)

    def cost(place: Place) -> float:
        box = Box(*place, place[0] + width, place[1] + height)
        outside = width * height - box.overlap(page)
        return sum(box.overlap(other) for other in avoid) + 4 * outside

    left, top = min(places, key=cost)
    left = min(max(left, 0), max(canvas.width - width, 0))
    top = min(max(top, 0), max(canvas.height - height, 0))

    def draw(pen: ImageDraw.ImageDraw, scale: float) -> None:
        full = (0, 0, width * scale - 1, height * scale - 1)
        pen.rounded_rectangle(full, pad * 0.9 * scale, fill=colour)
        place = (width * scale / 2, height * scale / 2)
        pen.text(place, text, fill="white", font=font(size * scale), anchor="mm")

    _stamp(canvas, Box(left, top, left + width, top + height), draw)


def _stamp(canvas: Image.Image, box: Box, draw: Pen) -> None:
    patch = _patch(box.right - box.left, box.bottom - box.top, draw)
    canvas.paste(patch, (round(box.left), round(box.top)), patch)


def _patch(wide: float, high: float, draw: Pen) -> Image.Image:
    """What ``draw`` draws, larger and made small again so that its edges are soft."""
    width, height = math.ceil(wide), math.ceil(high)
    scale = 4 if width * height < 500_000 else 2
    patch = Image.new("RGBA", (width * scale, height * scale), (255, 255, 255, 0))
    draw(ImageDraw.Draw(patch), scale)
    return patch.resize((width, height), Image.Resampling.BOX)
