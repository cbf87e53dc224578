"""Gives the program thousands of broken files and prints how each kind ended.

Every file goes the whole way: taken in, split into pages, decoded, read. It has to end in pages
that were read or in a reason, below the bounds of time and memory. Exit status 1 where one
does not.
"""

from __future__ import annotations

import argparse
import resource
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from PIL import Image

from checker.benchmarks.broken_files import ROOT, BrokenFile, broken_files
from checker.errors import PageError
from checker.reading.page import LineReader
from checker.reading.read_page import read_page
from checker.reading.typed import read_typed
from checker.stack.intake import Refused, given_pages
from checker.submission import Upload, is_typed, line_reader

_MOST_SECONDS, _MOST_MEGABYTES = 30.0, 1500.0
_READ_AT_MOST = 1  # pages of one file: the others would end like the first


@dataclass(frozen=True)
class End:
    """How one file ended; ``reasons`` are those of pages and of the file."""

    file: BrokenFile
    read: int
    reasons: tuple[str, ...]
    seconds: float
    megabytes: float
    mistake: str | None = None

    @property
    def is_good(self) -> bool:
        in_bounds = self.seconds <= _MOST_SECONDS and self.megabytes <= _MOST_MEGABYTES
        sentences = all(r.endswith(".") and "\n" not in r for r in self.reasons)
        return not self.mistake and bool(self.read or self.reasons) and in_bounds and sentences


def ended(file: BrokenFile) -> End:
    """Take one file in and read it."""
    read_pages, reasons, mistake = 0, [], None
    _forget_peak()
    started = time.perf_counter()
    try:
        for page in given_pages([Upload(file.name, file.content)]):
            if isinstance(page, Refused):
                reasons.append(page.reason)
            elif read_pages < _READ_AT_MOST:
                try:
                    if is_typed(Upload(page.name, b"")):
                        read_typed(page.content)
                    else:
                        read_page(page.content, reader=_reader())
                    read_pages += 1
                except PageError as error:
                    reasons.append(str(error))
    except Exception as error:  # what this measures: nothing may get here
        mistake = f"{type(error).__name__}: {error}"
    seconds = time.perf_counter() - started
    return End(file, read_pages, tuple(reasons), seconds, _peak(), mistake)


@cache
def _reader() -> LineReader:
    return line_reader()


def _forget_peak() -> None:
    """Linux: begin to note the highest memory anew (proc(5), clear_refs)."""
    with suppress(OSError):
        Path("/proc/self/clear_refs").write_text("5")


def _peak() -> float:
    """The highest memory of this process since then, or of any process it started, in megabytes."""
    children = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    try:
        status = Path("/proc/self/status").read_text()
        own = int(status.split("VmHWM:")[1].split()[0]) / 1024
    except (OSError, IndexError):
        own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return max(own, children)


def table(ends: Iterable[End]) -> str:
    """A line for every kind of file: how many, how they ended, the slowest, the largest."""
    kinds: dict[str, list[End]] = defaultdict(list)
    for end in ends:
        kinds[end.file.kind].append(end)
    lines = [f"{'kind':42} files  read  reason   bad  slowest s  most MB  usual reason"]
    for kind, its in kinds.items():
        reasons = Counter(reason for end in its for reason in end.reasons)
        usual = reasons.most_common(1)[0][0] if reasons else ""
        lines.append(
            f"{kind:42} {len(its):5} {sum(end.read > 0 for end in its):5} "
            f"{sum(not end.read for end in its):7} {sum(not end.is_good for end in its):5} "
            f"{max(end.seconds for end in its):10.1f} {max(end.megabytes for end in its):8.0f}  "
            f"{usual[:90]}"
        )
    return "\n".join(lines)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=2000)
    parser.add_argument("--every", action="store_true", help="also a line for every file")
    options = parser.parse_args()
    with Image.open(ROOT / "sample_pages" / "series_added_up" / "page.jpg") as image:
        photo = image.convert("RGB").resize((600, 800)).crop((60, 60, 360, 200))  # two lines
    ends = []
    for file in broken_files(options.count, photo):
        end = ended(file)
        # The bytes are let go: two thousand files would be most of the memory counted.
        ends.append(End(file._replace(content=b""), *_rest(end)))
        print(f"\r{len(ends)} of {options.count} ", end="", file=sys.stderr, flush=True)
        if options.every or not end.is_good:
            how = end.mistake or f"{end.read} read; {' '.join(end.reasons[:2])}"
            name = ascii(end.file.name[:40])
            print(f"{end.file.kind}: {name} {end.seconds:.1f} s, {how}", flush=True)
    bad = sum(not end.is_good for end in ends)
    slowest, most = max(e.seconds for e in ends), max(e.megabytes for e in ends)
    print(table(ends))
    print(
        f"{len(ends)} files: {sum(end.read > 0 for end in ends)} gave pages that were read, "
        f"{sum(not end.read for end in ends)} a reason alone, {bad} neither or out of bounds; "
        f"slowest {slowest:.1f} s, most {most:.0f} MB"
    )
    return 1 if bad else 0


def _rest(end: End) -> tuple[int, tuple[str, ...], float, float, str | None]:
    return end.read, end.reasons, end.seconds, end.megabytes, end.mistake


if __name__ == "__main__":
    raise SystemExit(main())
