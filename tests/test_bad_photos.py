"""Whatever is given as a photo: one sentence, or no verdict and the reason, never an accusation."""

from __future__ import annotations

import json
import struct
import zlib
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from checker.cli import main
from tests.reading.rendered import FONT
from tests.samples import PHOTOS, ROOT

SHARED = ROOT.parent / "shared" / "photos"
SLIPPED = next(sample for sample in PHOTOS if sample.folder.name == "series_added_up")
RIGHT = next(sample for sample in PHOTOS if sample.folder.name == "right_in_order")


def picture(sample: Any) -> np.ndarray:
    with Image.open(sample.page) as image:
        return np.asarray(image.convert("RGB"))


def checked(capsys: pytest.CaptureFixture[str], page: Path, sample: Any = SLIPPED) -> Any:
    """The JSON of a page that is an image."""
    assert main(["check", str(page), "--problem", str(sample.problem), "--json"]) == 0
    output = capsys.readouterr()
    assert output.err == ""
    return json.loads(output.out)


def saved(folder: Path, image: np.ndarray | Image.Image, name: str = "page.png") -> Path:
    whole = image if isinstance(image, Image.Image) else Image.fromarray(image)
    whole.save(folder / name)
    return folder / name


def huge_png(width: int, height: int) -> bytes:
    """A small file that unpacks to very many white pixels."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        check = struct.pack(">I", zlib.crc32(kind + data))
        return struct.pack(">I", len(data)) + kind + data + check

    rows = zlib.compress((b"\0" + b"\xff" * width) * 8)
    size = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", size) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "is empty"),
        (b"C12 = 3 uF\n" * 9, "is not an image"),
        (SLIPPED.page.read_bytes()[:20_000], "cut short"),
        (huge_png(1, 1), "too small"),
        (huge_png(20_000, 10_000), "more than 100 megapixels"),
        (huge_png(12_000, 900), "a strip"),
    ],
    ids=["no bytes", "text", "truncated", "one pixel", "200 megapixels", "panorama"],
)
def test_what_is_no_photo_of_a_page_is_refused(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, content: bytes, says: str
) -> None:
    page = tmp_path / "page.jpg"
    page.write_bytes(content)
    assert main(["check", str(page), "--problem", str(SLIPPED.problem)]) == 2
    output = capsys.readouterr()
    assert output.out == "" and output.err.count("\n") == 1 and says in output.err


def landscape() -> np.ndarray:
    rng = np.random.default_rng(1)
    sky = np.linspace((90, 130, 230), (220, 225, 240), 600).repeat(800, 0).reshape(600, 800, 3)
    grass = cv2.GaussianBlur(rng.normal(0, 1, (250, 800)), (0, 0), 2)
    sky[350:] = np.array([70, 120, 50]) + 120 * grass[..., None]
    return np.clip(sky + rng.normal(0, 4, (600, 800, 1)), 0, 255).astype(np.uint8)


def typed_screen(dark: bool) -> Image.Image:
    ink, ground = ("#ddd", "#222230") if dark else ("#111", "white")
    image = Image.new("RGB", (900, 600), ground)
    pen = ImageDraw.Draw(image)
    for k in range(12):
        text = "C12 = C1 + C2 = 18 uF, see the notes"
        pen.text((20, 20 + 40 * k), text, fill=ink, font=ImageFont.truetype(FONT, 20))
    return image


@pytest.mark.parametrize(
    ("image", "says"),
    [
        (np.zeros((900, 700, 3), np.uint8), "too dark"),
        (np.full((900, 700, 3), 255, np.uint8), "No writing"),
        (np.full((64, 64, 3), 255, np.uint8), "No writing"),
        (landscape(), ""),
        (typed_screen(dark=False), "screenshot"),
        (typed_screen(dark=True), "screenshot"),
        (cv2.GaussianBlur(picture(SLIPPED), (0, 0), 6), "blurred"),
        (cv2.GaussianBlur(picture(SLIPPED), (0, 0), 30), ""),
        ((picture(SLIPPED) * 0.1).astype(np.uint8), "too dark"),
        (picture(SLIPPED)[:, ::-1], ""),
    ],
    ids=["black", "white", "tiny", "landscape", "screen", "dark screen", "blurred",
         "extreme blur", "night", "mirrored"],
)  # fmt: skip
def test_what_cannot_be_read_gets_no_verdict(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, image: np.ndarray, says: str
) -> None:
    found = checked(capsys, saved(tmp_path, image))
    assert found["outcome"] in ("needs a look", "nothing read")
    assert found["first_slip"] is None
    assert found["remarks"] and says in found["remarks"][0]


def on_desk(left: np.ndarray, right: np.ndarray, gap: int) -> np.ndarray:
    desk = np.random.default_rng(2).normal(60, 5, (1500, 2160 + max(gap, 0), 3))
    desk = np.clip(desk * [1.1, 0.9, 0.7], 0, 255).astype(np.uint8)
    for sheet, x in ((left, 40), (right, 1060 + gap)):
        desk[60:1440, x : x + 1000] = cv2.resize(sheet, (1000, 1380), interpolation=cv2.INTER_AREA)
    return desk


@pytest.mark.parametrize("gap", [120, 8], ids=["apart", "nearly touching"])
def test_two_sheets_on_one_photo_are_never_judged_as_one(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, gap: int
) -> None:
    both = on_desk(picture(SLIPPED), picture(SLIPPED), gap)
    found = checked(capsys, saved(tmp_path, both))
    assert found["outcome"] == "needs a look" and found["first_slip"] is None
    assert any("two sheets" in remark for remark in found["remarks"])


def test_working_of_a_sheet_below_is_not_judged_with_that_of_the_sheet_above(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """A few ends of its lines are seen beside the upper sheet."""
    desk = np.full((2000, 1700, 3), (50, 42, 35), np.uint8)
    sheet = cv2.resize(picture(SLIPPED), (1000, 1380), interpolation=cv2.INTER_AREA)
    desk[350:1730, 800:] = sheet[:, :900]
    shadow = np.zeros((2000, 1700))
    shadow[260:1640, 258:1258] = 0.35
    desk = (desk * (1 - cv2.GaussianBlur(shadow, (0, 0), 12))[..., None]).astype(np.uint8)
    desk[250:1630, 250:1250] = sheet
    found = checked(capsys, saved(tmp_path, desk))
    assert found["outcome"] == "needs a look" and found["first_slip"] is None
    assert any("two sheets" in remark for remark in found["remarks"])


@pytest.mark.skipif(not SHARED.is_dir(), reason="the real photographs are not beside the checkout")
def test_real_photos_without_working_get_no_verdict(capsys: pytest.CaptureFixture[str]) -> None:
    """Prose and sketches of circuits photographed by real people, none of them about a problem."""
    for page in sorted(SHARED.glob("*.jpg")):
        found = checked(capsys, page)
        assert found["outcome"] in ("needs a look", "nothing read"), page.name
        assert found["first_slip"] is None and found["remarks"], page.name


@pytest.mark.parametrize("quarters", range(1, 4))
def test_a_page_is_judged_whichever_way_it_was_held(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, quarters: int
) -> None:
    turned = np.ascontiguousarray(np.rot90(picture(SLIPPED), quarters))
    slip = checked(capsys, saved(tmp_path, turned))["first_slip"]
    assert slip is not None and slip["kind"] == "series-combined-as-parallel"


@pytest.mark.parametrize(("name", "quarters"), [("division_slip", 1), ("crossed_out_line", 3)])
def test_a_page_that_reads_fairly_the_wrong_way_is_turned_further(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, name: str, quarters: int
) -> None:
    sample = next(sample for sample in PHOTOS if sample.folder.name == name)
    upright = checked(capsys, sample.page, sample)
    turned = np.ascontiguousarray(np.rot90(picture(sample), quarters))
    found = checked(capsys, saved(tmp_path, turned), sample)
    assert found["outcome"] == upright["outcome"]


@pytest.mark.parametrize("kind", ["CMYK", "L", "palette", "RGBA", "16 bit", "other name", "frames"])
def test_every_kind_of_image_file_is_read(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, kind: str
) -> None:
    image = Image.fromarray(picture(RIGHT))
    if kind == "16 bit":
        page = saved(tmp_path, np.asarray(image.convert("L")).astype(np.uint16) * 257)
    elif kind == "palette":
        page = saved(tmp_path, image.quantize(64))
    elif kind == "other name":
        page = saved(tmp_path, image, "page.jpg")
        page = page.rename(tmp_path / "page.png")
    elif kind == "frames":
        page = tmp_path / "page.webp"
        more = [Image.new("RGB", image.size)]
        image.save(page, save_all=True, append_images=more, lossless=True, method=0)
    else:
        page = saved(tmp_path, image.convert(kind), "page.jpg" if kind == "CMYK" else "page.png")
    found = checked(capsys, page, RIGHT)
    assert sum(statement["verdict"] == "follows" for statement in found["statements"]) >= 10
    assert found["first_slip"] is None
    assert any("first of 2" in remark for remark in found["remarks"]) is (kind == "frames")
