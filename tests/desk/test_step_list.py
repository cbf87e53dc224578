"""The list of steps beside the page."""

from html.parser import HTMLParser

from checker.desk.step_list import step_list
from tests.report import made


class Reader(HTMLParser):
    """Collects the tags and the text that a browser would see."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.texts: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


def test_each_step_shows_its_sign_text_and_verdict() -> None:
    html = Reader(step_list(made.photographed().statements))
    assert html.tags.count("li") == 4
    for words in ("✓", "1 follows", "✗", "2 first slip", "↳", "4 unsure"):
        assert words in html.texts
    assert html.texts.count("C12 = 16 µF") == 4


def test_what_was_read_from_a_page_is_never_markup() -> None:
    nasty = '<img src=x onerror="alert(1)"></div><script>x()</script>'
    html = Reader(step_list([made.statement(0, text=nasty, question="<b>1 or 7?</b>")]))
    assert not {"img", "script", "b"} & set(html.tags)
    assert nasty in html.texts
    assert "<b>1 or 7?</b>" in html.texts
