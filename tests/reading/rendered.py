"""Typed pages with known line boxes, and photographs of them with a known camera."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

FONT = "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf"  # Debian: fonts-dejavu-core
PAGE = (1400, 1980)
WORK = (
    "1/C12 = 1/4 + 1/12",
    "C12 = (4 × 12)/(4 + 12) = 3 µF",
    "Ceq = C12 + C3 = 3 + 5 = 8 µF",
    "Q12 = C12 · V = 3 µF × 24 V = 72 µC",
    "V2 = 72/12 = 6 V",
    "Q3 = 5 µF × 24 V = 120 µC",
)


@dataclass(frozen=True)
class Rendered:
    """A grey page and the ink box (left, top, right, bottom) of each of its lines."""

    image: np.ndarray
    boxes: tuple[tuple[int, int, int, int], ...]


def typed_page(
    lines: Sequence[str] = WORK, size: int = 40, left: int = 150, top: int = 180, step: int = 120
) -> Rendered:
    image = Image.new("L", PAGE, 255)
    draw = ImageDraw.Draw(image)
    font = ImageFont.truetype(FONT, size)
    boxes = []
    for k, line in enumerate(lines):
        place = (left, top + k * step)
        draw.text(place, line, font=font, fill=40)
        boxes.append(draw.textbbox(place, line, font=font))
    return Rendered(np.array(image), tuple(tuple(map(int, box)) for box in boxes))  # type: ignore[misc]


def ruled(image: np.ndarray, kind: str, pitch: int = 44, ink: int = 175) -> np.ndarray:
    """The page printed with rules, a grid or dots of the given grey."""
    paper = np.full_like(image, 255)
    places = range(pitch, max(image.shape), pitch)
    for at in places:
        if kind in ("ruled", "grid"):
            cv2.line(paper, (0, at), (image.shape[1], at), ink, 2)
        if kind == "grid":
            cv2.line(paper, (at, 0), (at, image.shape[0]), ink, 2)
        if kind == "dotted":
            for x in places:
                cv2.circle(paper, (x, at), 2, ink - 60, -1)
    return np.minimum(paper, image)


CORNERS = np.array([[190, 160], [1590, 240], [1680, 2180], [110, 2110]], dtype=np.float32)
SIZE = (1800, 2400)


def photographed(
    page: np.ndarray, corners: np.ndarray = CORNERS, size: tuple[int, int] = SIZE
) -> tuple[np.ndarray, np.ndarray]:
    """An RGB photo of a grey page on a dark blue desk in uneven light; the map page to photo."""
    height, width = page.shape
    flat = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    camera = cv2.getPerspectiveTransform(flat, corners.astype(np.float32))
    desk = np.full((size[1], size[0], 3), (52, 60, 96), np.uint8)
    sheet = cv2.cvtColor(page, cv2.COLOR_GRAY2RGB)
    photo = cv2.warpPerspective(
        sheet, camera, size, dst=desk, flags=cv2.INTER_AREA, borderMode=cv2.BORDER_TRANSPARENT
    )
    across = np.linspace(0.62, 1.0, size[0])[None, :, None]
    down = np.linspace(1.0, 0.8, size[1])[:, None, None]
    lit = cv2.GaussianBlur((photo * across * down).astype(np.uint8), (0, 0), 1.0)
    noise = np.random.default_rng(7).normal(0, 2, lit.shape)
    return np.clip(lit + noise, 0, 255).astype(np.uint8), camera


def jpeg(rgb: np.ndarray) -> bytes:
    return cv2.imencode(".jpg", cv2.cvtColor(rgb, cv2.COLOR_RGB2BGR))[1].tobytes()


def carried(box: tuple[int, int, int, int], camera: np.ndarray) -> np.ndarray:
    """The corners (4, 2) of a box of the page on the photo."""
    left, top, right, bottom = box
    corners = np.array([[left, top], [right, top], [right, bottom], [left, bottom]], np.float32)
    return cv2.perspectiveTransform(corners[None], camera)[0]


def overlap(one: np.ndarray, two: np.ndarray) -> float:
    """Intersection over union of two convex polygons (n, 2)."""
    one, two = np.asarray(one, np.float32), np.asarray(two, np.float32)
    both = cv2.intersectConvexConvex(one, two)[0]
    return both / (cv2.contourArea(one) + cv2.contourArea(two) - both)
