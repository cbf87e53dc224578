"""A desk that is killed while it reads a stack goes on with one button."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Browser, Page, expect

from checker.benchmarks.desk import running_process
from tests.desk.conftest import ARTEFACTS, running, visited
from tests.desk.student_acts import FAINT, choose, upload
from tests.samples import PHOTOS, ROOT, TYPED


def to_the_stack(page: Page) -> None:
    page.get_by_role("link", name="A stack").click()
    expect(page.get_by_role("heading", name="A stack")).to_be_visible()


def test_a_killed_desk_resumes_its_stack(browser: Browser, tmp_path: Path) -> None:
    store = tmp_path / "stack.sqlite"
    with (
        running_process("--store", str(store), folder=ROOT) as (url, process),
        visited(browser, url) as page,
    ):
        to_the_stack(page)
        choose(page, "Two capacitors in series beside a third")
        photos = [
            (f"{n}.jpg", PHOTOS[n % len(PHOTOS)].page.read_bytes() + b"\0" * n) for n in range(8)
        ]
        upload(page, ("typed.txt", TYPED.page.read_bytes()), *photos, label="Pages")
        page.get_by_role("button", name="Read the stack").click()
        expect(page.get_by_text("Reading:").first).to_be_visible()
        process.kill()
        process.wait()
    kept = store.with_name("stack.sqlite.given")
    assert kept.is_dir()
    with running("--store", str(store)) as url, visited(browser, url) as page:
        to_the_stack(page)
        expect(page.get_by_text("did not come to its end")).to_be_visible()
        expect(page.get_by_role("button", name="Resume")).to_be_visible()
        assert page.evaluate(FAINT) == []
        page.screenshot(path=ARTEFACTS / "stack_resume.png")
        page.get_by_role("button", name="Resume").click()
        expect(page.get_by_text("9 submissions, 0 looked at")).to_be_visible()
        expect(page.get_by_role("button", name="Resume")).to_have_count(0)
        expect(page.get_by_role("heading", name="Take away")).to_be_visible()
    assert not kept.exists()
