"""How many pages a run will have taken in at its end, as far as is known by now."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from checker.stack.grouping import Given
from checker.stack.intake import Refused


class Outlook:
    """``files`` is how many there are.

    A file being taken in counts as many pages as it says it has, one not yet opened as many as
    those before it had on average. Once all are through, the total is exact.
    """

    def __init__(self, files: int) -> None:
        self._files = files
        self._opened = 0
        self._before = 0  # pages of the files that are through
        self._here, self._said = 0, 0  # pages of the present file: come, and announced
        self._name: str | None = None

    def watch(self, given: Iterable[Given]) -> Iterator[Given]:
        """The same pages, counted as they come."""
        for one in given:
            if one.name != self._name:
                self._name = one.name
                self._opened += 1
                self._before += self._here
                self._here = self._said = 0
            self._here += 1
            if not isinstance(one, Refused):
                self._said = one.of
            yield one
        self._files, self._said = self._opened, self._here

    @property
    def total(self) -> int:
        known = self._before + max(self._here, self._said)
        left = max(self._files - self._opened, 0)
        return known + round(left * known / self._opened) if self._opened else left
