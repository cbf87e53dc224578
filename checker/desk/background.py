"""A stack read in the background, so that its page answers meanwhile."""

from __future__ import annotations

import logging
import threading
from collections.abc import Sequence

from checker.desk.kept_uploads import Given, KeptUploads, together
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
        self._kept = KeptUploads(store)
        self._thread: threading.Thread | None = None
        self._lock = threading.Lock()
        self.done = 0
        self.problem: str | None = None

    @property
    def running(self) -> bool:
        return self._thread is not None and self._thread.is_alive()

    @property
    def ended_early(self) -> bool:
        """Whether a run did not come to its end and ``resume`` goes on with it."""
        return not self.running and self._kept.there()

    def start(self, pages: Sequence[Upload], problem: Problem, split: Split) -> None:
        """Begin a run, also over what an ended one left; CheckerError while one is at work."""
        with self._lock:
            self._check_idle()
            given = Given(together(self._kept.given(), pages), problem, split)
            self._kept.keep(given)
            self._begin(given)

    def resume(self) -> None:
        """Go on with a run that did not come to its end, if there is one."""
        with self._lock:
            self._check_idle()
            given = self._kept.given()
            if given is not None:
                self._begin(given)

    def forget(self) -> None:
        """Remove what is kept of a run that did not come to its end."""
        with self._lock:
            self._check_idle()
            self._kept.forget()
            self.problem = None

    def _check_idle(self) -> None:
        if self.running:
            raise CheckerError("A stack is being read; add more when it is done.")

    def _begin(self, given: Given) -> None:
        self.done, self.problem = 0, None
        self._thread = threading.Thread(target=self._run, args=(given,), daemon=True)
        self._thread.start()

    def _run(self, given: Given) -> None:
        # One core stays free for the pages.
        workers = ProcessWorkers(max(1, usable_cores() - 1))
        try:
            pages = given_pages(given.pages)
            triage(pages, self._store, given.problem, workers, given.split, self._tell)
            self._kept.forget()
        except CheckerError as error:
            self.problem = str(error)
        except Exception:
            logging.getLogger(__name__).exception("A stack could not be read.")
            self.problem = "Reading the stack failed; the terminal says more. Try to resume it."
        finally:
            workers.close()

    def _tell(self, step: Step) -> None:
        self.done += step.kind != "judged"
