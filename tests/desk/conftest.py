"""The desk running, and a real browser that visits it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright

from checker.benchmarks.desk import running_process
from tests.samples import ROOT

CHROMIUM = Path("/usr/bin/chromium")
ARTEFACTS = ROOT / "artefacts"
PATIENCE = 60_000  # milliseconds; a page that answers sooner is not waited for


@contextmanager
def running(*options: str) -> Iterator[str]:
    """The address of ``checker desk`` with ``options`` on a free port."""
    with running_process(*options, folder=ROOT) as (url, _process):
        yield url


@pytest.fixture(scope="module")
def student_address() -> Iterator[str]:
    with running("--student") as url:
        yield url


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if not CHROMIUM.exists():
        pytest.skip(f"needs Debian's chromium package ({CHROMIUM} is missing)")
    ARTEFACTS.mkdir(exist_ok=True)
    expect.set_options(timeout=PATIENCE)
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
                "--use-fake-device-for-media-stream",  # a camera that shows a moving pattern
                "--use-fake-ui-for-media-stream",
            ],
        )
        yield browser
        browser.close()


@contextmanager
def visited(browser: Browser, url: str) -> Iterator[Page]:
    """A fresh visitor's page; fails if it asked anything of another host."""
    asked: list[str] = []
    context = browser.new_context(viewport={"width": 1280, "height": 1000})
    page = context.new_page()
    page.set_default_timeout(PATIENCE)
    page.on("request", lambda request: asked.append(request.url))
    page.on("websocket", lambda socket: asked.append(socket.url.replace("ws://", "http://")))
    page.goto(url)
    yield page
    context.close()
    assert asked
    assert [one for one in asked if not one.startswith((url, "data:", "blob:"))] == []


@pytest.fixture
def student(browser: Browser, student_address: str) -> Iterator[Page]:
    """The student's page, just opened."""
    with visited(browser, student_address) as page:
        yield page
