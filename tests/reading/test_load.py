import io
import struct
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageOps

from checker.errors import PageError
from checker.reading.load import load_photo


def picture() -> Image.Image:
    """Every corner another colour, so that a wrong turn shows."""
    rgb = np.zeros((60, 90, 3), np.uint8)
    rgb[:30, :45], rgb[:30, 45:] = (250, 10, 10), (10, 250, 10)
    rgb[30:, :45], rgb[30:, 45:] = (10, 10, 250), (240, 240, 240)
    return Image.fromarray(rgb)


def saved(image: Image.Image, kind: str, **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


@pytest.mark.parametrize("orientation", range(1, 9))
def test_exif_orientation_is_undone(orientation: int) -> None:
    # Reference: Pillow's own reading of the EXIF 2.3 orientation tag (0x0112).
    exif = Image.Exif()
    exif[0x0112] = orientation
    data = saved(picture(), "PNG", exif=exif)
    expected = np.asarray(ImageOps.exif_transpose(Image.open(io.BytesIO(data))))
    found = load_photo(data)
    assert found.size == (expected.shape[1], expected.shape[0])
    assert np.array_equal(found.colour, expected)


@pytest.mark.parametrize("kind", ["PNG", "TIFF", "BMP", "WEBP", "JPEG"])
def test_formats(kind: str) -> None:
    options = {"WEBP": {"lossless": True}, "JPEG": {"quality": 95}}.get(kind, {})
    found = load_photo(saved(picture(), kind, **options)).colour
    assert np.abs(found[5, 5].astype(int) - (250, 10, 10)).max() < 12
    assert np.abs(found[55, 85].astype(int) - (240, 240, 240)).max() < 12


def test_heic() -> None:
    """Of an own picture, coded once by libheif; Pillow tells where its colours have to be."""
    found = load_photo(Path(__file__).with_name("quarters.heic"))
    wide = np.asarray(picture().resize((180, 120), Image.Resampling.NEAREST)).astype(int)
    assert found.size == (180, 120)
    for y, x in ((10, 10), (10, 170), (110, 10), (110, 170)):
        assert np.abs(found.colour[y, x] - wide[y, x]).max() < 12


def test_first_page_of_several() -> None:
    data = saved(picture(), "TIFF", save_all=True, append_images=[Image.new("RGB", (90, 60))])
    assert load_photo(data).colour[5, 5].tolist() == [250, 10, 10]


def test_transparency_is_laid_on_white() -> None:
    clear = picture().convert("RGBA")
    clear.putalpha(0)
    assert (load_photo(saved(clear, "PNG")).colour == 255).all()
    palette = picture().quantize(4)
    data = saved(palette, "PNG", transparency=palette.getpixel((5, 5)))
    found = load_photo(data).colour
    assert found[5, 5].tolist() == [255, 255, 255]
    assert found[5, 85].tolist() == [10, 250, 10]


def test_deep_grey_keeps_its_shades() -> None:
    ramp = np.linspace(0, 65535, 64 * 64).reshape(64, 64).astype(np.uint16)
    found = load_photo(saved(Image.fromarray(ramp), "PNG")).colour[..., 0]
    assert np.abs(found - ramp / 257.0).max() < 1.01


def test_cmyk() -> None:
    found = load_photo(saved(picture().convert("CMYK"), "JPEG", quality=95)).colour
    assert np.abs(found[5, 5].astype(int) - (250, 10, 10)).max() < 30


def large_webp() -> bytes:
    """8,000 pixels wide and high by its head: RFC 9649, 2.5, and RFC 6386, 9.1."""
    data = bytearray(saved(picture(), "WEBP"))
    assert data[12:16] == b"VP8 " and data[23:26] == b"\x9d\x01\x2a"
    data[26:30] = struct.pack("<HH", 8000, 8000)
    return bytes(data)


def bad(name: str) -> bytes:
    whole = saved(picture(), "JPEG")
    return {
        "nothing": b"",
        "text": b"C12 = 3 uF\n" * 40,
        "pdf": b"%PDF-1.4\n" + b"x" * 200,
        "zip": b"PK\x03\x04" + b"x" * 200,
        "heic": b"\0\0\0\x18ftypheic" + b"\0" * 200,
        "cut": whole[: len(whole) // 2],
        "cut png": saved(picture(), "PNG")[:120],
        "pixel": saved(Image.new("RGB", (1, 1)), "PNG"),
        "huge": saved(Image.new("1", (20_000, 10_000)), "PNG"),
        "large webp": large_webp(),
    }[name]


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("nothing", "is empty"),
        ("text", "is not an image"),
        ("pdf", "is a PDF"),
        ("heic", "damaged or cut short"),
        ("zip", "is a zip archive"),
        ("cut", "damaged or cut short"),
        ("cut png", "damaged or cut short"),
        ("pixel", "only 1 × 1 pixels"),
        ("huge", "more than 100 megapixels"),
        ("large webp", "more than 60 megapixels, too many for this format; save it as JPEG"),
    ],
)
def test_bad_input_is_one_sentence(name: str, says: str) -> None:
    with pytest.raises(PageError) as error:
        load_photo(bad(name))
    message = str(error.value)
    assert says in message
    assert message.endswith(".") and "\n" not in message and "Traceback" not in message


def test_folder_and_missing_file(tmp_path: Path) -> None:
    with pytest.raises(PageError, match="is a folder"):
        load_photo(tmp_path)
    with pytest.raises(PageError, match="no file"):
        load_photo(tmp_path / "page.jpg")
    with pytest.raises(PageError, match="bad file name"):
        load_photo("page\0.jpg")


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(["PNG", "JPEG", "TIFF", "WEBP", "BMP"]), st.data())
def test_damage_never_escapes(kind: str, data: st.DataObject) -> None:
    """Whatever bytes of a file are changed or lost, it is read or refused."""
    raw = bytearray(saved(picture(), kind))
    for _ in range(data.draw(st.integers(1, 6))):
        raw[data.draw(st.integers(0, len(raw) - 1))] = data.draw(st.integers(0, 255))
    raw = raw[: data.draw(st.integers(0, len(raw)))]
    try:
        photo = load_photo(bytes(raw))
    except PageError as error:
        assert str(error).endswith(".")
    else:
        assert photo.colour.dtype == np.uint8 and photo.colour.shape[2] == 3


def large(kind: str) -> Image.Image:
    """More pixels than are read: 6,001 × 5,000, each quarter another shade."""
    shades = np.zeros((5000, 6001), np.uint8)
    shades[:2500, :3000], shades[:2500, 3000:] = 10, 90
    shades[2500:, :3000], shades[2500:, 3000:] = 160, 250
    image = Image.fromarray(shades)
    if kind == "I;16":
        return Image.fromarray(shades.astype(np.uint16) * 257)
    return image.quantize(8) if kind == "P" else image.convert(kind)


@pytest.mark.parametrize(
    ("mode", "kind"),
    [("RGB", "JPEG"), ("RGB", "PNG"), ("RGBA", "PNG"), ("P", "PNG"), ("I;16", "PNG")],
)
def test_very_large_pictures_are_made_smaller(mode: str, kind: str) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # the first row is the right-hand side
    found = load_photo(saved(large(mode), kind, exif=exif))
    assert found.size == (5000, 6001)
    assert found.colour.shape == (3001, 2500, 3)
    assert found.scale == pytest.approx(2, abs=0.001)
    places = ((2900, 100), (2900, 2400), (100, 100), (100, 2400))
    corners = [found.colour[y, x, 0] for y, x in places]
    assert corners == pytest.approx([250, 90, 160, 10], abs=3)
