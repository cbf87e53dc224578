"""Everything that can be given: pages in order, or a reason; never an exception, never a path."""

from __future__ import annotations

import hashlib
import io
import os
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image
from reportlab.lib.pdfencrypt import StandardEncryption
from reportlab.pdfgen.canvas import Canvas

from checker.errors import PageError
from checker.stack.intake import GivenPage, Limits, Refused, given_pages
from checker.submission import Source, Upload

HEIC = Path(__file__).parents[1] / "reading" / "quarters.heic"


def picture(shade: int = 200, size: tuple[int, int] = (90, 120)) -> Image.Image:
    return Image.new("RGB", size, (shade, shade, 90))


def saved(kind: str = "JPEG", shade: int = 200, **options: object) -> bytes:
    out = io.BytesIO()
    picture(shade).save(out, kind, **options)
    return out.getvalue()


def pdf(pages: int, password: str | None = None) -> bytes:
    out = io.BytesIO()
    lock = StandardEncryption(password, strength=40) if password else None
    canvas = Canvas(out, pagesize=(300, 400), invariant=1, encrypt=lock)
    for number in range(pages):
        canvas.drawString(50, 300, f"page {number}")
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def zipped(members: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return out.getvalue()


def given(*inputs: Source, limits: Limits | None = None) -> list[GivenPage | Refused]:
    return list(given_pages(inputs, limits))


def names(found: list[GivenPage | Refused]) -> list[str]:
    return [f"{one.name}#{one.number}" if isinstance(one, GivenPage) else one.name for one in found]


def refusal(*inputs: Source, limits: Limits | None = None) -> str:
    """The only reason given; it has to be one sentence."""
    (only,) = given(*inputs, limits=limits)
    assert isinstance(only, Refused)
    assert only.reason.endswith(".") and "\n" not in only.reason and len(only.reason) < 200
    return only.reason


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "BMP", "GIF", "TIFF"])
def test_one_picture_is_one_page_as_it_is(kind: str) -> None:
    content = saved(kind)
    assert given(Upload("a.jpg", content)) == [
        GivenPage("a.jpg", 1, content, hashlib.sha256(content).hexdigest())
    ]


def test_heic_is_handed_on_as_it_is() -> None:
    (page,) = given(HEIC)
    assert isinstance(page, GivenPage) and page.content == HEIC.read_bytes()


def test_pages_of_a_tiff_in_order() -> None:
    frames = [picture(shade) for shade in (120, 40)]
    found = given(Upload("scan.tif", saved("TIFF", 200, save_all=True, append_images=frames)))
    assert names(found) == ["scan.tif#1", "scan.tif#2", "scan.tif#3"]
    shades = [pixel(page)[0] for page in found]
    assert shades == pytest.approx([200, 120, 40], abs=2)


def pixel(page: GivenPage | Refused) -> tuple[int, ...]:
    assert isinstance(page, GivenPage)
    with Image.open(io.BytesIO(page.content)) as image:
        found = image.convert("RGB").getpixel((20, 20))
        assert isinstance(found, tuple)
        return found


def test_pages_of_a_pdf_whatever_it_is_called(tmp_path: Path) -> None:
    (tmp_path / "scan.jpg").write_bytes(pdf(2))
    found = given(tmp_path / "scan.jpg", Upload("other", pdf(1)))
    assert names(found) == ["scan.jpg#1", "scan.jpg#2", "other#1"]
    assert isinstance(found[0], GivenPage)
    with Image.open(io.BytesIO(found[0].content)) as image:
        assert image.size == (2250, 3000)


def test_a_folder_in_the_order_of_people(tmp_path: Path) -> None:
    folder = tmp_path / "class"
    for name in ("page10.jpg", "page2.jpg", "ada/1.jpg", ".hidden.jpg", "__MACOSX/x.jpg"):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(saved())
    (folder / "notes.doc").write_bytes(b"\xd0\xcf\x11\xe0" * 20)
    (folder / "work.txt").write_text("C12 = 3 uF")
    (folder / "link.jpg").symlink_to(folder / "page2.jpg")
    found = given(folder)
    assert names(found) == [
        "class/ada/1.jpg#1", "class/link.jpg", "class/notes.doc", "class/page2.jpg#1",
        "class/page10.jpg#1", "class/work.txt#1",
    ]  # fmt: skip
    reasons = [one.reason for one in found if isinstance(one, Refused)]
    assert "link" in reasons[0] and "no photo" in reasons[1]


def test_members_of_a_zip(tmp_path: Path) -> None:
    members = {
        "b/2.png": saved("PNG"), "a/1.jpg": saved(), "a/scan.pdf": pdf(2), "c.txt": b"C = 3 uF",
        "__MACOSX/a/._1.jpg": b"x", "inner.zip": zipped({"x.jpg": saved()}),
    }  # fmt: skip
    (tmp_path / "stack.zip").write_bytes(zipped(members))
    found = given(tmp_path / "stack.zip")
    assert names(found) == [
        "stack.zip/a/1.jpg#1", "stack.zip/a/scan.pdf#1", "stack.zip/a/scan.pdf#2",
        "stack.zip/b/2.png#1", "stack.zip/c.txt#1", "stack.zip/inner.zip",
    ]  # fmt: skip
    assert isinstance(found[-1], Refused) and "zip inside a zip" in found[-1].reason


