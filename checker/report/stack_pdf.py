"""The marked pages as a PDF, for one submission or for a whole stack.

Every page stands on A4, upright or sideways as fits, under a line with the submission's name and
what was found; a page that was not read says why. Submissions are in the outline. The file has
no dates, and an identifier made from what it holds: the same rows give the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from functools import cache
from importlib import resources
from typing import BinaryIO

from reportlab.lib import pagesizes
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from checker.report.pdf_parts import parted_pdf
from checker.report.stack_pictures import jpeg, row_picture
from checker.report.stack_rows import StackHead, StackRow
from checker.report.verdict_marks import MARKS, OUTCOME_MARK, OUTCOMES

_FONT = "Label"
_WIDTH = 1240  # pixels of a page's picture: 150 to the inch on A4
_MARGIN, _HEAD = 28.0, 34.0  # points
_INK, _QUIET = "#20262d", "#56606b"


class _Jpeg(ImageReader):
    """Known to ReportLab by its bytes and not by its pixels, which it would decode for that."""

    def __init__(self, data: bytes) -> None:
        super().__init__(io.BytesIO(data))
        self._bytes, self._dataA = data, None  # the latter: no transparency

    def getRGBData(self) -> bytes:
        return self._bytes


def write_pdf(head: StackHead, rows: Iterable[StackRow], out: BinaryIO) -> None:
    """Write all pages of all rows into ``out``, a seekable file; rows are taken one at a time."""
    _load_font()
    caution = head.caution
    with parted_pdf(_drawable(head.title), out) as pdf:
        for row in rows:
            for page in range(max(len(row.pages), 1)):
                if page == 0:
                    pdf.entry(_drawable(row.name) or "submission")
                _page(pdf.canvas, row, page, caution)
                pdf.show_page()
                caution = None
        if pdf.count == 0:
            pdf.canvas.setFont(_FONT, 11)
            pdf.canvas.drawString(_MARGIN, 780, "No submission was given.")
            pdf.show_page()


def _page(canvas: Canvas, row: StackRow, page: int, caution: str | None) -> None:
    picture = row_picture(row, page, _WIDTH) if row.pages else None
    wide = picture is not None and picture.width > picture.height
    width, height = pagesizes.landscape(pagesizes.A4) if wide else pagesizes.A4
    canvas.setPageSize((width, height))
    mark = MARKS[OUTCOME_MARK[row.outcome]]
    top = height - _MARGIN
    canvas.setFillColor(_INK)
    canvas.setFont(_FONT, 11)
    count = f"page {page + 1} of {len(row.pages)}" if len(row.pages) > 1 else ""
    canvas.drawRightString(width - _MARGIN, top - 10, count)
    canvas.drawString(_MARGIN, top - 10, _fitted(row.name, width - 2 * _MARGIN - 80, 11))
    canvas.setFillColor(mark.colour)
    canvas.setFont(_FONT, 9)
    canvas.drawString(_MARGIN, top - 24, _fitted(_finding(row), width - 2 * _MARGIN, 9))
    bottom = _MARGIN
    if caution:
        canvas.setFillColor(_QUIET)
        bottom += _paragraph(canvas, caution, _MARGIN, width - 2 * _MARGIN, upwards_from=_MARGIN)
    if picture is None:
        canvas.setFillColor(_INK)
        _paragraph(canvas, _why(row, page), top - _HEAD - 12, width - 2 * _MARGIN)
    else:
        room = (width - 2 * _MARGIN, top - _HEAD - bottom)
        factor = min(room[0] / picture.width, room[1] / picture.height)
        w, h = picture.width * factor, picture.height * factor
        data = _Jpeg(jpeg(picture, 80))
        canvas.drawImage(data, (width - w) / 2, top - _HEAD - h, w, h)


def _finding(row: StackRow) -> str:
    """One line: the sign and words of the outcome, the slip, the mark, what a person did."""
    parts = [f"{MARKS[OUTCOME_MARK[row.outcome]].sign} {OUTCOMES[row.outcome]}"]
    if row.slip:
        parts.append(f"First slip: step {row.slip.statement + 1}.")
    if row.mark:
        state = "confirmed" if row.mark.confirmed else "suggested, not confirmed"
        parts.append(f"{float(row.mark.points):g} of {float(row.mark.of):g} points ({state})")
    if row.person:
        parts.append(f"A person {row.person}." + (f" {row.remark}" if row.remark else ""))
    return "   ".join(parts)


def _why(row: StackRow, page: int) -> str:
    reason = row.pages[page].reason if row.pages else None
    source = f" ({row.pages[page].source})" if row.pages else ""
    return f"This page was not read{source}. {reason or ''}"


def _paragraph(
    canvas: Canvas, text: str, top: float, width: float, upwards_from: float | None = None
) -> float:
    """Wrapped text below ``top``, or standing on ``upwards_from``; gives its height."""
    lines: list[str] = []
    for word in _drawable(text).split():
        if lines and pdfmetrics.stringWidth(f"{lines[-1]} {word}", _FONT, 10) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(_fitted(word, width, 10))
    step = 14.0
    if upwards_from is not None:
        top = upwards_from + step * len(lines) - 10
    canvas.setFont(_FONT, 10)
    for number, line in enumerate(lines):
        canvas.drawString(_MARGIN, top - step * number, line)
    return step * len(lines)


def _fitted(text: str, width: float, size: float) -> str:
    """``text`` in what the font has, cut with an ellipsis where it is too long for ``width``."""
    text = _drawable(text)[:400]
    if pdfmetrics.stringWidth(text, _FONT, size) <= width:
        return text
    while text and pdfmetrics.stringWidth(f"{text}…", _FONT, size) > width:
        text = text[:-1]
    return f"{text}…"


def _drawable(text: str) -> str:
    """``text`` with a question mark for every character that the label font does not have."""
    _load_font()
    known = pdfmetrics.getFont(_FONT).face.charToGlyph
    return "".join(c if ord(c) in known else " " if c.isspace() else "?" for c in text)


@cache
def _load_font() -> None:
    data = resources.files("checker.report").joinpath("fonts/label.ttf").read_bytes()
    pdfmetrics.registerFont(TTFont(_FONT, io.BytesIO(data)))
