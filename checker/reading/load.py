"""An image file in, an upright RGB array out; whatever cannot be used ends in one sentence."""

from __future__ import annotations

import io
import struct
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np
from PIL import Image, UnidentifiedImageError

from checker.errors import PageError
from checker.reading.file_kind import HEAD, file_kind
from checker.reading.rgb import rgb

FORMATS = ("JPEG", "PNG", "WEBP", "TIFF", "BMP", "GIF")
MOST_PIXELS = 100_000_000
# Their decoders hold the whole picture several times, 12 to 16 bytes for each of its pixels.
MOST_PIXELS_AS = {"WEBP": 60_000_000, "HEIF": 60_000_000}
READ_PIXELS = 25_000_000  # what has more is read at half its size: sharp enough, a third the memory
LEAST_SIDE = 48
MOST_STRETCH = 10  # long side over short side
MOST_BYTES = 200_000_000


@dataclass(frozen=True)
class Photo:
    """``colour`` is RGB uint8 (height, width, 3), upright as its EXIF orientation asks.

    ``size`` is the width and height of the photo as given; ``colour`` of a very large one is
    ``scale`` times smaller.
    """

    name: str
    colour: np.ndarray
    size: tuple[int, int]
    remarks: tuple[str, ...] = ()

    @property
    def scale(self) -> float:
        return self.size[0] / self.colour.shape[1]


def load_photo(source: str | Path | bytes) -> Photo:
    """Read a photo or scan from a path or from the bytes of a file.

    Transparency is laid on white, 16-bit and palette images become 8-bit RGB; of a file with
    several pictures the first is taken and a remark says so.  Raises PageError for anything that
    is no usable image.
    """
    name = "The photo" if isinstance(source, bytes) else str(source)
    data = source if isinstance(source, bytes) else read_bytes(Path(source))
    with opened(name, data) as image:
        return upright(name, image)


@contextmanager
def opened(name: str, data: bytes | BinaryIO) -> Iterator[Image.Image]:
    """The picture in a file, of a size that is read; whatever fails inside is a PageError.

    Only the head of the file is read before the size is checked.
    """
    if isinstance(data, bytes):
        _refuse_other_kinds(name, data)
        data = io.BytesIO(data)
    head = data.read(HEAD)
    data.seek(0)
    try:
        with warnings.catch_warnings():
            # The size is checked right here, and damaged metadata does not matter.
            warnings.simplefilter("ignore")
            with Image.open(data, formats=_formats(head)) as image:
                check_size(name, *image.size, image.format)
                yield image
    except UnidentifiedImageError:
        if file_kind(head) != "other":
            raise _damaged(name) from None
        raise PageError(
            f"{name} is not an image this program reads; give a JPEG, PNG, WebP, TIFF or HEIC file."
        ) from None
    except Image.DecompressionBombError:
        raise _too_large(name) from None
    except MemoryError:
        raise PageError(
            f"{name} needs more memory than there is; scale it down and try again."
        ) from None
    except (OSError, SyntaxError, ValueError, EOFError, ArithmeticError,
            RuntimeError, LookupError, TypeError, struct.error):  # fmt: skip
        # Whatever a decoder trips over: what it raises on damaged data is documented nowhere.
        raise _damaged(name) from None


def upright(name: str, image: Image.Image) -> Photo:
    """The picture (of a file, or one of its frames) as ``load_photo`` gives it."""
    width, height = image.size
    turn = _turn(image)
    colour = rgb(image, 1 if width * height <= READ_PIXELS else 2)
    if turn is not None:
        colour = np.array(Image.fromarray(colour).transpose(turn))
    size = (height, width) if turn in _SIDEWAYS else (width, height)
    return Photo(name, colour, size, _of_several(image))


def _formats(head: bytes) -> tuple[str, ...]:
    """The formats to try; the reader of HEIC is loaded only when it is needed."""
    if file_kind(head) != "heif":
        return FORMATS
    from pi_heif import register_heif_opener

    register_heif_opener()
    return ("HEIF",)


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
    kind = file_kind(data[:HEAD])
    if kind == "pdf":
        raise PageError(f"{name} is a PDF and no single picture; give its pages one by one.")
    if kind == "zip":
        raise PageError(f"{name} is a zip archive; unpack it and give the photos in it.")


def check_size(name: str, width: int, height: int, kind: str | None = None) -> None:
    """PageError where a picture of that many pixels is not read; ``kind`` is Pillow's name for its
    format."""
    if width * height > MOST_PIXELS:
        raise _too_large(name)
    most = MOST_PIXELS_AS.get(kind or "", MOST_PIXELS)
    if width * height > most:
        raise PageError(
            f"{name} has more than {most // 1_000_000} megapixels, too many for this format; "
            "save it as JPEG or scale it down."
        )
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


def _damaged(name: str) -> PageError:
    return PageError(f"{name} is damaged or cut short; copy it again or take a new photo.")


def _too_large(name: str) -> PageError:
    limit = MOST_PIXELS // 1_000_000
    return PageError(f"{name} has more than {limit} megapixels; scale it down and try again.")


def _turn(image: Image.Image) -> Image.Transpose | None:
    """What undoes the EXIF orientation; metadata that cannot be parsed counts as upright."""
    try:
        orientation = image.getexif().get(0x0112, 1)
    except Exception:  # a damaged EXIF block can fail in any way and is not worth a photo
        return None
    return {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_270,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_90,
    }.get(orientation)


_SIDEWAYS = (
    Image.Transpose.TRANSPOSE,
    Image.Transpose.TRANSVERSE,
    Image.Transpose.ROTATE_90,
    Image.Transpose.ROTATE_270,
)
