"""A desk with a password shows nothing before it was given."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from checker.desk.password import hashed
from tests.desk.conftest import running, visited
from tests.desk.student_acts import FAINT, whole

WORD = "correct horse battery"


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    folder = tmp_path_factory.mktemp("desk")
    file = folder / "password"
    file.write_text(hashed(WORD) + "\n", encoding="ascii")
    with running("--password-file", str(file), "--store", str(folder / "stack.sqlite")) as url:
        yield url


def give(page: Page, word: str) -> None:
    page.get_by_role("textbox", name="Password").fill(word)
    page.get_by_role("button", name="Open").click()


def test_only_the_password_opens_the_pages(browser: Browser, address: str) -> None:
    with visited(browser, address) as page:
        expect(page.get_by_role("textbox", name="Password")).to_be_visible()
        expect(page.get_by_role("textbox", name="Password")).to_have_attribute("type", "password")
        assert "A stack" not in page.content() and "Check my working" not in page.content()
        whole(page, "password")
        give(page, "wrong")
        expect(page.get_by_text("This is not the password; try again.")).to_be_visible()
        assert page.evaluate(FAINT) == []
        give(page, WORD)
        expect(page.get_by_role("heading", name="Check my working")).to_be_visible()
        page.get_by_role("link", name="The class").click()
        expect(page.get_by_text("There is no stack yet")).to_be_visible()
        assert page.evaluate(FAINT) == []
        whole(page, "class_empty")
    with visited(browser, address) as other:  # for that session alone
        expect(other.get_by_role("textbox", name="Password")).to_be_visible()


def test_after_too_many_wrong_ones_it_says_wait(browser: Browser, address: str) -> None:
    for attempt in range(5):  # each in a session of its own, which shows no older answer
        with visited(browser, address) as page:
            give(page, f"wrong {attempt}")
            expect(page.get_by_text("try again.")).to_be_visible()
    with visited(browser, address) as page:
        give(page, WORD)
        expect(
            page.get_by_text("Too many wrong passwords; wait a minute, then try again.")
        ).to_be_visible()
