"""The outputs of a stack: safe in spreadsheets and browsers, complete, the same every time."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from html.parser import HTMLParser
from typing import BinaryIO

import numpy as np
import pypdfium2 as pdfium
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from checker.exact import Fraction
from checker.matching.judgement import Judgement
from checker.reading.page import PageReading
from checker.report.stack_json import write_json
from checker.report.stack_page import write_page
from checker.report.stack_pdf import write_pdf
from checker.report.stack_pictures import jpeg
from checker.report.stack_rows import Mark, StackHead, StackPage, StackRow
from checker.report.stack_table import COLUMNS, safe_cell, write_table
from tests.report.made import REFERENCE, SLIP, judgement, paper, photographed, statement, typed

HEAD = StackHead("Three <capacitors> & a supply", "Mind the stored energy.")
HOSTILE = '=HYPERLINK("http://x.example","<script>alert(1)</script>")\r\n@SUM(A1)'


def rows() -> list[StackRow]:
    photo = PageReading(0, "ada.jpg", (400, 500), (), doubts=())
    scanned = StackPage("ada.jpg", 1, photo, jpeg(paper(), 80))
    text = typed()
    nothing = Judgement("nothing read", None, ())
    return [
        StackRow(1, HOSTILE, "slip found", photographed(), (scanned,),
                 mark=Mark(Fraction(5, 2), Fraction(4)), remark="+1", person="agreed"),
        StackRow(2, "typed.txt", "slip found", text.judgement,
                 (StackPage("typed.txt", 1, text.pages[0]),)),
        StackRow(3, "broken 🙂.pdf", "needs a look", nothing,
                 (StackPage("broken 🙂.pdf", 1, reason="The file is locked <b>."),)),
        StackRow(4, "overruled", "all follows", photographed(), (scanned,), person="overruled",
                 remark="Rounded as I asked.", corrected=2),
        StackRow(5, "right", "all follows", judgement([statement(0)], "all follows"), ()),
    ]  # fmt: skip


def written(write: Callable[[BinaryIO], None]) -> bytes:
    out = io.BytesIO()
    write(out)
    return out.getvalue()


def page() -> bytes:
    return written(lambda out: write_page(HEAD, REFERENCE, rows(), out))


def pdf(of: list[StackRow]) -> bytes:
    return written(lambda out: write_pdf(HEAD, iter(of), out))


def table() -> list[dict[str, str]]:
    text = written(lambda out: write_table(rows(), out)).decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_the_table_says_what_was_found() -> None:
    found = table()
    assert list(found[0]) == list(COLUMNS) and len(found) == 5
    first = found[0]
    assert (first["step"], first["quantity"], first["written"]) == ("2", SLIP.quantity, "16 µF")
    assert (first["points"], first["out of"], first["mark confirmed"]) == ("2.5", "4", "no")
    assert found[2]["outcome"] == "needs a look" and found[2]["pages not read"] == "1"
    assert "locked" in found[2]["reasons"]
    assert found[3]["step"] == "" and found[3]["a person"] == "overruled"


def test_no_cell_can_start_a_formula() -> None:
    cells = [cell for row in table() for cell in row.values()]
    assert any("HYPERLINK" in cell for cell in cells)
    # OWASP, "CSV Injection": the characters that may start a formula.
    assert [cell for cell in cells if cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n"))] == []


@given(st.text(max_size=30).map("=".__add__) | st.text(max_size=30))
def test_any_text_is_one_harmless_cell(text: str) -> None:
    cell = safe_cell(text)
    assert cell.isprintable()
    assert not cell.lstrip().startswith(tuple("=+-@\uff1d\uff0b\uff0d\uff20"))


def test_lines_end_as_rfc_4180_asks() -> None:
    raw = written(lambda out: write_table(rows(), out))
    assert raw.count(b"\r\n") == raw.count(b"\n") == 6


class _Elements(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def test_the_page_needs_nothing_else_and_runs_nothing() -> None:
    parser = _Elements()
    parser.feed(page().decode())
    tags = {tag for tag, _ in parser.found}
    assert not tags & {"script", "link", "iframe", "object", "a", "form", "b0"}
    for _, attributes in parser.found:
        assert not [name for name in attributes if name.startswith("on")]
        assert (attributes.get("src") or "data:").startswith("data:")
    assert any(HOSTILE.split("\r")[0] in text for text in parser.text)


def test_the_page_shows_every_submission_and_why_it_was_not_read() -> None:
    parser = _Elements()
    parser.feed(page().decode())
    text = " ".join(parser.text)
    for said in ("typed.txt", "broken 🙂.pdf", "The file is locked <b>.", "Rounded as I asked.",
                 "Series combined as parallel", "2.5 of 4 points (suggested, not confirmed)",
                 HEAD.title, str(HEAD.caution)):  # fmt: skip
        assert said in text
    assert sum(tag == "img" for tag, _ in parser.found) == 3
    assert text.index("broken 🙂.pdf") < text.index("typed.txt") < text.index("overruled")


def test_the_pdf_has_every_page_and_an_outline() -> None:
    document = pdfium.PdfDocument(pdf(rows()))
    assert len(document) == 5
    titles = [item.get_title() for item in document.get_toc()]
    assert len(titles) == 5 and titles[1] == "typed.txt" and titles[2] == "broken ?.pdf"
    texts = [document[k].get_textpage().get_text_range() for k in range(5)]
    assert "One step does not follow." in texts[0] and "Mind the stored energy." in texts[0]
    assert "Mind" not in texts[1]
    assert "This page was not read" in texts[2] and "locked <b>" in texts[2]
    assert "A person overruled." in texts[3]


def test_the_pdf_shows_the_marks() -> None:
    """The frame of the first slip, in its colour; none where a person overruled it."""
    document = pdfium.PdfDocument(pdf(rows()))
    strong = [_share(document, number, (0xA3, 0x18, 0x4A)) for number in (0, 3)]
    assert strong[0] > 5 * max(strong[1], 1)


def _share(document: pdfium.PdfDocument, number: int, colour: tuple[int, int, int]) -> int:
    picture = document[number].render(scale=1).to_pil().convert("RGB")
    count = 0
    for found, (red, green, blue) in picture.getcolors(1 << 24) or []:  # type: ignore[misc]
        near = abs(red - colour[0]) + abs(green - colour[1]) + abs(blue - colour[2]) < 60
        count += found if near else 0
    return count


def test_a_pdf_of_many_pages_is_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is put together from parts: every page and every entry of the outline is there once."""
    monkeypatch.setattr("checker.report.pdf_parts._PART", 4)
    many = [replace(rows()[1], position=n, name=f"sheet {n}") for n in range(9)]
    many[3] = replace(many[3], pages=2 * many[3].pages)
    document = pdfium.PdfDocument(pdf(many))
    texts = [document[k].get_textpage().get_text_range() for k in range(len(document))]
    names = [f"sheet {n}" for n in range(9)]
    names.insert(4, "sheet 3")
    assert [text.splitlines()[0][: len("sheet 0")] for text in texts] == names
    entries = list(document.get_toc())
    assert [item.get_title() for item in entries] == [f"sheet {n}" for n in range(9)]
    assert [item.get_dest().get_index() for item in entries] == [0, 1, 2, 3, 5, 6, 7, 8, 9]


