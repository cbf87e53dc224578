"""The store behind the desk's pages: opened once in this process and shared by its sessions."""

from __future__ import annotations

import os
from pathlib import Path

import streamlit as st

from checker.desk.background import Background
from checker.desk.server import serving
from checker.errors import CheckerError
from checker.stack.judging import PROBLEM
from checker.stack.store import FILE, Store


def desk_store() -> Store:
    """The store that ``--store`` names, else one in the user's data folder."""
    return _opened(serving().store or default_file())


def background() -> Background:
    return _background(desk_store())


def has_problem(store: Store) -> bool:
    return store.setting(PROBLEM) is not None


def default_file() -> Path:
    """Where the XDG Base Directory Specification keeps a user's data."""
    home = os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share"
    return Path(home) / "checker" / FILE


@st.cache_resource(show_spinner=False)
def _opened(path: Path) -> Store:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CheckerError(
            f"The folder {path.parent} cannot be made ({error.strerror}); "
            "name another file with --store."
        ) from None
    return Store.open(path)


@st.cache_resource(show_spinner=False)
def _background(_store: Store) -> Background:
    return Background(_store)
