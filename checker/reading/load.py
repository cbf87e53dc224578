"""An image file in, an upright RGB array out; whatever cannot be used ends in one sentence."""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image, UnidentifiedImageError

from checker.errors import PageError

FORMATS = ("JPEG", "PNG", "WEBP", "TIFF", "BMP", "GIF")
MOST_PIXELS = 100_000_000
LEAST_SIDE = 48
MOST_STRETCH = 10  # long side over short side
MOST_BYTES = 200_000_000


@dataclass(frozen=True)
class Photo:
    """``colour`` is RGB uint8 (height, width, 3), upright as its EXIF orientation asks."""

    name: str
    colour: np.ndarray
    remarks: tuple[str, ...] = ()

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.colour.shape[1], self.colour.shape[0]


def load_photo(source: str | Path | bytes) -> Photo:
    """Read a photo or scan from a path or from the bytes of a file.

    Transparency is laid on white, 16-bit and palette images become 8-bit RGB; of a file with
    several pictures the first is taken and a remark says so.  Raises PageError for anything that
    is no usable image.
    """
    name = "The photo" if isinstance(source, bytes) else str(source)
    data = source if isinstance(source, bytes) else read_bytes(Path(source))
    _refuse_other_kinds(name, data)
    try:
        with warnings.catch_warnings():
            # The size is checked right here, and damaged metadata does not matter.
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(data), formats=FORMATS) as image:
                _check_size(name, *image.size)
                return Photo(name, _upright(image), _of_several(image))
    except UnidentifiedImageError:
        raise PageError(
            f"{name} is not an image this program reads; give a JPEG, PNG, WebP or TIFF file."
        ) from None
    except Image.DecompressionBombError:
        raise _too_large(name) from None
    except (OSError, SyntaxError, ValueError, EOFError, MemoryError, ArithmeticError):
        raise PageError(
            f"{name} is damaged or cut short; copy it again or take a new photo."
        ) from None


def read_bytes(path: Path) -> bytes:
    """The bytes of a file a person named; PageError when there are none to be had."""
    try:
        if path.is_dir():
            raise PageError(f"{path} is a folder; name one file in it.")
        if path.stat().st_size > MOST_BYTES:
            raise PageError(f"{path} is larger than 200 MB; save it smaller and try again.")
        data = path.read_bytes()
    except FileNotFoundError:
        raise PageError(f"There is no file {path}; check the name.") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "bad file name"
        raise PageError(f"{path} cannot be opened ({reason}); check the file.") from None
    if not data:
        raise PageError(f"{path} is empty; give the file again.")
    return data


def _refuse_other_kinds(name: str, data: bytes) -> None:
    if not data:
        raise PageError(f"{name} is empty; copy it again or take a new photo.")
    if data[:5] == b"%PDF-":
        raise PageError(f"{name} is a PDF; save its page as a PNG or JPEG image first.")
    if data[4:8] == b"ftyp":
        raise PageError(f"{name} is a HEIC or video file; save it as JPEG first.")


def _check_size(name: str, width: int, height: int) -> None:
    if width * height > MOST_PIXELS:
        raise _too_large(name)
    if min(width, height) < LEAST_SIDE:
        raise PageError(
            f"{name} is only {width} × {height} pixels, too small to read; take a larger photo."
        )
    if max(width, height) > MOST_STRETCH * min(width, height):
        raise PageError(
            f"{name} is {width} × {height} pixels, a strip and no page; take a photo of the sheet."
        )


def _of_several(image: Image.Image) -> tuple[str, ...]:
    # The further pictures in a phone's JPEG (MPO) are depth and previews.
    count = 1 if image.format == "MPO" else getattr(image, "n_frames", 1)
    if count == 1:
        return ()
    return (f"Only the first of {count} pictures in the file was read; give one file for each.",)


def _too_large(name: str) -> PageError:
    limit = MOST_PIXELS // 1_000_000
    return PageError(f"{name} has more than {limit} megapixels; scale it down and try again.")


def _upright(image: Image.Image) -> np.ndarray:
    mode = image.mode
    if mode.startswith(("I", "F")):
        return _from_deep_grey(image)
    if "A" in mode or "transparency" in image.info:
        clear = image.convert("RGBA")
        flat = Image.new("RGBA", clear.size, (255, 255, 255, 255))
        flat.alpha_composite(clear)
        rgb = flat.convert("RGB")
    else:
        rgb = image.convert("RGB")
    return np.ascontiguousarray(np.asarray(_turn(rgb, image)))


def _from_deep_grey(image: Image.Image) -> np.ndarray:
    """16- and 32-bit grey: the used range decides whether it is 8, 12, 16 bits or a 0-1 float."""
    values = np.asarray(_turn(image, image), dtype=np.float32)
    values = np.nan_to_num(values, nan=0.0, posinf=0.0, neginf=0.0)
    top = float(values.max(initial=0.0))
    full = next((limit for limit in (1.0, 255.0, 4095.0, 65535.0) if top <= limit), top)
    grey = np.clip(values * (255.0 / full), 0, 255).astype(np.uint8)
    return np.repeat(grey[:, :, None], 3, axis=2)


def _turn(image: Image.Image, original: Image.Image) -> Image.Image:
    """Undo the EXIF orientation; metadata that cannot be parsed counts as upright."""
    try:
        orientation = original.getexif().get(0x0112, 1)
    except Exception:  # a damaged EXIF block can fail in any way and is not worth a photo
        return image
    method = {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_270,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_90,
    }.get(orientation)
    return image if method is None else image.transpose(method)
