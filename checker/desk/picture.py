"""A page as the browser shows it, and parts of it."""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO

from PIL import Image

from checker.reading.page import PageReading, Polygon
from checker.report.page_picture import Placing, upright_page

SHOWN_WIDTH = 1600  # pixels of a picture sent to the browser


@dataclass(frozen=True)
class Picture:
    """A page as it is shown: a JPEG, its size, and where on it stands what was read."""

    jpeg: bytes
    width: int
    height: int
    place: Placing

    def crop(self, polygon: Polygon) -> bytes:
        """The part around a place on the picture, as a JPEG."""
        xs, ys = zip(*polygon, strict=True)
        room = max(max(ys) - min(ys), 12)
        box = (
            max(int(min(xs) - room), 0),
            max(int(min(ys) - 0.7 * room), 0),
            min(int(max(xs) + room), self.width),
            min(int(max(ys) + 0.7 * room), self.height),
        )
        return jpeg(Image.open(BytesIO(self.jpeg)).crop(box))


def picture_of(photo: Image.Image | None, reading: PageReading) -> Picture:
    """The page that was read; ``photo`` is upright by its EXIF orientation, None where the working
    was typed."""
    image, place = upright_page(photo, reading)
    full = image.width
    image.thumbnail((SHOWN_WIDTH, 4 * SHOWN_WIDTH))
    scale = full / image.width

    def smaller(polygon: Polygon | None, line: int | None) -> Polygon | None:
        found = place(polygon, line)
        if found is None:
            return None
        a, b, c, d = ((x / scale, y / scale) for x, y in found)
        return a, b, c, d

    return Picture(jpeg(image), image.width, image.height, smaller)


def jpeg(image: Image.Image, quality: int = 85) -> bytes:
    data = BytesIO()
    image.convert("RGB").save(data, "JPEG", quality=quality)
    return data.getvalue()
