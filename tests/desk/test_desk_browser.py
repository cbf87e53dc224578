"""The desk in a real browser: a stack read, looked through, overruled, taken away, found again."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.desk.conftest import ARTEFACTS, running, visited
from tests.desk.student_acts import FAINT, settled, whole
from tests.samples import PHOTOS, TYPED

MARKS = b"\n[marks]\nequivalent_capacitance = 2\ncharge = 1\nvoltage = 1\n"
WORKING = TYPED.page.read_text(encoding="utf-8")
RIGHT = "1/C12 = 1/6 + 1/3 = 3/6\nC12 = 2 µF\nC_eq = 2 + 7 = 9 µF\n"
NASTY = "=1+1<img src=x onerror=alert(1)>.txt"
PHOTO = next(sample.page for sample in PHOTOS if sample.page.parent.name == "series_added_up")


def stack() -> list[dict[str, object]]:
    """Thirty submissions: slips, right ones, one photo, one file that is no page."""
    texts = {f"student {n:02}.txt": (RIGHT if n % 3 else WORKING) for n in range(27)}
    files = {name: text.encode() for name, text in {**texts, NASTY: RIGHT}.items()}
    files["photo.jpg"] = PHOTO.read_bytes()  # of C1 + C2 for two in series
    files["broken.jpg"] = b"no photo"
    return [
        {"name": name, "mimeType": "application/octet-stream", "buffer": content}
        for name, content in files.items()
    ]


@pytest.fixture(scope="module")
def desk_address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with running("--store", str(tmp_path_factory.mktemp("desk") / "stack.sqlite")) as url:
        yield url + "/stack"


@pytest.fixture
def desk(browser: Browser, desk_address: str) -> Iterator[Page]:
    with visited(browser, desk_address.removesuffix("/stack")) as page:
        page.get_by_role("link", name="A stack").click()
        yield page


def give(page: Page, label: str, files: object) -> None:
    field = page.get_by_test_id("stFileUploader").filter(has_text=label)
    field.locator("input[type=file]").set_input_files(files)  # type: ignore[arg-type]


def seen(page: Page, name: str) -> None:
    """Pictures of the whole page, wide and as on a phone; every text of it has its contrast."""
    for width, where in ((1280, name), (390, f"{name}_phone")):
        page.set_viewport_size({"width": width, "height": 900})
        page.wait_for_timeout(400)
        assert page.evaluate(FAINT) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        whole(page, where)
    page.set_viewport_size({"width": 1280, "height": 1000})


def open_submission(page: Page, name: str) -> None:
    box = page.get_by_role("combobox", name="Open")
    if box.input_value() != name:
        box.fill(name)
        page.get_by_role("option", name=name).click()
    page.get_by_role("button", name="Look").click()
    expect(page.get_by_role("heading", name=name)).to_be_visible()
    settled(page)


def test_a_stack_from_its_files_to_its_exports(desk: Page) -> None:
    expect(desk.get_by_role("heading", name="A stack")).to_be_visible()
    seen(desk, "stack_empty")
    desk.get_by_role("combobox", name="Problem").click()
    desk.get_by_role("option", name="My own problem file").click()
    problem = {"name": "p.toml", "mimeType": "text/plain"}
    give(desk, "Problem file", [{**problem, "buffer": TYPED.problem.read_bytes() + MARKS}])
    give(desk, "Pages", stack())
    desk.get_by_role("button", name="Read the stack").click()
    expect(desk.get_by_text("Reading:").first).to_be_visible()
    desk.screenshot(path=ARTEFACTS / "stack_reading.png")
    # The page answers while the stack is read.
    desk.get_by_role("link", name="Check my working").click()
    desk.get_by_role("link", name="A stack").click()
    expect(desk.get_by_text("30 submissions, 0 looked at")).to_be_visible()
    expect(desk.get_by_role("heading", name="Take away")).to_be_visible()
    seen(desk, "stack_table")

    open_submission(desk, "student 00.txt")
    expect(desk.get_by_text("One step does not follow.")).to_be_visible()
    picture = desk.get_by_test_id("stImage").locator("img")
    expect(picture).to_be_visible()
    seen(desk, "stack_submission")
    desk.get_by_text("Overrule").first.click()
    settled(desk)
    desk.get_by_text("all follows", exact=True).click()
    desk.get_by_label("Remark").fill("=meant as 1/C")
    desk.get_by_role("button", name="Overrule").click()
    expect(desk.get_by_text("Your remark: =meant as 1/C")).to_be_visible()
    expect(desk.get_by_text("Every step follows.")).to_be_visible()
    seen(desk, "stack_overruled")

    desk.get_by_role("button", name="Stack").click()
    expect(desk.get_by_text("30 submissions, 1 looked at")).to_be_visible()
    with desk.expect_download() as download:
        desk.get_by_role("button", name="Table (CSV)").click()
    table = Path(download.value.path()).read_text(encoding="utf-8-sig")
    cells = list(csv.reader(io.StringIO(table)))
    assert len(cells) == 31
    assert not [cell for row in cells for cell in row if cell.startswith(("=", "+", "@"))]
    with desk.expect_download() as download:
        desk.get_by_role("button", name="JSON").click()
    found = json.loads(Path(download.value.path()).read_bytes())["submissions"]
    (overruled,) = [one for one in found if one["person"] == "overruled"]
    assert (overruled["outcome"], overruled["standing"]) == ("slip found", "all follows")
    with desk.expect_download() as download:
        desk.get_by_role("button", name="Marked pages (PDF)").click()
    assert Path(download.value.path()).read_bytes().startswith(b"%PDF")


def test_what_was_done_is_found_again_and_can_be_undone(desk: Page) -> None:
    expect(desk.get_by_text("30 submissions, 1 looked at")).to_be_visible()
    open_submission(desk, "student 00.txt")
    expect(desk.get_by_text("Your remark: =meant as 1/C")).to_be_visible()
    desk.keyboard.press("u")
    expect(desk.get_by_text("One step does not follow.")).to_be_visible()


def test_a_corrected_reading_is_judged_at_once(desk: Page) -> None:
    open_submission(desk, "student 03.txt")
    line = desk.get_by_role("textbox", name="Page 1, line 2")
    line.fill("C12 = 2 µF")
    line.press("Enter")
    expect(desk.get_by_text("C12 = 0.5")).to_have_count(0)
    expect(desk.get_by_text("equivalent capacitance of C1, C2, C3").first).to_be_visible()
    desk.get_by_role("button", name="Undo").click()
    expect(desk.get_by_role("textbox", name="Page 1, line 2")).to_have_value("C12 = 0.5 µF")


def test_it_is_stepped_through_with_keys(desk: Page) -> None:
    open_submission(desk, "student 06.txt")
    desk.keyboard.press("a")
    expect(desk.get_by_role("heading", name="student 06.txt")).to_have_count(0)
    settled(desk)
    desk.keyboard.press("p")
    expect(desk.get_by_role("heading", name="student 06.txt")).to_be_visible()
    expect(desk.get_by_text("You agreed.")).to_be_visible()


def test_a_mark_counts_as_confirmed_only_when_a_person_did_it(desk: Page) -> None:
    open_submission(desk, "student 09.txt")
    expect(desk.get_by_text("suggested, not confirmed")).to_be_visible()
    desk.get_by_test_id("stExpander").filter(has_text="Points").locator("summary").click()
    settled(desk)
    desk.get_by_role("button", name="Confirm the mark").click()
    expect(desk.get_by_text("confirmed").first).to_be_visible()
    expect(desk.get_by_text("suggested, not confirmed")).to_have_count(0)


def test_names_of_files_are_never_markup(desk: Page) -> None:
    open_submission(desk, NASTY)
    assert desk.locator("img[src=x]").count() == 0


def test_the_class_page_counts_the_slips(desk: Page) -> None:
    desk.get_by_role("link", name="The class").click()
    plot = desk.get_by_role("table", name="First slips by kind and stage")
    expect(plot).to_contain_text("Reciprocal not inverted")
    expect(desk.get_by_text("Worth showing in class")).to_be_visible()
    expect(desk.locator("img.crop")).to_have_count(2)  # a typed line and a photographed one
    assert "energy" not in plot.inner_text()  # which is not asked for
    seen(desk, "class")
