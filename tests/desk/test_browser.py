"""The web page in a real browser, as a user drives it."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright

from tests.samples import ROOT, TYPED

CHROMIUM = Path("/usr/bin/chromium")
ARTEFACTS = ROOT / "artefacts"
PATIENCE = 60_000  # milliseconds; a page that answers sooner is not waited for

pytestmark = pytest.mark.skipif(
    not CHROMIUM.exists(), reason=f"needs Debian's chromium package ({CHROMIUM} is missing)"
)


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    """``checker desk`` running on a free port."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "checker", "desk", "--port", str(port)]
    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL)
    url = f"http://127.0.0.1:{port}"
    try:
        for _ in range(120):
            assert process.poll() is None, "checker desk ended by itself"
            try:
                urllib.request.urlopen(f"{url}/_stcore/health", timeout=5).close()
                break
            except OSError:
                time.sleep(0.5)
        yield url
    finally:
        process.terminate()
        process.wait(timeout=20)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM,
            args=[
                "--no-sandbox",
                "--disable-gpu",
                "--disable-quic",
                "--no-first-run",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
            ],
        )
        yield browser
        browser.close()


@pytest.fixture
def page(browser: Browser, address: str) -> Iterator[Page]:
    """The opened web page; fails the test if it asked anything of another host."""
    ARTEFACTS.mkdir(exist_ok=True)
    asked: list[str] = []
    page = browser.new_page(viewport={"width": 1280, "height": 1000})
    page.set_default_timeout(PATIENCE)
    expect.set_options(timeout=PATIENCE)
    page.on("request", lambda request: asked.append(request.url))
    page.on("websocket", lambda socket: asked.append(socket.url.replace("ws://", "http://")))
    page.goto(address)
    yield page
    page.close()
    assert asked
    assert [url for url in asked if not url.startswith((address, "data:", "blob:"))] == []


def choose(page: Page, problem: str) -> None:
    page.get_by_role("combobox", name="Problem").click()
    page.get_by_role("option", name=problem).click()


def upload(page: Page, label: str, name: str, content: bytes) -> None:
    field = page.get_by_test_id("stFileUploader").filter(has_text=label)
    field.locator("input[type=file]").set_input_files(
        {"name": name, "mimeType": "application/octet-stream", "buffer": content}
    )


def test_from_problem_and_page_to_the_first_slip(page: Page) -> None:
    expect(page.get_by_text("Choose a problem to begin.")).to_be_visible()
    page.screenshot(path=ARTEFACTS / "desk_empty.png")
    choose(page, "Two capacitors in series beside a third")
    expect(page.get_by_text("Now add a photo")).to_be_visible()
    upload(page, "Pages", "page.txt", TYPED.page.read_bytes())
    expect(page.get_by_role("heading", name="First slip")).to_be_visible()
    slip = page.locator("ol.steps li.first-slip")
    expect(slip).to_have_count(1)
    expect(slip).to_contain_text("0.5 µF")
    picture = page.get_by_test_id("stImage").locator("img")
    expect(picture).to_be_visible()
    assert picture.evaluate("image => image.decode().then(() => image.naturalWidth)") >= 900
    page.screenshot(path=ARTEFACTS / "desk_slip.png")


def test_the_answer_is_not_on_the_page_until_it_is_asked_for(page: Page) -> None:
    choose(page, "Two capacitors in series beside a third")
    upload(page, "Pages", "page.txt", TYPED.page.read_bytes())
    expect(page.get_by_role("heading", name="First slip")).to_be_visible()
    assert "expected: 2 µF" not in page.content()
    page.get_by_text("Tell me more").click()
    expect(page.get_by_text("expected: 2 µF")).to_be_visible()


def test_mistakes_are_told_in_one_sentence(page: Page) -> None:
    choose(page, "Two capacitors in series beside a third")
    upload(page, "Pages", "holiday.jpg", b"this is no photo")
    alert = page.get_by_role("alert").filter(has_text="holiday.jpg")
    expect(alert).to_have_text(re.compile(r"^holiday\.jpg: .*\.$"))
    page.screenshot(path=ARTEFACTS / "desk_mistake.png")
    assert "Traceback" not in page.content()


def test_an_own_problem_with_a_dangerous_voltage_brings_the_caution(page: Page) -> None:
    choose(page, "My own problem file")
    own = TYPED.problem.read_text(encoding="utf-8").replace("18 V", "400 V")
    upload(page, "Problem file", "mine.toml", own.encode())
    upload(page, "Pages", "page.txt", b"C12 = 2 \xc2\xb5F\n")
    expect(page.get_by_role("alert").filter(has_text="Caution")).to_be_visible()


def test_it_fits_a_phone(page: Page) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    choose(page, "Two capacitors in series beside a third")
    upload(page, "Pages", "page.txt", TYPED.page.read_bytes())
    expect(page.get_by_role("heading", name="First slip")).to_be_visible()
    expect(page.locator("ol.steps li.first-slip")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.screenshot(path=ARTEFACTS / "desk_phone.png", full_page=True)
