"""What kind of file some bytes are, by how they begin; the name of a file says nothing."""

from __future__ import annotations

from typing import Literal

FileKind = Literal["picture", "tiff", "heif", "pdf", "zip", "other"]
HEAD = 1024  # bytes of the beginning that decide
_PICTURES = (b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"GIF8", b"BM")
_TIFFS = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
# ISO/IEC 23008-12, annex B and D: brands of still pictures and sequences coded as HEVC or any.
_HEIF_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
_ZIPS = (b"PK\x03\x04", b"PK\x05\x06")  # APPNOTE 4.3.7 and 4.3.16: a member, or the end of none


def file_kind(head: bytes) -> FileKind:
    """The kind of the file that begins with ``head`` (its first ``HEAD`` bytes, or all)."""
    if head.startswith(_PICTURES) or (head[:4] == b"RIFF" and head[8:12] == b"WEBP"):
        return "picture"
    if head.startswith(_TIFFS):
        return "tiff"
    if head[4:8] == b"ftyp":
        brands = [head[at : at + 4] for at in range(8, min(_box_size(head), len(head)), 4)]
        return "heif" if any(brand in _HEIF_BRANDS for brand in brands) else "other"
    if head.startswith(_ZIPS):
        return "zip"
    # Readers accept a PDF whose header stands anywhere in the first 1024 bytes.
    return "pdf" if b"%PDF-" in head[:HEAD] else "other"


def _box_size(head: bytes) -> int:
    return int.from_bytes(head[:4], "big")
