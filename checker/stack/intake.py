"""What is given, page by page: photos, scans, PDFs, typed working, folders and zip archives.

Only one page at a time is held in memory. Names are labels for people and never opened: parts are
joined by ``/`` whatever they come from (``stack.zip/ada/1.jpg``), and no two files of a run have
the same one.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class GivenPage:
    """One page to be read.

    ``name`` is the label of its file, ``number`` its 1-based place there, ``content`` an encoded
    picture, or UTF-8 text where ``name`` ends in ``.txt``: what ``submission.Upload`` takes.
    ``digest`` is the SHA-256 of ``content`` in hexadecimal.
    """

    name: str
    number: int
    content: bytes
    digest: str


@dataclass(frozen=True)
class Refused:
    """A file, or the rest of one, that gives no page; ``reason`` is one sentence."""

    name: str
    reason: str
