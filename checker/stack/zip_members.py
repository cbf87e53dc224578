"""The files of a zip archive, unpacked in memory one at a time and never written anywhere."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from checker.reading.file_kind import HEAD, file_kind
from checker.stack.folder_files import is_litter, natural
from checker.stack.labels import Refused, label
from checker.stack.limits import Limits

# APPNOTE 4.3.16, 4.3.15 and 4.3.14: the end record, and the locator and end record of very large
# archives.
_END, _LOCATOR = b"PK\x05\x06", b"PK\x06\x07"
_END_SIZE, _LOCATOR_SIZE, _LONGEST_COMMENT = 22, 20, 65_535
_ENTRY = 1_000  # bytes of the list of members that one may take
_FLOOR = 1_000_000  # bytes below which a member may be packed as tightly as it likes
_UNREADABLE = (
    zipfile.BadZipFile, ValueError, NotImplementedError, struct.error, LookupError,
)  # fmt: skip
_DAMAGED = "The zip is damaged or cut short; pack or download it again."


def zip_members(
    name: str, file: Path | bytes, limits: Limits
) -> Iterator[tuple[str, bytes] | Refused]:
    """Label and content of every member in natural order; those of folders and litter are left out.

    Only stored and deflated members are unpacked: the others allow a few bytes to ask for
    gigabytes of memory.
    """
    try:
        with _opened(file) as source:
            if reason := _too_many(source, limits):
                yield Refused(name, reason)
                return
            with zipfile.ZipFile(source) as archive:
                yield from _members(name, archive, limits)
    except OSError as error:
        yield Refused(name, f"The zip cannot be opened ({error.strerror}); check it.")
    except _UNREADABLE:
        yield Refused(name, _DAMAGED)


def count_members(file: Path | bytes, limits: Limits) -> int:
    """How many files or reasons ``zip_members`` will give, as far as the zip's list tells."""
    try:
        with _opened(file) as source:
            if _too_many(source, limits):
                return 1
            with zipfile.ZipFile(source) as archive:
                count = len(_wanted(archive))
                return count if 1 <= count <= limits.zip_members else 1
    except (OSError, *_UNREADABLE):
        return 1


def _opened(file: Path | bytes) -> BinaryIO:
    return file.open("rb") if isinstance(file, Path) else io.BytesIO(file)


def _wanted(archive: zipfile.ZipFile) -> list[zipfile.ZipInfo]:
    return [
        member for member in archive.infolist()
        if not member.is_dir() and not any(map(is_litter, label(member.filename).split("/")))
    ]  # fmt: skip


def _too_many(source: BinaryIO, limits: Limits) -> str | None:
    """Why the list of members should not be read: it is all taken into memory at once."""
    size = source.seek(0, io.SEEK_END)
    tail_size = min(size, _END_SIZE + _LONGEST_COMMENT + _LOCATOR_SIZE)
    source.seek(size - tail_size)
    tail = source.read(tail_size)
    source.seek(0)
    ends = [at for at in range(len(tail) - _END_SIZE + 1) if tail.startswith(_END, at)]
    if not ends:
        return _DAMAGED
    many = f"The zip has more than {limits.zip_members:,} files; pack fewer into it."
    for at in ends:  # whichever of them is taken
        (list_size,) = struct.unpack_from("<I", tail, at + 12)
        if list_size > limits.zip_members * _ENTRY or _LOCATOR in tail[:at]:
            return many
    return None


def _members(
    name: str, archive: zipfile.ZipFile, limits: Limits
) -> Iterator[tuple[str, bytes] | Refused]:
    members = _wanted(archive)
    if len(members) > limits.zip_members:
        yield Refused(name, f"The zip has more than {limits.zip_members:,} files; pack fewer.")
        return
    if not members:
        yield Refused(name, "The zip holds no file; pack the pages again.")
    left = limits.zip_bytes
    for member in sorted(members, key=lambda member: natural(member.filename)):
        here = label(name, member.filename)
        content = _unpacked(archive, member, limits, left)
        if isinstance(content, str):
            yield Refused(here, content)
            continue
        left -= len(content)
        if left < 0:
            gigabytes = limits.zip_bytes / 1e9
            yield Refused(here, f"The zip unpacks to more than {gigabytes:g} GB; pack fewer files.")
            return
        if file_kind(content[:HEAD]) == "zip":
            yield Refused(here, "This is a zip inside a zip; unpack it and give what is in it.")
        else:
            yield here, content


def _unpacked(
    archive: zipfile.ZipFile, member: zipfile.ZipInfo, limits: Limits, left: int
) -> bytes | str:
    """The content, or one sentence why there is none; sizes are not taken from the archive."""
    if member.flag_bits & 1:
        return "The file is locked with a password; pack it without one."
    if member.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        return "The file is packed in an unusual way; pack it again as an ordinary zip."
    most = min(limits.page_bytes, left, max(_FLOOR, limits.zip_ratio * member.compress_size))
    try:
        with archive.open(member) as packed:
            content = packed.read(most + 1)
    except (zipfile.BadZipFile, zlib.error, EOFError, ValueError, OSError,
            NotImplementedError, RuntimeError, struct.error, LookupError):  # fmt: skip
        return "The file is damaged in the zip; pack or download it again."
    if len(content) <= most:
        return content
    if most == limits.page_bytes:
        return f"The file unpacks to more than {most / 1e6:g} MB; give it by itself."
    if most == left:
        return f"The zip unpacks to more than {limits.zip_bytes / 1e9:g} GB; pack fewer files."
    return "The file unpacks to far more than a page holds; give the page itself."
