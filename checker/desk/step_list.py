"""The steps of a page as HTML: each with its sign, its text and its verdict in words."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from checker.matching.judgement import JudgedStatement
from checker.report.as_text import RELATIONS
from checker.report.verdict_marks import MARKS

_SHAPES = {
    "circle": "border-radius: 50%",
    "square": "border-radius: 0.25rem",
    "triangle": "clip-path: polygon(50% 0, 100% 100%, 0 100%); padding-top: 0.45rem",
    "diamond": "clip-path: polygon(50% 0, 100% 50%, 50% 100%, 0 50%)",
    "none": "visibility: hidden",
}
STYLE = f"""<style>
ol.steps {{ list-style: none; margin: 0 !important; padding: 0 !important; }}
ol.steps li {{ display: flex; gap: 0.7rem; align-items: flex-start; padding: 0.25rem 0.6rem;
            border-left: 0.3rem solid transparent; margin: 0; }}
ol.steps li.first-slip {{ border-color: {MARKS["first slip"].colour}; background: #fbeef3; }}
.steps .sign {{ flex: none; width: 1.6rem; height: 1.6rem; color: #ffffff; display: flex;
               align-items: center; justify-content: center; font-weight: 700; }}
.steps .body {{ flex: auto; }}
.steps .step {{ font-size: 1.05rem; overflow-wrap: anywhere; white-space: pre-wrap; }}
.steps .goes-on {{ padding-left: 1.2rem; }}
.steps .note {{ font-size: 0.85rem; }}
.steps .verdict {{ flex: none; font-size: 0.85rem; padding-top: 0.2rem; }}
{"".join(f".steps .{name} {{ {css}; }}" for name, css in _SHAPES.items())}
</style>"""


def step_list(statements: Sequence[JudgedStatement]) -> str:
    """An ordered list; everything that was read or written by a person is escaped."""
    asked = [None, *(statement.question for statement in statements)]
    return f'{STYLE}<ol class="steps">{"".join(map(_step, statements, asked))}</ol>'


def _step(statement: JudgedStatement, asked: str | None) -> str:
    """One step; a question that was just asked is not asked again."""
    mark = MARKS[statement.verdict]
    goes_on = " goes-on" if statement.text.startswith(RELATIONS) else ""
    question = statement.question if statement.question != asked else None
    notes = [note for note in (statement.remark, question) if note]
    below = "".join(f'<div class="note">{escape(note)}</div>' for note in notes)
    return (
        f'<li class="{statement.verdict.replace(" ", "-")}">'
        f'<span class="sign {mark.outline}" style="background: {mark.colour}" aria-hidden="true">'
        f"{escape(mark.sign)}</span>"
        f'<div class="body"><div class="step{goes_on}">{escape(statement.text)}</div>{below}</div>'
        f'<span class="verdict" style="color: {mark.colour}">'
        f"{statement.index + 1} {escape(statement.verdict)}</span></li>"
    )
