"""What a stack was given, kept beside its store until the stack is done.

A browser's uploads live in memory. When the desk is ended while it reads them, it goes on from
these copies. They lie in a folder of their user alone; no file in it is called what it was called
by whoever gave it.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from checker.errors import StoreError
from checker.problem.problem_file import Problem, parse_problem, problem_to_toml
from checker.stack.grouping import Split
from checker.stack.store import Store
from checker.submission import Upload

LIST = "given.json"  # which stack they belong to, its problem, and the files by their digests
_KEY = "given"  # setting of the store


@dataclass(frozen=True)
class Given:
    """What a run is made with."""

    pages: tuple[Upload, ...]
    problem: Problem
    split: Split


class KeptUploads:
    """The copies that belong to one store."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self.folder = store.path.with_name(f"{store.path.name}.given")

    def keep(self, given: Given) -> None:
        """Keep copies until ``forget``, in place of those kept so far; StoreError where they
        cannot be written."""
        run = uuid.uuid4().hex
        try:
            self.folder.mkdir(mode=0o700, exist_ok=True)
            self.folder.chmod(0o700)
            listed = [[page.name, self._written(page.content)] for page in given.pages]
            text = json.dumps(
                {
                    "run": run,
                    "problem": problem_to_toml(given.problem),
                    "split": given.split,
                    "pages": listed,
                }
            )
            part = self.folder / self._written(text.encode())
            self._store.set_setting(_KEY, run)
            part.replace(self.folder / LIST)
        except OSError as error:
            raise StoreError(
                f"The files cannot be kept beside {self._store.path} ({error.strerror}); "
                "make room on the disk, then give them again."
            ) from None

    def there(self) -> bool:
        """Whether there are copies; those of a stack that was deleted are removed."""
        if not self.folder.exists():
            return False
        found = self._list()
        if found is None or found.get("run") != self._store.setting(_KEY):
            self.forget()
            return False
        return True

    def given(self) -> Given | None:
        """What was kept; a copy that was damaged is left out."""
        found = self._list() if self.there() else None
        if found is None:
            return None
        pages = []
        for name, digest in found["pages"]:
            path = self.folder / Path(digest).name
            content = path.read_bytes() if path.is_file() else b""
            if hashlib.sha256(content).hexdigest() == digest:
                pages.append(Upload(name, content))
        return Given(tuple(pages), parse_problem(found["problem"]), found["split"])

    def forget(self) -> None:
        """Remove the copies."""
        shutil.rmtree(self.folder, ignore_errors=True)

    def _list(self) -> dict[str, Any] | None:
        try:
            found = json.loads((self.folder / LIST).read_bytes())
        except (OSError, ValueError):
            return None
        return found if isinstance(found, dict) else None

    def _written(self, content: bytes) -> str:
        digest = hashlib.sha256(content).hexdigest()
        path = self.folder / digest
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        return digest


def together(before: Given | None, pages: Sequence[Upload]) -> tuple[Upload, ...]:
    """What an ended run was given and what is given now, each once and in that order."""
    return tuple(dict.fromkeys([*(before.pages if before else ()), *pages]))
