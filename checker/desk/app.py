"""The web application: which pages there are, and who may open them.

Streamlit runs this file from top to bottom at every action of a session.
"""

from __future__ import annotations

import importlib
import logging
from collections.abc import Callable
from functools import partial
from typing import NamedTuple

import streamlit as st

from checker.desk.look import STYLE, literal
from checker.desk.server import serving
from checker.errors import CheckerError


class PageOfDesk(NamedTuple):
    """A page of the desk: ``show`` of ``module`` draws it."""

    module: str
    title: str
    path: str


STUDENT = PageOfDesk("checker.desk.student_page", "Check my working", "working")
DESK = (
    PageOfDesk("checker.desk.stack_page", "A stack", "stack"),
    PageOfDesk("checker.desk.class_page", "The class", "class"),
)


def main() -> None:
    st.set_page_config(page_title="checker", layout="wide")
    st.html(STYLE)
    ask_for_password()
    offered = [STUDENT] if serving().student_only else [STUDENT, *DESK]
    pages = [
        st.Page(partial(show, page.module), title=page.title, url_path=page.path, default=not at)
        for at, page in enumerate(offered)
    ]
    st.navigation(pages, position="top").run()


def ask_for_password() -> None:
    """Where the desk has a password, nothing is shown before it was given."""
    password = serving().password
    if password is not None:
        from checker.desk.password import ask

        ask(password)


def show(module: str) -> None:
    """Draw a page; whatever goes wrong in it ends in one sentence."""
    draw: Callable[[], None] = importlib.import_module(module).show
    try:
        draw()
    except CheckerError as error:
        st.error(literal(str(error)))
    except Exception:
        logging.getLogger(__name__).exception("A page could not be shown.")
        st.error(
            "Something inside the program failed here; the terminal it was started from says more."
        )


main()
