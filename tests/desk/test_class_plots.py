"""Plots of a class, read as what they are: tables."""

from __future__ import annotations

from html.parser import HTMLParser

from checker.desk.class_plots import outcomes_html, slips_html
from checker.report.class_counts import Cell, ClassCounts

COUNTS = ClassCounts(
    {"all follows": 3, "slip found": 9},
    ("C1, C2 in series", "<b>"),
    ("Arithmetic", "Prefix"),
    (Cell("C1, C2 in series", "Arithmetic", 8), Cell("<b>", "Prefix", 1)),
)


class Cells(HTMLParser):
    """The texts of the rows of a table, and the styles of its cells."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.styles: list[str] = []
        self.tags: set[str] = set()
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")
        self.styles += [value for name, value in attrs if name == "style" and value]

    def handle_data(self, data: str) -> None:
        if self.rows and self.rows[-1]:
            self.rows[-1][-1] += data


def test_every_outcome_has_its_number_and_a_bar_of_its_share() -> None:
    found = Cells(outcomes_html(COUNTS))
    numbers = {row[0][2:]: row[1] for row in found.rows}
    assert numbers == {
        "all follows": "3", "slip found": "9", "needs a look": "0", "nothing read": "0",
    }  # fmt: skip
    assert [style.split(";")[0] for style in found.styles] == ["width:25.0%", "width:75.0%"]


def test_a_class_of_nobody_has_no_bars() -> None:
    assert Cells(outcomes_html(ClassCounts({}, (), (), ()))).styles == []


def test_slips_stand_at_their_kind_and_stage_and_more_is_darker() -> None:
    found = Cells(slips_html(COUNTS))
    assert found.rows == [
        ["", "C1, C2 in series", "<b>"],
        ["Arithmetic", "8", ""],
        ["Prefix", "", "1"],
    ]
    assert "b" not in found.tags  # names are text
    shades = [int(style.split("#")[1][:2], 16) for style in found.styles]
    most, none, _none, one = shades
    assert most < one < none


def test_numbers_can_be_read_on_their_shades() -> None:
    """Contrast of 4.5:1, WCAG 2.2, success criterion 1.4.3."""
    counts = tuple(Cell("s", f"k{n}", n) for n in range(1, 9))
    html = slips_html(ClassCounts({}, ("s",), tuple(cell.kind for cell in counts), counts))
    for style in Cells(html).styles:
        back, ink = (_light(part.split("#")[1][:6]) for part in style.split(";")[:2])
        assert (max(back, ink) + 0.05) / (min(back, ink) + 0.05) >= 4.5


def _light(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    r, g, b = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b
