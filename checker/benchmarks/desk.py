"""How soon the student's page answers in a browser: ``python -m checker.benchmarks.desk``.

Starts the page, visits it in a headless Chromium, adds a photo of the sample pages and corrects one
of its lines to and fro.  Needs the extra ``test`` and a Chromium.
"""

from __future__ import annotations

import argparse
import socket
import statistics
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Page, expect, sync_playwright

SAMPLE = Path("sample_pages/series_added_up/page.jpg")
PROBLEM = "Three capacitors on 20 V"
RIGHT, WRONG = "C12 = 2.5 µF", "C12 = C1 + C2"
SLIP = "One step does not follow."
PATIENCE = 60_000  # milliseconds


@contextmanager
def running_process(
    *options: str, folder: Path | None = None
) -> Iterator[tuple[str, subprocess.Popen[bytes]]]:
    """The address of ``checker desk`` with ``options`` on a free port, and its process, which may
    be ended; started in ``folder``."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "checker", "desk", "--port", str(port), *options]
    process = subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL)
    url = f"http://127.0.0.1:{port}"
    try:
        for _ in range(120):
            assert process.poll() is None, "checker desk ended by itself"
            try:
                urllib.request.urlopen(f"{url}/_stcore/health", timeout=5).close()
                break
            except OSError:
                time.sleep(0.5)
        yield url, process
    finally:
        process.terminate()
        process.wait(timeout=20)


def first_paint(page: Page, url: str) -> float:
    """Seconds from asking for the page until one can choose a problem."""
    start = time.perf_counter()
    page.goto(url)
    expect(page.get_by_role("combobox", name="Problem")).to_be_visible(timeout=PATIENCE)
    return time.perf_counter() - start


def read(page: Page, sample: Path) -> float:
    """Seconds from giving a photo until its outcome is shown."""
    page.get_by_role("combobox", name="Problem").click()
    page.get_by_role("option", name=PROBLEM, exact=True).click()
    start = time.perf_counter()
    page.locator("input[type=file]").first.set_input_files(sample)
    expect(page.locator(".outcome").filter(has_text=SLIP)).to_be_visible(timeout=PATIENCE)
    return time.perf_counter() - start


# Asked at every frame: waiting from outside looks again only after 0.1, 0.25, 0.5 and 1 s.
WATCH = """([label, wanted]) => {
  const slips = () => [...document.querySelectorAll('p, span, div')].some((node) =>
    node.childElementCount === 0 && node.textContent.trim() === label &&
    node.parentElement.innerText.includes('first slip'));
  window.answered = new Promise((done) => document.addEventListener('keydown', () => {
    const start = performance.now();
    const look = () => slips() === wanted
      ? done((performance.now() - start) / 1000) : requestAnimationFrame(look);
    look();
  }, { once: true, capture: true }));
}"""


def correct(page: Page, text: str, line: int = 1) -> float:
    """Seconds from pressing Enter until the line's verdict has changed, both in the browser."""
    field = page.get_by_role("textbox", name=f"Line {line}", exact=True)
    field.fill(text)
    page.evaluate(WATCH, [f"Line {line}", text == WRONG])
    field.press("Enter")
    return float(page.evaluate("() => window.answered"))


def main() -> int:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--times", type=int, default=5)
    parser.add_argument("--chromium", default="/usr/bin/chromium")
    options = parser.parse_args()
    paints: list[float] = []
    reads: list[float] = []
    corrections: list[float] = []
    with running_process("--student") as (url, _process), sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=options.chromium, args=["--no-sandbox", "--disable-gpu"]
        )
        for _ in range(options.times):
            page = browser.new_page()
            paints.append(first_paint(page, url))
            reads.append(read(page, SAMPLE))
            corrections += [correct(page, RIGHT), correct(page, WRONG)]
            page.close()
        browser.close()
    for what, seconds in (("first paint", paints), ("photo to outcome", reads),
                          ("corrected line to verdict", corrections)):  # fmt: skip
        print(f"{what}: first {seconds[0]:.2f} s, median {statistics.median(seconds):.2f} s, "
              f"slowest {max(seconds):.2f} s of {len(seconds)}")  # fmt: skip
    return 0


if __name__ == "__main__":
    sys.exit(main())
