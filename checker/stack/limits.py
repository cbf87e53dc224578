"""What one run takes in at most.

The limits keep a broken or hostile file from using up the machine; all of them can be raised, for
instance ``replace(Limits(), file_pages=5000)`` or ``checker triage --limit file_pages=5000``. What
goes beyond one is refused with a sentence that names the limit.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace

from checker.errors import CheckerError


@dataclass(frozen=True)
class Limits:
    """Bytes are those of a file as given, or of a zip's member once it is unpacked.

    ``page_pixels`` counts the pixels of one picture before it is scaled down; more than
    ``reading.load.MOST_PIXELS`` is never read. ``zip_ratio`` is unpacked over packed bytes of a
    member of more than a megabyte.
    """

    file_bytes: int = 500_000_000  # a PDF, a zip or a TIFF of several pages
    page_bytes: int = 100_000_000  # one picture
    page_pixels: int = 100_000_000
    file_pages: int = 2_000  # pages of one PDF or TIFF
    zip_members: int = 5_000
    zip_bytes: int = 2_000_000_000  # all members of one zip together
    zip_ratio: int = 200
    stack_pages: int = 20_000  # all that is given together


def limits_from(settings: Iterable[str]) -> Limits:
    """The usual limits but for those set as ``NAME=NUMBER``; CheckerError for anything else."""
    names = [field.name for field in fields(Limits)]
    limits = Limits()
    for setting in settings:
        name, _, number = setting.partition("=")
        if name not in names or not number.isdecimal() or not 1 <= int(number) <= 10**15:
            known = ", ".join(names)
            raise CheckerError(
                f"--limit {setting} is no limit; give NAME=NUMBER with a NAME of {known}."
            )
        limits = replace(limits, **{name: int(number)})
    return limits
