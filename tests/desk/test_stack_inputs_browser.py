"""A stack given as a PDF and a zip, opened from its table, taken away as a web page."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from tests.desk.conftest import running, visited
from tests.desk.student_acts import choose, upload
from tests.samples import PHOTOS, TYPED

TITLE = "Two capacitors in series beside a third"


def zipped(files: dict[str, bytes]) -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as out:
        for name, content in files.items():
            out.writestr(name, content)
    return data.getvalue()


def scans() -> bytes:
    data = io.BytesIO()
    sheets = [Image.open(sample.page) for sample in PHOTOS[:2]]
    sheets[0].save(data, "PDF", save_all=True, append_images=sheets[1:])
    return data.getvalue()


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with running("--store", str(tmp_path_factory.mktemp("desk") / "stack.sqlite")) as url:
        yield url


@pytest.fixture
def desk(browser: Browser, address: str) -> Iterator[Page]:
    with visited(browser, address) as page:
        page.get_by_role("link", name="A stack").click()
        expect(page.get_by_role("heading", name="A stack")).to_be_visible()
        yield page


def test_a_pdf_and_a_zip_of_folders_make_a_stack(desk: Page) -> None:
    lines = TYPED.page.read_text(encoding="utf-8").splitlines()
    halves = ["\n".join(part).encode() for part in (lines[:4], lines[4:])]
    folders = {"ada/1.txt": halves[0], "ada/2.txt": halves[1], "ben/1.txt": b"C12 = 2"}
    choose(desk, TITLE)
    desk.get_by_text("one folder each (in a zip)").click()
    upload(desk, ("class.zip", zipped(folders)), ("scans.pdf", scans()), label="Pages")
    desk.get_by_role("button", name="Read the stack").click()
    expect(desk.get_by_text("3 submissions, 0 looked at")).to_be_visible()
    expect(desk.get_by_role("heading", name="Take away")).to_be_visible()


def test_a_click_on_a_row_opens_its_submission(desk: Page) -> None:
    table = desk.get_by_test_id("stDataFrame")
    canvas = table.locator("canvas").first
    row = table.locator("[role=row]").filter(has_text="class.zip/ada")
    expect(row).to_have_count(1)
    number = int(row.get_attribute("aria-rowindex") or 0)  # 1 is the head
    opened = desk.get_by_role("heading", name="class.zip/ada")
    for _ in range(6):  # a table that is still being laid out takes no click
        corner = canvas.bounding_box()
        assert corner
        desk.mouse.click(corner["x"] + 300, corner["y"] + 35 * (number - 1) + 17)
        desk.wait_for_timeout(3000)
        if opened.count():
            break
    expect(opened).to_be_visible()
    expect(desk.get_by_test_id("stImage")).to_have_count(2)
    desk.get_by_role("button", name="Stack").click()
    expect(desk.get_by_text("3 submissions, 0 looked at")).to_be_visible()


def test_the_web_page_taken_away_needs_nothing_else(
    desk: Page, browser: Browser, tmp_path: Path
) -> None:
    with desk.expect_download() as download:
        desk.get_by_role("button", name="Web page (HTML)").click()
    file = tmp_path / "summary.html"
    download.value.save_as(file)
    asked: list[str] = []
    page = browser.new_page()
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file.as_uri())
    expect(page.get_by_text("class.zip/ada").first).to_be_visible()
    expect(page.get_by_text("scans.pdf").first).to_be_visible()
    broken = "images => images.filter(image => !image.naturalWidth).length"
    assert page.locator("img").evaluate_all(broken) == 0
    page.close()
    assert [one for one in asked if not one.startswith((file.as_uri(), "data:"))] == []
