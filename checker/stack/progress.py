"""How far a run is: a bar with rate and time left in a terminal, plain lines elsewhere."""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Callable
from types import TracebackType
from typing import TYPE_CHECKING, TextIO

from checker.stack.outlook import Outlook
from checker.stack.triage import Step

if TYPE_CHECKING:
    from rich.progress import Progress as Bar

_EVERY = 10.0  # seconds between plain lines
_AT_LEAST = 1.0  # seconds of work before it is said how fast it goes


class Progress:
    """Use it in a ``with`` block and give ``tell`` to ``triage``.

    ``outlook`` says how many pages there will be; the rate counts pages read in this run.
    """

    def __init__(
        self,
        outlook: Outlook | None = None,
        out: TextIO | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._outlook, self._out, self._clock = outlook, out or sys.stderr, clock
        self.counts: Counter[str] = Counter()
        self._to_judge = 0
        self._started = self._said = self._page_at = clock()
        self._judging_since = 0.0
        self._bar = _bar(self._out) if self._out.isatty() else None

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
            self._draw(self._bar)
            self._bar.stop()
        else:
            self._line(self._all())

    def tell(self, step: Step) -> None:
        now = self._clock()
        if step.kind != "judged":
            self._page_at = now
        elif not self._to_judge:
            self._to_judge, self._judging_since = step.of or 0, now
        self.counts[step.kind] += 1
        if self._bar is not None:
            self._draw(self._bar)
        elif now - self._said > _EVERY:
            self._line(self._now())

    @property
    def pages(self) -> int:
        return self.counts["read"] + self.counts["failed"] + self.counts["kept"]

    def _line(self, text: str) -> None:
        self._said = self._clock()
        print(text, file=self._out, flush=True)

    def _draw(self, bar: Bar) -> None:
        judging = bool(self._to_judge)
        bar.update(
            bar.task_ids[0],
            completed=self.counts["judged"] if judging else self.pages,
            total=self._to_judge if judging else self._total(),
            what="judged" if judging else "pages",
            words=", ".join(self._judging() if judging else self._reading()),
        )

    def _now(self) -> str:
        if self._to_judge:
            done = f"{self.counts['judged']} of {self._to_judge} judged"
            return ", ".join([done, *self._judging()])
        of = f" of {self._total()}" if self._total() else ""
        return f"{self.pages}{of} pages: {', '.join(self._reading())}"

    def _all(self) -> str:
        """The last line: all that was done."""
        said = [*self._counted("read", "failed", "kept", "judged"), *self._rate()]
        return f"{self.pages} pages: {', '.join(said) or 'nothing new'}"

    def _reading(self) -> list[str]:
        said = [*self._counted("read", "failed", "kept"), *self._rate()]
        left = (self._total() or 0) - self.pages
        return [*said, *_left(left, self._read(), self._page_at - self._started)]

    def _judging(self) -> list[str]:
        done = self.counts["judged"]
        # The first is there when the clock starts.
        return _left(self._to_judge - done, done - 1, self._clock() - self._judging_since)

    def _counted(self, *kinds: str) -> list[str]:
        return [f"{self.counts[kind]} {kind}" for kind in kinds if self.counts[kind]]

    def _rate(self) -> list[str]:
        seconds = self._page_at - self._started
        if not self._read() or seconds < _AT_LEAST:
            return []
        return [f"{self._read() / seconds:.2f} pages/s"]

    def _read(self) -> int:
        return self.counts["read"] + self.counts["failed"]

    def _total(self) -> int | None:
        return max(self._outlook.total, self.pages) if self._outlook else None


def _left(to_do: int, done: int, seconds: float) -> list[str]:
    """How long the rest takes at the rate so far."""
    if to_do <= 0 or done <= 0 or seconds < _AT_LEAST:
        return []
    minutes, rest = divmod(round(to_do * seconds / done), 60)
    return [f"{minutes} min {rest} s left" if minutes else f"{rest} s left"]


def _bar(out: TextIO) -> Bar:
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn
    from rich.progress import Progress as Bar

    what, words = (TextColumn(f"{{task.fields[{key}]}}", markup=False) for key in ("what", "words"))
    bar = Bar(BarColumn(), MofNCompleteColumn(), what, words, console=Console(file=out))
    bar.add_task("pages", total=None, what="pages", words="")
    return bar
