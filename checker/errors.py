"""The one family of exceptions a user can cause.

Every message is one sentence that says what was wrong and what to do; the command line and the
web pages print it as it is.
"""


class CheckerError(Exception):
    """Anything a user can put right."""


class ProblemError(CheckerError):
    """A problem file that cannot be used; ``line`` is its 1-based line where known."""

    def __init__(self, message: str, line: int | None = None) -> None:
        super().__init__(message)
        self.line = line


class PageError(CheckerError):
    """A page (photo, scan or typed file) that cannot be used."""


class ReaderError(CheckerError):
    """A reader that cannot run here, such as a missing tesseract program."""


class StoreError(CheckerError):
    """A store (the record of a stack of submissions) that cannot be opened or written."""
