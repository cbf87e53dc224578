"""The student's page as HTML: the picture, and over it the marks.

Places are given in percent of the picture, so the marks keep to it at every zoom.
"""

from __future__ import annotations

import math
from base64 import b64encode
from collections.abc import Sequence
from html import escape

from checker.desk.line_rows import LineRow
from checker.desk.look import SHAPES
from checker.desk.picture import Picture
from checker.matching.judgement import JudgedStatement, Judgement
from checker.reading.page import Polygon
from checker.report.verdict_marks import MARKS


def picture_html(data: bytes, says: str, look: str = "page", kind: str = "jpeg") -> str:
    """The picture itself; ``says`` is read out to those who do not see it, ``look`` is its class
    in ``look.STYLE``."""
    text = b64encode(data).decode()
    return f'<img class="{look}" alt="{escape(says)}" src="data:image/{kind};base64,{text}">'


def marks_html(picture: Picture, rows: Sequence[LineRow], judgement: Judgement) -> str:
    """A sign beside every line of one page, and a frame around the first slip; where there is
    no slip, around what is asked about."""
    marks = [_sign(picture, row) for row in rows if row.verdict != "not working"]
    pointed = pointed_at(judgement)
    if pointed is not None:
        for row in rows:
            if pointed in row.statements:
                marks.append(_frame(picture, pointed))
    return f'<div class="marks">{"".join(marks)}</div>'


def pointed_at(judgement: Judgement) -> JudgedStatement | None:
    """The statement that the page points at: the first slip, else what is asked about first."""
    if judgement.first_slip is not None:
        return judgement.statements[judgement.first_slip.statement]
    return next((s for s in judgement.statements if s.question), None)


def line_head_html(verdict: str, name: str = "") -> str:
    """What stands above a line as it was read: its sign, its ``name`` and its verdict."""
    named = f"<span>{escape(name)}</span>" if name else ""
    return (
        f'<div class="line-head {verdict.replace(" ", "-")}">{sign_html(verdict)}{named}'
        f'<span style="color:{MARKS[verdict].colour}">{escape(verdict)}</span></div>'
    )


def sign_html(verdict: str, place: str = "") -> str:
    """The sign of a verdict; ``place`` is more CSS."""
    mark = MARKS[verdict]
    return (
        f'<span class="sign" aria-hidden="true" style="background:{mark.colour};'
        f'{SHAPES[mark.outline]};{place}">{escape(mark.sign)}</span>'
    )


def _sign(picture: Picture, row: LineRow) -> str:
    where = picture.place(row.line.polygon, row.line.line)
    if where is None:
        return ""
    (x, y), _b, _c, (left, bottom) = where
    size = 2.6 if row.verdict == "first slip" else 2.0  # percent of the width
    middle = (y + bottom) / 2 / picture.height * 100
    at = max((x + left) / 2 / picture.width * 100 - 0.8 * size, 0.6 * size)
    css = (
        f"left:{at:.2f}%;top:{middle:.2f}%;width:{size}cqw;height:{size}cqw;"
        f"font-size:{0.7 * size:.2f}cqw"
    )
    return sign_html(row.verdict, css)


def _frame(picture: Picture, statement: JudgedStatement) -> str:
    where = picture.place(statement.polygon, statement.line)
    if where is None:
        return ""
    slip = statement.verdict == "first slip"
    mark = MARKS[statement.verdict]
    a, b, _c, d = where
    grown = 0.22 * math.dist(a, d)
    angle = math.atan2(b[1] - a[1], b[0] - a[0])
    x = a[0] - grown * (math.cos(angle) - math.sin(angle))
    y = a[1] - grown * (math.sin(angle) + math.cos(angle))
    word = "first slip" if slip else "please look"
    css = (
        f"left:{_share(x, picture.width)};top:{_share(y, picture.height)};"
        f"width:{_share(math.dist(a, b) + 2 * grown, picture.width)};"
        f"height:{_share(math.dist(a, d) + 2 * grown, picture.height)};"
        f"transform:rotate({math.degrees(angle):.2f}deg);border-color:{mark.colour};"
        f"border-style:{'solid' if slip else 'dashed'}"
    )
    return (
        f'<div class="frame" role="img" aria-label="{word}: {escape(statement.text)}" '
        f'style="{css}"><span class="tag" style="background:{mark.colour}">'
        f"{escape(mark.sign)} {word}</span></div>"
    )


def _share(length: float, of: int) -> str:
    return f"{100 * length / of:.2f}%"


def place_on(picture: Picture, statement: JudgedStatement) -> Polygon | None:
    """Where a statement stands on the picture of its page."""
    return picture.place(statement.polygon, statement.line)