@pytest.mark.parametrize("name", ["../../etc/passwd.jpg", "/etc/x.jpg", "..\\..\\x.jpg", "./x.jpg"])
def test_no_label_leads_out_of_its_folder(name: str) -> None:
    (page,) = given(Upload("s.zip", zipped({name: saved()})), limits=Limits())
    assert isinstance(page, GivenPage)
    assert page.name.startswith("s.zip/") and ".." not in page.name and "\\" not in page.name


@pytest.mark.parametrize(
    "name", ["-rf.jpg", "<script>alert(1)</script>.jpg", "=1+1.jpg", "zwei\nZeilen.jpg", "🙂.jpg"]
)
def test_odd_names_are_kept_as_data(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "f"
    folder.mkdir()
    (folder / name.replace("/", "")).write_bytes(saved())
    (page,) = given(folder)
    assert isinstance(page, GivenPage)
    assert page.name.endswith(name.replace("/", ""))


def test_a_name_that_is_no_text_becomes_one(tmp_path: Path) -> None:
    folder = tmp_path / "f"
    folder.mkdir()
    with open(os.fsencode(folder) + b"/p\xff.jpg", "wb") as file:  # noqa: PTH123
        file.write(saved())
    (page,) = given(folder)
    assert page.name == "f/p?.jpg"


def test_no_two_files_have_the_same_label(tmp_path: Path) -> None:
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "1.jpg").write_bytes(saved())
        (tmp_path / folder / "w.txt").write_text("C = 3 uF")
    found = given(*(tmp_path / f / n for n in ("1.jpg", "w.txt") for f in ("a", "b")))
    assert names(found) == ["1.jpg#1", "1.jpg (2)#1", "w.txt#1", "w (2).txt#1"]


def bad(name: str) -> bytes:
    huge = io.BytesIO()
    Image.new("1", (30_000, 30_000)).save(huge, "PNG")
    return {
        "empty": b"",
        "text": b"C12 = 3 uF\n" * 40,
        "video": b"\0\0\0\x18ftypisom" + b"\0" * 200,
        "huge": huge.getvalue(),
        "locked": pdf(1, "secret"),
        "cut pdf": pdf(3)[:400],
        "cut tiff": saved("TIFF")[:60],
        "many": pdf(11),
        "cut zip": zipped({"a.jpg": saved()})[:-30],
        "no members": zipped({}),
        "bomb": zipped({"a.jpg": b"\xff\xd8\xff" + b"\0" * 20_000_000}),
    }[name]


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("empty", "empty"),
        ("text", "no photo"),
        ("video", "no photo"),
        ("huge", "more than 100 megapixels"),
        ("locked", "password"),
        ("cut pdf", "damaged"),
        ("cut tiff", "damaged"),
        ("many", "11 pages, more than 10"),
        ("cut zip", "damaged or cut short"),
        ("no members", "holds no file"),
        ("bomb", "unpacks to far more"),
    ],
)
def test_what_cannot_be_used_has_a_reason(name: str, says: str) -> None:
    assert says in refusal(Upload("x", bad(name)), limits=replace(Limits(), file_pages=10))


def test_the_limits_hold() -> None:
    one, several = Upload("a.jpg", saved()), zipped({f"{k}.jpg": saved() for k in range(4)})
    few = Limits(page_bytes=100)
    assert "larger than" in refusal(one, limits=few)
    assert "megapixels" in refusal(one, limits=Limits(page_pixels=10_000))
    assert "more than 3 files" in refusal(Upload("z", several), limits=Limits(zip_members=3))
    found = given(Upload("z", several), limits=Limits(zip_bytes=2 * len(saved()) + 10))
    assert [type(one) for one in found][:3] == [GivenPage, GivenPage, Refused]
    found = given(one, one, one, limits=Limits(stack_pages=2))
    assert isinstance(found[-1], Refused) and "more than 2 pages" in found[-1].reason


def test_a_locked_member_of_a_zip_spoils_no_other() -> None:
    data = bytearray(zipped({"a.jpg": saved(), "b.jpg": saved()}))
    # APPNOTE 4.4.4: bit 0 of the general purpose flags, in both headers of the first member.
    for signature, place in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        data[data.index(signature) + place] |= 1
    found = given(Upload("z", bytes(data)))
    assert isinstance(found[0], Refused) and "password" in found[0].reason
    assert isinstance(found[1], GivenPage)


def test_a_damaged_page_of_a_pdf_spoils_no_other(monkeypatch: pytest.MonkeyPatch) -> None:
    from checker.reading.file_pages import FilePage

    def pages(*_: object) -> Iterator[FilePage]:
        yield FilePage(1, None, "The file is damaged on this page; scan it again.")
        yield FilePage(2, saved())

    monkeypatch.setattr("checker.stack.intake.file_pages", pages)
    found = given(Upload("x.pdf", pdf(1)))
    assert found[0] == Refused("x.pdf", "Page 1: The file is damaged on this page; scan it again.")
    assert isinstance(found[1], GivenPage) and found[1].number == 2


def test_an_input_that_is_not_there_is_said_before_anything_is_read(tmp_path: Path) -> None:
    with pytest.raises(PageError, match="no file or folder"):
        given_pages([Upload("a.jpg", saved()), tmp_path / "gone.jpg"])
    os.mkfifo(tmp_path / "pipe")
    assert "no file" in refusal(tmp_path / "pipe")


def test_the_same_inputs_give_the_same_pages() -> None:
    source = Upload("z.zip", zipped({"a.pdf": pdf(2), "b.jpg": saved()}))
    assert given(source) == given(source)
