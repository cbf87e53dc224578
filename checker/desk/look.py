"""How the web pages look, and text that is never taken for markup."""

from __future__ import annotations

import re

STYLE = """<style>
.stMainBlockContainer { padding-top: 4rem; padding-bottom: 4rem; max-width: 86rem; }
</style>"""


def literal(text: str) -> str:
    """``text`` with every character that Markdown could take for markup escaped."""
    return re.sub(r"([^\w\s])", r"\\\1", text)