def test_the_memory_of_a_pdf_does_not_grow_with_its_pages() -> None:
    """Pages of noise, 400 kB each: 60 of them take no more memory than 15."""
    code = (
        "import resource, tempfile\n"
        "from checker.report import pdf_parts\n"
        "from tests.report.test_stack_outputs import HEAD, noise\n"
        "from checker.report.stack_pdf import write_pdf\n"
        "pdf_parts._PART = 5\n"
        "for count in (15, 60):\n"
        "    with tempfile.TemporaryFile() as out:\n"
        "        write_pdf(HEAD, (noise(n) for n in range(count)), out)\n"
        "        size = out.tell()\n"
        "    print(size, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    (small, before), (large, after) = (map(int, line.split()) for line in done.stdout.splitlines())
    assert large - small > 15_000_000
    assert after - before < 10_000_000


def noise(number: int) -> StackRow:
    shades = np.random.default_rng(number).integers(0, 256, (700, 900, 3), np.uint8)
    reading = PageReading(0, "n.jpg", (900, 700), ())
    picture = jpeg(Image.fromarray(shades), 80)
    return replace(rows()[0], pages=(StackPage("n.jpg", 1, reading, picture),), position=number)


def test_a_pdf_of_one_submission_and_of_none() -> None:
    assert len(pdfium.PdfDocument(pdf(rows()[:1]))) == 1
    assert len(pdfium.PdfDocument(pdf([]))) == 1


def test_the_json_holds_the_judgement_and_what_a_person_did() -> None:
    found = json.loads(written(lambda out: write_json(HEAD, rows(), out)))
    assert found["format"] == 1 and found["problem"] == HEAD.title
    first, *_, overruled, _ = found["submissions"]
    assert first["name"] == HOSTILE and first["first_slip"]["kind"] == SLIP.kind
    assert first["mark"] == {"points": "5/2", "of": "4", "confirmed": False}
    assert (overruled["outcome"], overruled["standing"]) == ("slip found", "all follows")
    empty = json.loads(written(lambda out: write_json(HEAD, [], out)))
    assert empty["submissions"] == []


@pytest.mark.parametrize("kind", ["csv", "json", "html", "pdf"])
def test_the_same_rows_give_the_same_bytes(kind: str) -> None:
    write: Callable[[BinaryIO], None] = {
        "csv": lambda out: write_table(rows(), out),
        "json": lambda out: write_json(HEAD, rows(), out),
        "html": lambda out: write_page(HEAD, REFERENCE, rows(), out),
        "pdf": lambda out: write_pdf(HEAD, rows(), out),
    }[kind]
    first, second = (hashlib.sha256(written(write)).hexdigest() for _ in range(2))
    assert first == second


def test_an_overruled_slip_is_accused_nowhere() -> None:
    shown = replace(rows()[0], outcome="all follows").shown
    assert shown.first_slip is None and shown.outcome == "all follows"
    assert not [s for s in shown.statements if "slip" in s.verdict]
