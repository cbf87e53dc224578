"""How far a run is: a bar with rate and time left in a terminal, plain lines elsewhere."""

from __future__ import annotations

import sys
import time
from types import TracebackType
from typing import TextIO

from checker.stack.triage import Step

_EVERY = 10.0  # seconds between plain lines


class Progress:
    """Use it in a ``with`` block and give ``tell`` to ``triage``.

    ``total`` is the number of pages where it is known; the rate counts pages read in this run.
    """

    def __init__(self, total: int | None = None, out: TextIO | None = None) -> None:
        self._total, self._out = total, out or sys.stderr
        self.counts = {"read": 0, "failed": 0, "kept": 0, "judged": 0}
        self._started = self._said = time.monotonic()
        self._bar = _bar(self._out, total) if self._out.isatty() else None

    def __enter__(self) -> Progress:
        if self._bar is not None:
            self._bar.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        at: TracebackType | None,
    ) -> None:
        if self._bar is not None:
            self._bar.stop()
        else:
            self._line()

    def tell(self, step: Step) -> None:
        self.counts[step.kind] += 1
        if self._bar is not None:
            pages = self.pages
            self._bar.update(self._bar.task_ids[0], completed=pages, words=self._words())
        elif time.monotonic() - self._said > _EVERY:
            self._line()

    @property
    def pages(self) -> int:
        return self.counts["read"] + self.counts["failed"] + self.counts["kept"]

    def _line(self) -> None:
        self._said = time.monotonic()
        of = f" of {self._total}" if self._total else ""
        print(f"{self.pages}{of} pages: {self._words()}", file=self._out, flush=True)

    def _words(self) -> str:
        said = [f"{count} {kind}" for kind, count in self.counts.items() if count]
        done = self.counts["read"] + self.counts["failed"]
        seconds = time.monotonic() - self._started
        if done and seconds > 1:
            rate = done / seconds
            said.append(f"{rate:.2f} pages/s")
            if self._total and self._total > self.pages:
                said.append(f"{_spoken((self._total - self.pages) / rate)} left")
        return ", ".join(said) or "nothing yet"


def _bar(out: TextIO, total: int | None):  # type: ignore[no-untyped-def]
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn
    from rich.progress import Progress as Bar

    words = TextColumn("{task.fields[words]}", markup=False)
    bar = Bar(BarColumn(), MofNCompleteColumn(), words, console=Console(file=out))
    bar.add_task("pages", total=total, words="")
    return bar


def _spoken(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest} s" if minutes else f"{rest} s"
