"""The process that splits one file: a PDF or TIFF on standard input, its pages on standard output.

Started by ``file_pages``. Each frame is a line ``KIND LENGTH`` and so many bytes: ``count`` comes
first and says how many pages follow, ``page`` is a JPEG,
``single`` where the file is one picture that needs no splitting, ``unreadable`` a page's and
``refused`` the file's half sentence (the caller puts the name before it), ``end`` when all is done.
"""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterator
from typing import BinaryIO

from PIL import Image

from checker.errors import PageError
from checker.reading.file_kind import HEAD, file_kind
from checker.reading.load import check_size, opened, upright

SIDE = 3000  # pixels along the longer side of a PDF page: 260 to the inch on A4 or letter paper
_MOST_MEMORY = 1_300_000_000
_QUALITY = 92
Frame = tuple[str, bytes]


def main() -> None:
    _bound_memory()
    most = int(sys.argv[1])
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever a library prints must not get between the frames
    with open(0, "rb", closefd=False) as source:
        for kind, content in frames(source, most):
            out.write(f"{kind} {len(content)}\n".encode() + content)
            out.flush()


def frames(source: BinaryIO, most: int) -> Iterator[Frame]:
    """What is written out for a file; ``most`` is the number of pages it may have."""
    head = source.read(HEAD)
    source.seek(0)
    try:
        yield from _pdf(source, most) if file_kind(head) == "pdf" else _tiff(source, most)
    except PageError as error:
        yield "refused", _half(error)
    except MemoryError:
        yield "refused", b"needs more memory than is allowed; scan it at a lower resolution."
    else:
        yield "end", b""


def _pdf(source: BinaryIO, most: int) -> Iterator[Frame]:
    import pypdfium2 as pdfium
    import pypdfium2.raw as raw

    try:
        document = pdfium.PdfDocument(source)
        count = len(document)
    except pdfium.PdfiumError as error:
        if getattr(error, "err_code", None) == raw.FPDF_ERR_PASSWORD:
            raise PageError(" is locked with a password; save it without one.") from None
        raise PageError(" is a damaged PDF; save or scan it again.") from None
    _check_count(count, most)
    yield "count", str(count).encode()
    for number in range(count):
        try:
            page = document[number]
            width, height = page.get_size()
            scale = SIDE / max(width, height, 1.0)
            check_size("", round(width * scale), round(height * scale))
            bitmap = page.render(scale=scale, rev_byteorder=True)
            picture = bitmap.to_pil().convert("RGB")
            page.close()
        except PageError as error:
            yield "unreadable", _half(error)
        except (pdfium.PdfiumError, ValueError, OverflowError):
            yield "unreadable", b"is damaged on this page; save or scan it again."
        else:
            yield "page", _jpeg(picture)


def _tiff(source: BinaryIO, most: int) -> Iterator[Frame]:
    with opened("", source) as image:
        count = getattr(image, "n_frames", 1)
        if count == 1:
            yield "single", b""
            return
        _check_count(count, most)
        yield "count", str(count).encode()
        for number in range(count):
            try:
                image.seek(number)
                check_size("", *image.size)
                picture = Image.fromarray(upright("", image).colour)
            except PageError as error:
                yield "unreadable", _half(error)
            except (OSError, SyntaxError, ValueError, EOFError, LookupError, TypeError):
                yield "unreadable", b"is damaged on this page; save or scan it again."
            else:
                yield "page", _jpeg(picture)


def _check_count(count: int, most: int) -> None:
    if count < 1:
        raise PageError(" has no pages; save or scan it again.")
    if count > most:
        raise PageError(f" has {count:,} pages, more than {most:,}; split it and try again.")


def _jpeg(picture: Image.Image) -> bytes:
    data = io.BytesIO()
    picture.save(data, "JPEG", quality=_QUALITY, subsampling=0)
    return data.getvalue()


def _half(error: PageError) -> bytes:
    return str(error).strip().encode()


def _bound_memory() -> None:
    try:
        import resource
    except ImportError:  # not on this system: the limits of pages and pixels hold all the same
        return
    resource.setrlimit(resource.RLIMIT_AS, (_MOST_MEMORY, _MOST_MEMORY))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


if __name__ == "__main__":
    main()
