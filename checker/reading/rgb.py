"""The colours of a decoded picture of any mode: transparent, deep grey, with a palette."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from PIL import Image

_BAND = 1024  # rows of a large picture that are made small at a time


def rgb(image: Image.Image, factor: int) -> np.ndarray:
    """RGB (height, width, 3), not yet turned, ``factor`` times smaller."""
    width, height = image.size
    if factor > 1:
        image.draft(None, (width // factor, height // factor))  # a JPEG is decoded small
        factor = factor if image.size == (width, height) else 1
    if image.mode.startswith(("I", "F")):
        tops = [float(_numbers(band).max(initial=0.0)) for band in _bands(image, factor)]
        bands = (_shades(band, max(tops)) for band in _bands(image, factor))
    else:
        bands = (_on_white(band) for band in _bands(image, factor))
    if factor == 1:
        return np.asarray(next(bands))
    colour = np.empty((-(-height // factor), -(-width // factor), 3), np.uint8)
    for at, band in enumerate(bands):
        small = np.asarray(band.reduce(factor))
        colour[at * _BAND // factor :][: len(small)] = small
    return colour


def _bands(image: Image.Image, factor: int) -> Iterator[Image.Image]:
    """The picture, from top to bottom in parts where it is to be made smaller."""
    if factor == 1:
        yield image
        return
    for top in range(0, image.height, _BAND):
        yield image.crop((0, top, image.width, min(top + _BAND, image.height)))


def _on_white(image: Image.Image) -> Image.Image:
    if "A" not in image.mode and "transparency" not in image.info:
        return image if image.mode == "RGB" else image.convert("RGB")
    clear = image.convert("RGBA")
    flat = Image.new("RGBA", clear.size, (255, 255, 255, 255))
    flat.alpha_composite(clear)
    return flat.convert("RGB")


def _shades(image: Image.Image, top: float) -> Image.Image:
    """16- and 32-bit grey: the used range, up to ``top``, decides whether it is 8, 12, 16 bits or
    a 0-1 float."""
    full = next((limit for limit in (1.0, 255.0, 4095.0, 65535.0) if top <= limit), top)
    grey = np.clip(_numbers(image) * (255.0 / full), 0, 255).astype(np.uint8)
    return Image.fromarray(grey).convert("RGB")


def _numbers(image: Image.Image) -> np.ndarray:
    return np.nan_to_num(np.asarray(image, dtype=np.float32), nan=0.0, posinf=0.0, neginf=0.0)
