"""The marks stand where they should and leave the rest of the photo alone."""

from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageColor

from checker.matching.judgement import JudgedStatement
from checker.reading.page import PageReading
from checker.report.annotate import annotate
from checker.report.page_picture import page_picture
from checker.report.typed_sheet import typed_sheet
from checker.report.verdict_marks import MARKS
from checker.submission import Checked, Upload
from tests.report import made


def close_to(image: Image.Image, colour: str) -> np.ndarray:
    """Where the picture has ``colour``, allowing for smooth edges."""
    wanted = np.array(ImageColor.getrgb(colour), dtype=int)
    return np.abs(np.asarray(image, dtype=int) - wanted).max(axis=2) < 12


def test_width_and_coordinates_stay_and_a_strip_is_added_below() -> None:
    marked = annotate(made.paper(), made.photographed())
    assert marked.width == 400
    assert marked.height > 500


def test_only_the_first_slip_is_framed_and_on_all_four_sides() -> None:
    marked = annotate(made.paper(), made.photographed())
    slip = close_to(marked, MARKS["first slip"].colour)[:500]
    # The second line stands at (80, 150) to (300, 190); its frame is a little outside.
    assert slip[140:150, 90:290].any(axis=0).all()
    assert slip[190:204, 90:290].any(axis=0).all()
    assert slip[155:185, 66:80].any(axis=1).all()
    assert slip[155:185, 300:312].any(axis=1).all()
    assert not slip[:120].any()
    assert not slip[230:].any()


def test_the_writing_itself_is_not_painted_over() -> None:
    photo = made.paper()
    before, after = np.asarray(photo), np.asarray(annotate(photo, made.photographed()))
    for top in (50, 150, 250, 350):
        inside = np.s_[top + 1 : top + 39, 81:299]
        assert (before[inside] == after[inside]).all()


def test_a_page_without_the_slip_says_it_is_elsewhere_and_frames_nothing() -> None:
    checked = made.photographed()
    other = [made.statement(4, polygon=made.upright(80, 50, 300, 90), page=1)]
    both = made.judgement([*checked.statements, *other])
    marked = annotate(made.paper(), both, page=1)
    assert not close_to(marked, MARKS["first slip"].colour).any()
    assert close_to(marked, MARKS["follows"].colour)[:500].any()


def test_marks_stand_left_of_tilted_lines_and_chains_share_one() -> None:
    def tilted(x: float, y: float) -> tuple[tuple[float, float], ...]:
        # Ten pixels up for every hundred to the right.
        corners = ((x, y), (x + 90, y), (x + 90, y + 30), (x, y + 30))
        return tuple((a, b - (a - 80) / 10) for a, b in corners)

    statements = [
        made.statement(0, "follows", polygon=tilted(80, 100)),  # type: ignore[arg-type]
        made.statement(1, "carried forward", polygon=tilted(190, 100)),  # type: ignore[arg-type]
        made.statement(2, "follows", polygon=tilted(80, 145)),  # type: ignore[arg-type]
    ]
    marked = annotate(made.paper(), made.judgement(statements, outcome="all follows"))
    carried = close_to(marked, MARKS["carried forward"].colour)[:500]
    follows = close_to(marked, MARKS["follows"].colour)[:500]
    assert carried.any() and follows.any()
    for mask, middle in ((carried, 115), (follows, 160)):
        rows, columns = mask.nonzero()
        assert columns.max() < 80
        assert abs((rows.min() + rows.max()) / 2 - middle) < 8


def test_work_in_a_second_column_has_a_mark_of_its_own() -> None:
    statements = [
        made.statement(0, "follows", polygon=made.upright(60, 100, 150, 130)),
        made.statement(1, "follows", polygon=made.upright(250, 100, 350, 130)),
    ]
    marked = annotate(made.paper(), made.judgement(statements, outcome="all follows"))
    follows = close_to(marked, MARKS["follows"].colour)[90:140]
    assert follows[:, :60].any()
    assert follows[:, 160:250].any()


def test_only_the_first_question_is_framed_and_only_without_a_slip() -> None:
    def asking(index: int, top: float) -> JudgedStatement:
        place = made.upright(80, top, 300, top + 40)
        return made.statement(index, "unsure", polygon=place, question="Is this a 1 or a 7?")

    asked = made.judgement([asking(0, 50), asking(1, 250)], outcome="needs a look")
    frame = close_to(annotate(made.paper(), asked), MARKS["unsure"].colour)
    assert frame[40:50, 90:290].any()
    assert not frame[40:50, 90:290].any(axis=0).all(), "the frame of a question is dashed"
    assert not frame[235:300, 80:].any()

    slip = made.statement(1, "first slip", polygon=made.upright(80, 250, 300, 290))
    both = made.judgement([asking(0, 50), slip])
    frame = close_to(annotate(made.paper(), both), MARKS["unsure"].colour)
    assert not frame[:120, 80:].any()


