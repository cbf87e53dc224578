"""The files of a folder and of those in it, in the order a person would list them."""

from __future__ import annotations

import re
import stat
from collections.abc import Iterator
from pathlib import Path

from checker.stack.labels import Refused, label

_MOST_DEPTH = 30


def folder_files(folder: Path) -> Iterator[tuple[str, Path] | Refused]:
    """Every file below ``folder`` with its label, whose first part is the folder's own name.

    Links are not followed, so no file is read that lies elsewhere; what systems put into folders
    (names that begin with a dot, ``__MACOSX``) is passed over.
    """
    yield from _files(folder, label(folder.resolve().name), _MOST_DEPTH)


def is_litter(name: str) -> bool:
    """Whether a file of that name is a system's own and no one's work."""
    return name.startswith(".") or name in ("__MACOSX", "Thumbs.db", "desktop.ini")


def natural(name: str) -> tuple[tuple[int, int, str], ...]:
    """A key that sorts page 2 before page 10."""
    parts = re.findall(r"([0-9]+)|([^0-9]+)", name)
    return tuple((0, int(digits[:18]), digits) if digits else (1, 0, text.casefold())
                 for digits, text in parts)  # fmt: skip


def _files(folder: Path, name: str, depth: int) -> Iterator[tuple[str, Path] | Refused]:
    try:
        found = sorted(folder.iterdir(), key=lambda path: (natural(path.name), path.name))
    except OSError as error:
        yield Refused(name, f"The folder cannot be opened ({error.strerror}); check it.")
        return
    for path in found:
        if is_litter(path.name):
            continue
        here = label(name, path.name)
        try:
            mode = path.lstat().st_mode
        except OSError as error:
            yield Refused(here, f"The file cannot be opened ({error.strerror}); check it.")
            continue
        if stat.S_ISREG(mode):
            yield here, path
        elif stat.S_ISDIR(mode) and depth:
            yield from _files(path, here, depth - 1)
        elif stat.S_ISDIR(mode):
            yield Refused(here, "The folder lies too deep in others; give it by itself.")
        else:
            yield Refused(here, "This is a link or a device and no file; give the file itself.")
