"""A student's pages in one session."""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO

import pikepdf
import pytest
from PIL import Image

from checker.desk.own_work import MOST_PAGES, OwnWork, read_page
from checker.desk.pages_choice import take
from checker.problem.problem_file import load_problem
from checker.problem.reduction import solve
from tests.samples import TYPED

WORKING = TYPED.page.read_bytes()
REFERENCE = solve(load_problem(TYPED.problem))


@dataclass(frozen=True)
class Given:
    name: str
    content: bytes
    file_id: str = "1"

    def getvalue(self) -> bytes:
        return self.content


def line(n: int) -> bytes:
    return f"C12 = {n} µF".encode()


def read(work: OwnWork) -> list[int]:
    told: list[int] = []
    work.read_all(lambda number, page: told.append(number))
    return told


def test_a_page_given_twice_is_said_to_be_there_already() -> None:
    work = OwnWork()
    take(work, [Given("a.txt", WORKING)])
    assert (len(work.pages), work.left_out) == (1, ())
    take(work, [Given("a.txt", WORKING), Given("b.txt", WORKING, "2")])
    assert len(work.pages) == 1
    assert work.left_out == (
        "b.txt was left out, as that page is on the list already; add another one.",
    )


def test_what_there_is_no_room_for_is_named_until_there_is() -> None:
    work = OwnWork()
    files = [Given(f"{n}.txt", line(n), str(n)) for n in range(MOST_PAGES + 2)]
    take(work, files)
    assert len(work.pages) == MOST_PAGES
    (sentence,) = work.left_out
    assert sentence.startswith("12.txt and 1 more were left out") and "remove a page" in sentence
    take(work, files)  # the same uploads, seen again by the next drawing
    assert work.left_out == (sentence,)
    work.remove(0)
    assert work.left_out == ()
    take(work, [*files, Given("12.txt", line(12), "again")])
    assert [page.name for page in work.pages][-1] == "12.txt"


def test_a_page_removed_can_be_given_again() -> None:
    work = OwnWork()
    take(work, [Given("a.txt", WORKING, "1")])
    work.remove(0)
    take(work, [Given("a.txt", WORKING, "1"), Given("a.txt", WORKING, "2")])
    assert len(work.pages) == 1


def test_a_pdf_and_a_tiff_give_their_pages_and_a_broken_one_a_sentence() -> None:
    work = OwnWork()
    pdf, tiff = BytesIO(), BytesIO()
    with pikepdf.new() as made:
        made.add_blank_page(page_size=(200, 300))
        made.add_blank_page(page_size=(300, 200))
        made.save(pdf)
    sheets = [Image.new("L", (60, 80), shade) for shade in (200, 90)]
    sheets[0].save(tiff, "TIFF", save_all=True, append_images=sheets[1:])
    take(work, [Given("s.pdf", pdf.getvalue(), "1"), Given("t.tif", tiff.getvalue(), "2")])
    assert [page.name for page in work.pages] == [
        "s.pdf, page 1", "s.pdf, page 2", "t.tif, page 1", "t.tif, page 2",
    ]  # fmt: skip
    take(work, [Given("x.pdf", b"%PDF-1.7 broken", "3")])
    (sentence,) = work.left_out
    assert sentence.startswith("x.pdf: ") and sentence.endswith(".")


def test_pages_are_read_once_and_judged_again_only_when_something_changed() -> None:
    work = OwnWork()
    work.add("a.txt", WORKING)
    assert read(work) == [0]
    assert read(work) == []
    found = work.judgement(REFERENCE)
    assert work.judgement(REFERENCE) is found
    assert found.outcome == "slip found"
    # C12 of 6 µF and 3 µF in series is 2 µF (University Physics 2, section 8.2, OpenStax).
    work.correct(work.pages[0].key, 1, "C12 = 2 µF")
    assert work.put_right() == {(0, 1)}
    assert work.judgement(REFERENCE) is not found


def test_order_is_the_students() -> None:
    work = OwnWork()
    for name in "abc":
        work.add(name, f"C{name} = 1".encode())
    work.move(2, -1)
    work.move(0, -1)
    assert [page.name for page in work.pages] == ["a", "c", "b"]


def test_nothing_is_kept_of_a_page_that_was_removed_or_turned() -> None:
    work = OwnWork()
    work.add("a.txt", WORKING)
    work.add("broken.jpg", b"no photo")
    read(work)
    key = work.pages[0].key
    work.correct(key, 0, "x")
    assert set(work.failed) == {work.pages[1].key}
    work.remove(1)
    assert work.failed == {}
    work.turn(0)
    assert work.pages[0].key != key and work.usable() == [] and work.corrections == {}


@pytest.mark.parametrize("turns", range(4))
def test_a_turned_page_is_shown_turned(turns: int) -> None:
    photo = BytesIO()
    image = Image.new("RGB", (400, 300), "white")
    image.paste("black", (0, 0, 40, 40))  # top left
    image.save(photo, "PNG")
    work = OwnWork()
    work.add("a.png", photo.getvalue())
    for _ in range(turns):
        work.turn(0)
    assert work.pages[0].turn == turns
    picture = read_page(work.pages[0]).picture
    shown = Image.open(BytesIO(picture.jpeg)).convert("L")
    assert shown.size == (picture.width, picture.height)
    corners = [(10, 10), (shown.width - 10, 10),
               (shown.width - 10, shown.height - 10), (10, shown.height - 10)]  # fmt: skip
    dark = [shown.getpixel(corner) < 100 for corner in corners]
    assert dark.index(True) == turns % 4  # clockwise


def test_a_crop_keeps_within_its_page() -> None:
    work = OwnWork()
    work.add("a.txt", WORKING)
    picture = read_page(work.pages[0]).picture
    w, h = picture.width, picture.height
    crop = Image.open(BytesIO(picture.crop(((0, 0), (w, 0), (w, h), (0, h)))))
    assert crop.size == (w, h)
    small = Image.open(BytesIO(picture.crop(((50, 50), (90, 50), (90, 70), (50, 70)))))
    assert small.size == (
        80,
        48,
    )  # the height of the place on both sides, 0.7 of it above and below
