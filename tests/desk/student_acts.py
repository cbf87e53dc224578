"""What a student does in the browser, and what can be seen there."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Locator, Page, expect

# Contrast as in WCAG 2.2 (relative luminance, contrast ratio); gives the texts that have less
# than 4.5:1 against the nearest painted background.
FAINT = """() => {
  const shades = colour => colour.match(/[\\d.]+/g).map(Number);
  const light = ([r, g, b]) => {
    const [x, y, z] = [r, g, b].map(v => v / 255)
      .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * x + 0.7152 * y + 0.0722 * z;
  };
  const behind = node => {
    for (; node; node = node.parentElement) {
      const [r, g, b, a = 1] = shades(getComputedStyle(node).backgroundColor);
      if (a > 0.99) return [r, g, b];
    }
    return [255, 255, 255];
  };
  const found = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let text = walk.nextNode(); text; text = walk.nextNode()) {
    const node = text.parentElement;
    const box = node.getBoundingClientRect();
    const style = getComputedStyle(node);
    if (!text.data.trim() || box.width < 2 || box.height < 2) continue;
    if (style.visibility !== 'visible') continue;
    if (node.closest('button:disabled, style, script, noscript, [aria-hidden=true]')) continue;
    const back = behind(node);
    let [r, g, b, a = 1] = shades(style.color);
    for (let up = node; up; up = up.parentElement) a *= Number(getComputedStyle(up).opacity);
    const front = [r, g, b].map((v, i) => v * a + back[i] * (1 - a));
    const [low, high] = [light(front), light(back)].sort((p, q) => p - q);
    const ratio = (high + 0.05) / (low + 0.05);
    if (ratio < 4.5) found.push(`${text.data.trim().slice(0, 60)} (${ratio.toFixed(2)})`);
  }
  return found;
}"""


def choose(page: Page, problem: str) -> None:
    page.get_by_role("combobox", name="Problem").click()
    page.get_by_role("option", name=problem, exact=True).click()


def upload(page: Page, *files: Path | tuple[str, bytes], label: str = "Add pages") -> None:
    field = page.get_by_test_id("stFileUploader").filter(has_text=label)
    given = [
        {"name": name, "mimeType": "application/octet-stream", "buffer": content}
        for name, content in (
            (file.name, file.read_bytes()) if isinstance(file, Path) else file for file in files
        )
    ]
    field.locator("input[type=file]").set_input_files(given)


def outcome(page: Page, words: str) -> Locator:
    """The banner, once it says ``words``."""
    banner = page.locator(".outcome").filter(has_text=words)
    expect(banner).to_be_visible()
    return banner


def put_right(page: Page, line: int, text: str) -> None:
    field = page.get_by_role("textbox", name=f"Line {line}", exact=True)
    field.fill(text)
    field.press("Enter")


# Everything loaded, and nothing that unfolds still on its way.
STILL = """() => [...document.images].every(image => image.complete) && !document.getAnimations()
  .some(one => one.playState === 'running' && one.effect.getComputedTiming().endTime < Infinity)"""


def settled(page: Page) -> None:
    """Waits until the page is drawn to its end: before, a key or a click may meet nothing."""
    expect(page.locator('.stApp[data-test-script-state="notRunning"]')).to_be_visible()
    page.wait_for_function(STILL)


def shot(page: Page, name: str) -> None:
    """A picture of the whole page among the artefacts."""
    whole(page, f"student_{name}")


def whole(page: Page, name: str) -> None:
    from tests.desk.conftest import ARTEFACTS

    height = page.evaluate("document.querySelector('.stMainBlockContainer').scrollHeight")
    size = page.viewport_size or {"width": 1280, "height": 1000}
    page.set_viewport_size({"width": size["width"], "height": min(max(height + 80, 600), 6000)})
    page.wait_for_timeout(300)
    page.screenshot(path=ARTEFACTS / f"{name}.png")
    page.set_viewport_size(size)
