"""How a verdict looks and what it is called, in the terminal, on the photo and in the browser.

A mark never relies on colour alone: every verdict has its own outline, its own sign and its own
words. Each colour has a contrast of at least 4.5:1 against white in both directions (WCAG 2.2,
success criterion 1.4.3).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Outline = Literal["circle", "square", "triangle", "diamond", "none"]


@dataclass(frozen=True)
class VerdictMark:
    """``sign`` is one character that the label font has; ``colour`` is ``#rrggbb``."""

    sign: str
    outline: Outline
    colour: str
    meaning: str


MARKS: dict[str, VerdictMark] = {
    "follows": VerdictMark("✓", "circle", "#0b6b53", "follows"),
    "first slip": VerdictMark("✗", "square", "#a3184a", "first slip"),
    "carried forward": VerdictMark("↳", "square", "#2f4b9b", "follows from an earlier value"),
    "later slip": VerdictMark("!", "triangle", "#87480a", "later slip"),
    "unsure": VerdictMark("?", "diamond", "#6638a0", "not sure, please look"),
    "not working": VerdictMark("·", "none", "#56606b", "not part of the working"),
}
OUTCOMES: dict[str, str] = {
    "all follows": "Every step follows.",
    "slip found": "One step does not follow.",
    "needs a look": "Someone should look at this page.",
    "nothing read": "No working was read.",
}
OUTCOME_MARK: dict[str, str] = {
    "all follows": "follows",
    "slip found": "first slip",
    "needs a look": "unsure",
    "nothing read": "unsure",
}
