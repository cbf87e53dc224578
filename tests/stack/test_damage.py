"""Whatever bytes of whatever kind of file are changed or lost, it gives pages or reasons.

Two layers: many quick examples of files that are decoded in this process, and a few of those that
are split in a process of their own. The same examples at every run of continuous integration.
"""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from checker.benchmarks.broken_files import broken_files, pdf, saved, zipped
from checker.errors import PageError
from checker.reading.load import load_photo
from checker.stack.intake import GivenPage, Refused, given_pages
from checker.submission import Upload
from tests.stack.test_intake import HEIC, picture

QUICK = settings(max_examples=150, deadline=None, derandomize=True)
SLOW = settings(
    max_examples=15, deadline=None, derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)  # fmt: skip
IMAGE = picture(size=(64, 80))
DECODED_HERE = {
    "jpeg": saved(IMAGE, "JPEG"), "png": saved(IMAGE, "PNG"), "webp": saved(IMAGE, "WEBP"),
    "gif": saved(IMAGE, "GIF"), "bmp": saved(IMAGE, "BMP"), "heic": HEIC.read_bytes(),
    "zip": zipped({"a/1.jpg": saved(IMAGE, "JPEG"), "b.txt": b"C12 = 3 uF", "c": b""}),
}  # fmt: skip
SPLIT_APART = {
    "pdf": pdf(2),
    "scan": saved(IMAGE, "PDF", save_all=True, append_images=[IMAGE]),
    "tiff": saved(IMAGE, "TIFF", save_all=True, append_images=[IMAGE], compression="tiff_lzw"),
}


@st.composite
def damaged(draw: st.DrawFn, files: dict[str, bytes]) -> bytes:
    """A file with bytes changed, a part doubled or left out, and its end cut off."""
    raw = bytearray(files[draw(st.sampled_from(sorted(files)))])
    for _ in range(draw(st.integers(0, 6))):
        raw[draw(st.integers(0, len(raw) - 1))] = draw(st.integers(0, 255))
    start, length = draw(st.integers(0, len(raw))), draw(st.integers(0, 40))
    part = raw[start : start + length]
    raw[start : start + length] = part * draw(st.sampled_from([0, 1, 1, 2]))
    return bytes(raw[: draw(st.one_of(st.just(len(raw)), st.integers(0, len(raw))))])


def check(name: str, content: bytes) -> None:
    """Pages that load or are refused with a sentence; something is always said."""
    found = list(given_pages([Upload(name, content)]))
    assert found
    for one in found:
        if isinstance(one, Refused):
            assert one.reason.endswith(".") and "\n" not in one.reason
        elif not one.name.endswith(".txt"):
            assert isinstance(one, GivenPage)
            try:
                assert load_photo(one.content).colour.ndim == 3
            except PageError as error:
                assert str(error).endswith(".")


@QUICK
@given(damaged(DECODED_HERE), st.text(max_size=20))
def test_damage_to_what_is_decoded_here(content: bytes, name: str) -> None:
    check(name, content)


@SLOW
@given(damaged(SPLIT_APART))
def test_damage_to_what_is_split_apart(content: bytes) -> None:
    check("scan", content)


@QUICK
@given(st.sampled_from([b"", b"\xff\xd8\xff", b"%PDF-1.7\n", b"PK\x03\x04", b"\0\0\0 ftypheic",
                        b"RIFF0000WEBP", b"\x89PNG\r\n\x1a\n", b"GIF89a"]),
       st.binary(max_size=200))  # fmt: skip
def test_rubbish_behind_a_good_beginning(head: bytes, rest: bytes) -> None:
    if not head.startswith(b"%PDF"):  # a process each: the slow test has those
        check("x", head + rest)


@given(st.lists(st.text(min_size=1, max_size=30), min_size=1, max_size=5, unique=True))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_any_names_in_a_zip_give_labels_of_their_own(names: list[str]) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name in names:
            printable = name.encode("utf-8", "replace").decode()
            archive.writestr(zipfile.ZipInfo(printable), DECODED_HERE["jpeg"])
    labels = [one.name for one in given_pages([Upload("z", out.getvalue())])]
    assert len(set(labels)) == len(labels)
    for label in labels:
        assert not label.startswith("/") and ".." not in label.split("/") and "\0" not in label
        label.encode("utf-8")


def test_the_files_of_the_benchmark_are_the_same_every_time() -> None:
    photo = Image.new("RGB", (60, 80), "white")
    first, second = ([f.content for f in broken_files(100, photo)] for _ in range(2))
    assert first == second and len(set(first)) == 20


def test_an_endless_process_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    """A drawing that takes for ever is left after the time allowed, whatever the file says."""
    from checker.benchmarks.broken_files import pdf_of

    monkeypatch.setattr("checker.reading.file_pages._SECONDS", 0.1)
    (only,) = given_pages([Upload("x.pdf", pdf_of(b"0 0 m 9 9 l S " * 3_000_000))])
    assert isinstance(only, Refused) and "takes too long" in only.reason


def test_nothing_is_left_running_when_pages_are_not_wanted_any_more(tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(pdf(50))
    pages = given_pages([tmp_path / "a.pdf"])
    assert isinstance(next(pages), GivenPage)
    pages.close()  # type: ignore[attr-defined]
