"""One submission: pages and a problem in, a judgement out.

The command line and the web pages call this, and it is the way in from Python
(``checker.check``). What is heavy to import is imported when it is first needed.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from checker.errors import PageError

if TYPE_CHECKING:
    from checker.matching.judgement import Judgement
    from checker.problem.problem_file import Problem
    from checker.problem.reduction import Reference
    from checker.reading.page import LineReader, PageReading

ReaderName = Literal["ink", "tesseract"]
_NO_WORKING = "No working was found: what is there looks like a drawing, words or crossed-out work."
_MOST_PAGES = 100  # of one file
_UNSURE = "Most steps could not be judged for certain; please look at them."


@dataclass(frozen=True)
class Upload:
    """A page that is no file on this machine: the name it came with and its bytes."""

    name: str
    content: bytes


Source = str | Path | Upload


@dataclass(frozen=True)
class Checked:
    """A checked submission; ``sources`` and ``pages`` are in the order they were given.

    ``seconds`` is the wall-clock time of reading and judging together.
    """

    reference: Reference
    sources: tuple[Source, ...]
    pages: tuple[PageReading, ...]
    judgement: Judgement
    seconds: float

    @property
    def problem(self) -> Problem:
        return self.reference.problem

    @property
    def remarks(self) -> tuple[str, ...]:
        """What the person should know about the pages, then about the working.

        Where no verdict is given on the whole, one of them says why.
        """
        of_pages = [one for page in self.pages for one in (*page.doubts, *page.remarks)]
        if self.judgement.outcome == "nothing read" and not of_pages:
            of_pages = [_NO_WORKING]
        return tuple(dict.fromkeys([*of_pages, *self.judgement.remarks]))

    @property
    def caution(self) -> str | None:
        """A word of caution where the circuit could hurt someone who builds it."""
        from checker.problem.caution import caution

        return caution(self.reference)


def check(
    pages: Sequence[Source] | Source,
    problem: Problem | str | Path,
    reader: ReaderName | None = None,
) -> Checked:
    """Read ``pages`` (one submission, in order) and judge them against ``problem``.

    A page is the path of a photo or of a ``.txt`` file of typed working, or an ``Upload``; a PDF or
    a TIFF may hold several (``each_page``). ``problem`` is the path of a problem file or a
    ``Problem``. Raises CheckerError (ProblemError, PageError, ReaderError) with one sentence for
    whatever cannot be used.
    """
    from checker.problem.problem_file import Problem, load_problem
    from checker.problem.reduction import solve

    started = time.perf_counter()
    if not isinstance(problem, Problem):
        problem = load_problem(problem)
    reference = solve(problem)
    sources = each_page((pages,) if isinstance(pages, str | Path | Upload) else pages)
    if not sources:
        raise PageError("There is no page to check; give at least one photo or .txt file.")
    readings = read(sources, reader)
    judgement = judge_pages(reference, readings)
    return Checked(reference, sources, readings, judgement, time.perf_counter() - started)


def each_page(sources: Sequence[Source]) -> tuple[Source, ...]:
    """``sources`` with an ``Upload`` for every page of a PDF or of a TIFF that has several.

    Raises PageError where a file cannot be split or has more than 100 pages.
    """
    return tuple(page for source in sources for page in _pages_of(source))


def _pages_of(source: Source) -> Iterator[Source]:
    from checker.reading.file_pages import file_pages, head_of, may_hold_pages

    file = source.content if isinstance(source, Upload) else Path(source)
    if is_typed(source) or not may_hold_pages(head_of(file)):
        yield source
        return
    for page in file_pages(source_name(source), file, _MOST_PAGES):
        if page.content is None:
            raise PageError(f"Page {page.number}: {page.reason}")
        yield (
            source
            if page.whole
            else Upload(f"{source_name(source)}, page {page.number}", page.content)
        )


def judge_pages(reference: Reference, pages: Sequence[PageReading]) -> Judgement:
    """Judge the pages of one submission as they were read; no verdict where pages are in doubt."""
    from checker.matching.judge import judge
    from checker.matching.judgement import withheld

    judgement = judge(reference, [line for page in pages for line in page.lines])
    if any(page.doubts for page in pages):
        return withheld(judgement)
    if _is_mostly_unsure(judgement):
        return withheld(judgement, _UNSURE)
    return judgement


def read(sources: Sequence[Source], reader: ReaderName | None = None) -> tuple[PageReading, ...]:
    """Read every page; the reader's model is loaded only when one of them is a photo."""
    from checker.reading.read_page import read_page
    from checker.reading.typed import read_typed

    lines: LineReader | None = None
    readings = []
    for number, source in enumerate(sources):
        try:
            if is_typed(source):
                readings.append(read_typed(_given(source), page=number))
            else:
                lines = lines or line_reader(reader)
                readings.append(read_page(_given(source), page=number, reader=lines))
        except PageError as error:
            if isinstance(source, Upload):
                raise PageError(f"{source_name(source)}: {error}") from None
            raise
    return tuple(
        replace(reading, source=source_name(source))
        for reading, source in zip(readings, sources, strict=True)
    )


def _is_mostly_unsure(judgement: Judgement) -> bool:
    verdicts = [s.verdict for s in judgement.statements if s.verdict != "not working"]
    return 2 * verdicts.count("unsure") > len(verdicts)


def line_reader(name: ReaderName | None = None) -> LineReader:
    """The reader called ``name``, else the default one; ReaderError if it cannot run."""
    if name == "ink":
        from checker.reading.ink_reader import InkReader

        return InkReader()
    if name == "tesseract":
        from checker.reading.tesseract_reader import TesseractReader

        return TesseractReader()
    from checker.reading.read_page import default_reader

    return default_reader()


def is_typed(source: Source) -> bool:
    return source_name(source).lower().endswith(".txt")


def source_name(source: Source) -> str:
    """What to call a page: the last part of its path."""
    return Path(source.name if isinstance(source, Upload) else source).name


def _given(source: Source) -> str | Path | bytes:
    return source.content if isinstance(source, Upload) else source
