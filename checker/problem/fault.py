"""A fault in what a problem says, and which of its keys says it."""

from __future__ import annotations

from checker.errors import ProblemError


class Fault(ProblemError):
    """``key`` is the path of the key at fault, such as ("capacitors", "C1").

    The one who knows the file finds the line from it.
    """

    def __init__(self, message: str, *key: str) -> None:
        super().__init__(message)
        self.key = key
