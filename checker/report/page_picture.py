"""The marked picture of one page of a submission, photographed or typed."""

from __future__ import annotations

from PIL import Image

from checker.reading.load import load_photo
from checker.report.annotate import annotate
from checker.report.typed_sheet import placed, typed_sheet
from checker.submission import Checked, Upload, is_typed


def page_picture(checked: Checked, page: int) -> Image.Image:
    """Page ``page`` (0-based) with its marks; typed working is set on a sheet first."""
    source = checked.sources[page]
    if is_typed(source):
        sheet, places = typed_sheet(checked.pages[page])
        return annotate(sheet, placed(checked.judgement, page, places), page)
    photo = load_photo(source.content if isinstance(source, Upload) else source)
    return annotate(Image.fromarray(photo.colour), checked.judgement, page)
