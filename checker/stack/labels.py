"""Names of what is given, as labels for people; nothing opens them."""

from __future__ import annotations

from dataclasses import dataclass

_LONGEST = 300  # characters of a label


@dataclass(frozen=True)
class Refused:
    """A file, or the rest of one, that gives no page; ``reason`` is one sentence."""

    name: str
    reason: str


def label(*parts: str) -> str:
    """The parts of a name with ``/`` between them, without roots, ``.`` and ``..``.

    Bytes of a file name that are no text become question marks; every other character stays, so
    whoever shows a label has to escape it.
    """
    whole = "/".join(parts).replace("\\", "/").replace("\0", "?")
    text = whole.encode("utf-8", "replace").decode("utf-8")
    kept = "/".join(part for part in text.split("/") if part not in ("", ".", ".."))
    return kept if len(kept) <= _LONGEST else f"…{kept[-_LONGEST:]}"


class Unique:
    """Gives every file a label of its own: the second ``1.jpg`` is called ``1.jpg (2)``."""

    def __init__(self) -> None:
        self._taken: dict[str, int] = {}

    def of(self, name: str) -> str:
        name = name or "(no name)"
        count = self._taken.get(name, 0) + 1
        self._taken[name] = count
        if count == 1:
            return name
        return self.of(_numbered(name, count))


def _numbered(name: str, count: int) -> str:
    """A typed page stays one: what is read as text is known by its ending."""
    stem = name[: -len(".txt")] if name.lower().endswith(".txt") else name
    return f"{stem} ({count}){name[len(stem) :]}"
