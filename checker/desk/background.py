"""A stack read in the background, so that its page answers meanwhile."""

from __future__ import annotations

import logging
import threading
from collections.abc import Sequence

from checker.errors import CheckerError
from checker.problem.problem_file import Problem
from checker.stack.grouping import Split
from checker.stack.intake import given_pages
from checker.stack.store import Store
from checker.stack.triage import Step, triage
from checker.stack.workers import ProcessWorkers, usable_cores
from checker.submission import Upload


class Background:
    """At most one run over a store at a time; its state may be asked for from any thread."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._thread: threading.Thread | None = None
        self._lock = threading.Lock()
        self.done = 0
        self.problem: str | None = None

    @property
    def running(self) -> bool:
        return self._thread is not None and self._thread.is_alive()

    def start(self, pages: Sequence[Upload], problem: Problem, split: Split) -> None:
        """Begin a run; CheckerError while another one is at work."""
        with self._lock:
            if self.running:
                raise CheckerError("A stack is being read; add more when it is done.")
            self.done, self.problem = 0, None
            self._thread = threading.Thread(
                target=self._run, args=(tuple(pages), problem, split), daemon=True
            )
            self._thread.start()

    def _run(self, pages: Sequence[Upload], problem: Problem, split: Split) -> None:
        # One core stays free for the pages.
        workers = ProcessWorkers(max(1, usable_cores() - 1))
        try:
            triage(given_pages(pages), self._store, problem, workers, split, self._tell)
        except CheckerError as error:
            self.problem = str(error)
        except Exception:
            logging.getLogger(__name__).exception("A stack could not be read.")
            self.problem = "Reading the stack failed; the terminal says more. Add the files again."
        finally:
            workers.close()

    def _tell(self, step: Step) -> None:
        self.done += step.kind != "judged"