@settings(deadline=None, max_examples=40)
@given(
    size=st.tuples(st.integers(32, 300), st.integers(32, 300)),
    corners=st.lists(st.tuples(st.floats(-500, 500), st.floats(-500, 500)), min_size=4, max_size=4),
)
def test_any_polygon_on_any_photo_can_be_drawn(
    size: tuple[int, int], corners: list[tuple[float, float]]
) -> None:
    statements = [
        made.statement(0, polygon=made.upright(1, 1, 20, 10)),
        made.statement(1, "first slip", polygon=tuple(corners)),  # type: ignore[arg-type]
    ]
    marked = annotate(made.paper(*size), made.judgement(statements))
    assert marked.width == size[0]
    assert marked.height > size[1]


def as_jpeg(image: Image.Image, orientation: int) -> bytes:
    exif = Image.Exif()
    exif[0x0112] = orientation
    data = BytesIO()
    image.save(data, "JPEG", exif=exif, quality=95)
    return data.getvalue()


def test_marks_are_drawn_after_the_exif_orientation() -> None:
    # Orientation 6: the stored rows are the photo's right side (Exif 2.32, tag 0112).
    stored = made.paper().transpose(Image.Transpose.ROTATE_90)
    photo = Upload("page.jpg", as_jpeg(stored, 6))
    reading = PageReading(0, "page.jpg", (400, 500), ())
    checked = Checked(made.REFERENCE, (photo,), (reading,), made.photographed(), 0.1)
    marked = page_picture(checked, 0)
    assert marked.width == 400
    assert close_to(marked, MARKS["first slip"].colour)[140:150, 90:290].any(axis=0).all()


def test_a_photo_taken_sideways_is_shown_upright() -> None:
    upright = made.photographed()
    # The sheet was turned a quarter clockwise: upright (x, y) stands at (500 - y, x) of the photo.
    turned = [
        replace(s, polygon=tuple((500 - y, x) for x, y in s.polygon or ()))
        for s in upright.statements
    ]
    photo = Upload("page.jpg", as_jpeg(made.paper().transpose(Image.Transpose.ROTATE_270), 1))
    reading = PageReading(0, "page.jpg", (500, 400), (), turned=1)
    checked = Checked(made.REFERENCE, (photo,), (reading,), made.judgement(turned), 0.1)
    marked = page_picture(checked, 0)
    assert marked.width == 400
    assert close_to(marked, MARKS["first slip"].colour)[140:150, 90:290].any(axis=0).all()


def test_a_very_large_photo_is_shown_smaller(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("checker.reading.load.READ_PIXELS", 400_000)
    whole = made.photographed()
    large = [
        replace(s, polygon=tuple((2 * x, 2 * y) for x, y in s.polygon or ()))
        for s in whole.statements
    ]
    photo = Upload("page.jpg", as_jpeg(made.paper(800, 1000), 1))
    reading = PageReading(0, "page.jpg", (800, 1000), ())
    checked = Checked(made.REFERENCE, (photo,), (reading,), made.judgement(large), 0.1)
    marked = page_picture(checked, 0)
    assert marked.width == 400
    assert close_to(marked, MARKS["first slip"].colour)[140:150, 90:290].any(axis=0).all()


def test_typed_working_gets_a_sheet_with_the_slip_framed() -> None:
    checked = made.typed()
    _, places = typed_sheet(checked.pages[0])
    marked = page_picture(checked, 0)
    left, top = places[1][0]
    right, bottom = places[1][2]
    frame = close_to(marked, MARKS["first slip"].colour)
    above = frame[int(top) - 16 : int(top), int(left) : int(right)]
    assert above.any(axis=0).all()
    inside = np.asarray(marked.convert("L"))[int(top) : int(bottom), int(left) : int(right)]
    assert inside.min() < 80, "the typed line is on the sheet"


@pytest.mark.parametrize("suffix", ["png", "jpg"])
def test_the_picture_can_be_saved(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"marked.{suffix}"
    picture = page_picture(made.typed(), 0)
    picture.save(path)
    with Image.open(path) as saved:
        assert saved.size == picture.size
