from collections.abc import Sequence
from pathlib import Path

import cv2
import numpy as np
import pytest

from checker.reading.calibration import AS_IT_IS
from checker.reading.layout import ClassicalFinder, Finder
from checker.reading.page import Candidate, Token
from checker.reading.read_page import default_finder, read_page
from checker.reading.tesseract_reader import TesseractReader
from tests.reading.rendered import WORK, carried, jpeg, overlap, photographed, ruled, typed_page

MARKUP = [line.replace(" ", "") for line in WORK]


class Reader:
    """Sees no text, only where the ink of a line image starts and ends."""

    name = "ends"
    calibration = AS_IT_IS

    def read(self, lines: Sequence[np.ndarray]) -> list[tuple[Candidate, ...]]:
        out = []
        for line in lines:
            y, x = np.nonzero(line < 128)
            box = (float(x.min()), float(y.min()), float(x.max()), float(y.max()))
            out.append((Candidate("x", 0.9, (Token("x", box, 0.9),)),))
        return out


FINDERS = [ClassicalFinder(), default_finder()]


@pytest.mark.parametrize("finder", FINDERS, ids=["classical", "default"])
@pytest.mark.parametrize("kind", ["blank", "ruled", "grid"])
def test_polygons_and_boxes_lie_on_the_photo(kind: str, finder: Finder) -> None:
    page = typed_page()
    photo, camera = photographed(page.image if kind == "blank" else ruled(page.image, kind))
    reading = read_page(jpeg(photo), page=3, reader=Reader(), finder=finder)
    assert reading.size == (1800, 2400) and reading.doubts == () and reading.turned == 0
    assert len(reading.lines) == len(WORK)
    for line, box in zip(reading.lines, page.boxes, strict=True):
        truth = carried(box, camera)
        assert line.page == 3 and line.polygon is not None
        assert overlap(np.array(line.polygon), truth) > 0.7
        if kind != "blank":
            continue  # the reader gets the rules too, and this one takes them for ink
        left, _, right, _ = line.candidates[0].tokens[0].box
        assert abs(left - truth[:, 0].min()) < 25 and abs(right - truth[:, 0].max()) < 25


@pytest.mark.parametrize("quarters", range(4))
def test_typed_photo_is_read_whichever_way_it_was_held(quarters: int) -> None:
    page = typed_page()
    photo, camera = photographed(page.image)
    turned = np.ascontiguousarray(np.rot90(photo, -quarters))
    reading = read_page(jpeg(turned), reader=TesseractReader(), finder=ClassicalFinder())
    assert reading.turned == quarters
    texts = [line.candidates[0].text for line in reading.lines]
    right = sum(a == b for a, b in zip(texts, MARKUP, strict=True))
    # Tesseract's slips change with every resampling; what counts here is the way up.
    assert right >= (len(WORK) - 1 if quarters == 0 else len(WORK) // 2)
    # The first corner of a polygon is where the line begins, wherever that is on the photo.
    start = carried(page.boxes[0], camera)[0]
    for _ in range(quarters):
        start = np.array([photo.shape[0] - start[1], start[0]])
        photo = np.rot90(photo, -1)
    assert reading.lines[0].polygon is not None
    assert np.linalg.norm(np.array(reading.lines[0].polygon[0]) - start) < 40


def test_exif_and_polygons_agree(tmp_path: Path) -> None:
    """A phone stores the picture sideways and says so: polygons are on the upright photo."""
    from PIL import Image

    photo, _ = photographed(typed_page().image)
    exif = Image.Exif()
    exif[0x0112] = 6
    path = tmp_path / "page.jpg"
    Image.fromarray(np.ascontiguousarray(np.rot90(photo))).save(path, exif=exif, quality=92)
    upright = read_page(jpeg(photo), reader=Reader())
    reading = read_page(path, reader=Reader())
    assert reading.size == upright.size and reading.turned == 0
    for one, two in zip(reading.lines, upright.lines, strict=True):
        assert overlap(np.array(one.polygon), np.array(two.polygon)) > 0.9


class Says(Reader):
    def __init__(self, text: str) -> None:
        self.text = text

    def read(self, lines: Sequence[np.ndarray]) -> list[tuple[Candidate, ...]]:
        return [(Candidate(self.text, 0.9),) for _ in lines]


@pytest.mark.parametrize("role", ["struck", "aside"])
def test_reader_sets_lines_aside(role: str) -> None:
    photo, _ = photographed(typed_page(WORK[:2]).image)
    reading = read_page(jpeg(photo), reader=Says(f"<{role}>"))
    assert [line.role for line in reading.lines] == [role, role]


def grey(value: int) -> np.ndarray:
    return np.full((1200, 900, 3), value, np.uint8)


@pytest.mark.parametrize(
    ("photo", "says"),
    [
        (grey(0), "too dark"),
        (grey(12), "too dark"),
        (grey(235), "No writing"),
        (np.random.default_rng(1).integers(0, 255, (1200, 900, 3)).astype(np.uint8), "No writing"),
        (photographed(typed_page([]).image)[0], "No writing"),
        (cv2.GaussianBlur(photographed(typed_page().image)[0], (0, 0), 25), "No writing"),
    ],
    ids=["black", "night", "white", "noise", "blank sheet", "extreme blur"],
)
def test_pages_without_anything_to_read(photo: np.ndarray, says: str) -> None:
    reading = read_page(jpeg(photo), reader=Reader(), finder=ClassicalFinder())
    assert reading.lines == ()
    assert says in reading.doubts[0] and reading.doubts[0].endswith(".")


@pytest.mark.parametrize("finder", FINDERS, ids=["classical", "default"])
def test_blurred_photo_is_named(finder: Finder) -> None:
    photo, _ = photographed(typed_page(size=60).image)
    for sigma, blurred in ((1.5, False), (7, True)):
        image = jpeg(cv2.GaussianBlur(photo, (0, 0), sigma))
        reading = read_page(image, reader=Reader(), finder=finder)
        assert any("blurred" in doubt for doubt in reading.doubts) is blurred


def test_text_file_is_a_typed_page(tmp_path: Path) -> None:
    path = tmp_path / "work.txt"
    path.write_text("V2 = 6 V\n")
    assert read_page(path, page=1).lines[0].line == 0


def test_places_are_pixels_of_the_photo_as_given(monkeypatch: pytest.MonkeyPatch) -> None:
    photo = jpeg(photographed(typed_page().image)[0])
    whole = read_page(photo, reader=Reader())
    monkeypatch.setattr("checker.reading.load.READ_PIXELS", 2_000_000)
    made_small = read_page(photo, reader=Reader())
    assert made_small.size == whole.size == (1800, 2400)
    for one, two in zip(made_small.lines, whole.lines, strict=True):
        assert overlap(np.array(one.polygon), np.array(two.polygon)) > 0.75
        boxes = [line.candidates[0].tokens[0].box for line in (one, two)]
        assert boxes[0] == pytest.approx(boxes[1], abs=8)
