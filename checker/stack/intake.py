"""What is given, page by page: photos, scans, PDFs, typed working, folders and zip archives.

Only one page at a time is held in memory, and the zip's member it comes from. Names are labels for
people and never opened: parts are joined by ``/`` whatever they come from
(``stack.zip/ada/1.jpg``), and no two files of a run have the same one.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from checker.errors import PageError
from checker.reading.file_kind import file_kind
from checker.reading.file_pages import file_pages, head_of
from checker.reading.load import opened
from checker.stack.folder_files import folder_files
from checker.stack.labels import Refused, Unique, label
from checker.stack.limits import Limits
from checker.stack.zip_members import count_members, zip_members
from checker.submission import Source, Upload, source_name

__all__ = ["GivenPage", "Limits", "Refused", "given_pages"]
_NO_PAGE = "The file is no photo, scan, PDF or zip; give a JPEG, PNG, WebP, TIFF, HEIC or PDF file."


@dataclass(frozen=True)
class GivenPage:
    """One page to be read.

    ``name`` is the label of its file, ``number`` its 1-based place there of ``of`` pages that the
    file says it has, ``content`` an encoded picture, or UTF-8 text where ``name`` ends in ``.txt``:
    what ``submission.Upload`` takes. ``digest`` is the SHA-256 of ``content`` in hexadecimal.
    """

    name: str
    number: int
    content: bytes
    digest: str
    of: int = 1


def given_pages(
    inputs: Sequence[Source], limits: Limits | None = None
) -> Iterator[GivenPage | Refused]:
    """The pages of all inputs (paths of files and folders, or uploads) in order.

    The kind of a file is told by its bytes; only typed working is known by its name, ``.txt``.
    What cannot be used is given as ``Refused`` and never ends the run; only an input that does not
    exist raises PageError, before anything is read.
    """
    for source in inputs:
        if not isinstance(source, Upload):
            _check_there(Path(source))
    return _within(limits or Limits(), inputs)


def count_files(inputs: Sequence[Source], limits: Limits | None = None) -> int:
    """How many files ``given_pages`` will go through; of zips only the list is read."""
    limits, count = limits or Limits(), 0
    for found in _unopened(inputs):
        if isinstance(found, Refused) or file_kind(head_of(found[1])) != "zip":
            count += 1
        else:
            count += count_members(found[1], limits)
    return count


def _within(limits: Limits, inputs: Sequence[Source]) -> Iterator[GivenPage | Refused]:
    names, count = Unique(), 0
    for found in _files(inputs, limits):
        if isinstance(found, Refused):
            yield Refused(names.of(found.name), found.reason)
            continue
        name, file = names.of(found[0]), found[1]
        for page in _pages(name, file, limits):
            count += isinstance(page, GivenPage)
            if count > limits.stack_pages:
                most = f"{limits.stack_pages:,}"
                yield Refused(name, f"The stack has more than {most} pages; divide it.")
                return
            yield page


def _check_there(path: Path) -> None:
    try:
        found = path.exists()
    except (OSError, ValueError):
        found = False
    if not found:
        raise PageError(f"There is no file or folder {path}; check the name.")


def _files(
    inputs: Iterable[Source], limits: Limits
) -> Iterator[tuple[str, Path | bytes] | Refused]:
    for found in _unopened(inputs):
        if not isinstance(found, Refused) and file_kind(head_of(found[1])) == "zip":
            reason = _too_large(found[1], limits.file_bytes)
            yield from [Refused(found[0], reason)] if reason else zip_members(*found, limits)
        else:
            yield found


def _unopened(inputs: Iterable[Source]) -> Iterator[tuple[str, Path | bytes] | Refused]:
    """Files given and those in folders, a zip as one."""
    for source in inputs:
        if isinstance(source, Upload):
            yield label(source.name), source.content
        elif Path(source).is_dir():
            yield from folder_files(Path(source))
        elif Path(source).is_file():
            yield label(source_name(source)), Path(source)
        else:
            yield Refused(label(source_name(source)), "This is no file; give a file or folder.")


def _pages(name: str, file: Path | bytes, limits: Limits) -> Iterator[GivenPage | Refused]:
    typed, kind = name.lower().endswith(".txt"), file_kind(head_of(file))
    several = kind in ("pdf", "tiff")
    try:
        if reason := _too_large(file, limits.file_bytes if several else limits.page_bytes):
            yield Refused(name, reason)
        elif typed and kind not in ("other", "picture"):
            yield Refused(name, "The file is called .txt but is none; give it its right name.")
        elif several:
            for page in file_pages("The file", file, limits.file_pages):
                if page.content is None:
                    yield Refused(name, f"Page {page.number}: {page.reason}")
                elif page.whole and (reason := _too_large(page.content, limits.page_bytes)):
                    yield Refused(name, reason)
                else:
                    yield _given(name, page.number, page.content, page.of)
        else:
            content = file if isinstance(file, bytes) else file.read_bytes()
            if not content:
                yield Refused(name, "The file is empty; copy it again or take a new photo.")
            elif not typed and kind == "other":
                yield Refused(name, _NO_PAGE)
            else:
                if not typed:
                    _check_picture(content, limits)
                yield _given(name, 1, content)
    except PageError as error:
        yield Refused(name, str(error))
    except OSError as error:
        yield Refused(name, f"The file cannot be opened ({error.strerror}); check it.")


def _too_large(file: Path | bytes, most: int) -> str | None:
    try:
        size = len(file) if isinstance(file, bytes) else file.stat().st_size
    except OSError as error:
        return f"The file cannot be opened ({error.strerror}); check it."
    if size <= most:
        return None
    return f"The file is larger than {most / 1e6:g} MB; save it smaller and try again."


def _check_picture(content: bytes, limits: Limits) -> None:
    """PageError where the head of a picture already says that it will not be read."""
    with opened("The photo", content) as image:
        width, height = image.size
    if width * height > limits.page_pixels:
        most = limits.page_pixels / 1e6
        raise PageError(f"The photo has more than {most:g} megapixels; scale it down.")


def _given(name: str, number: int, content: bytes, of: int = 1) -> GivenPage:
    return GivenPage(name, number, content, hashlib.sha256(content).hexdigest(), of)
