"""Files as they should not be: damaged, disguised, hostile or merely odd, the same every time."""

from __future__ import annotations

import io
import random
import struct
import time
import zipfile
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

from PIL import Image
from reportlab.lib.pdfencrypt import StandardEncryption
from reportlab.pdfgen.canvas import Canvas

ROOT = Path(__file__).parents[2]
_DAY = time.gmtime(0)
_HEIC = ROOT / "tests" / "reading" / "quarters.heic"
_NAMES = (
    "-rf.jpg", "--help", "two\nlines.jpg", "🙂🙂.jpg", "<img src=x onerror=alert(1)>.jpg",
    '=HYPERLINK("x").jpg', "..", "../../etc/passwd.jpg", "con.jpg", "a" * 4000 + ".jpg", "\0.jpg",
    "\udcff.jpg", "\u202egpj.exe", "'; DROP TABLE pages; --.jpg", "", " ", "%s%n.jpg", "page.txt",
)  # fmt: skip


_LARGE: tuple[tuple[str, str, dict[str, object]], ...] = (
    ("a.jpg", "JPEG", {}), ("b.jpg", "JPEG", {"progressive": True}),
    ("a.png", "PNG", {"compress_level": 1}), ("a.webp", "WEBP", {"method": 0}),
    ("a.tif", "TIFF", {"compression": "tiff_lzw"}),
)  # fmt: skip


class BrokenFile(NamedTuple):
    """``kind`` says what is wrong with it, ``name`` is what it comes as."""

    kind: str
    name: str
    content: bytes


def broken_files(count: int, photo: Image.Image) -> Iterator[BrokenFile]:
    """``count`` files: first one of every special kind, then damaged ones made from ``photo``."""
    made = 0
    for file in _specials(photo):
        if made == count:
            return
        made += 1
        yield file
    whole = _whole_files(photo)
    damages = tuple(_DAMAGES.items())
    for number in range(count - made):
        rng = random.Random(number)
        name, content = whole[number % len(whole)]
        kind, damage = damages[number // len(whole) % len(damages)]
        yield BrokenFile(kind, f"{number} {name}", damage(content, rng))


def _truncated(content: bytes, rng: random.Random) -> bytes:
    return content[: rng.randrange(len(content))]


def _flipped(content: bytes, rng: random.Random) -> bytes:
    changed = bytearray(content)
    for _ in range(rng.choice((1, 3, 10, 100))):
        changed[rng.randrange(len(changed))] ^= 1 << rng.randrange(8)
    return bytes(changed)


def _head_flipped(content: bytes, rng: random.Random) -> bytes:
    """Bits changed where the sizes and offsets are."""
    return _flipped(content[:400], rng) + content[400:]


def _zeroed(content: bytes, rng: random.Random) -> bytes:
    start = rng.randrange(len(content))
    length = min(rng.randrange(1, 5000), len(content) - start)
    return content[:start] + bytes(length) + content[start + length :]


def _shuffled(content: bytes, rng: random.Random) -> bytes:
    size = max(len(content) // 8, 1)
    parts = [content[at : at + size] for at in range(0, len(content), size)]
    rng.shuffle(parts)
    return b"".join(parts)


def _grown(content: bytes, rng: random.Random) -> bytes:
    return content + rng.randbytes(rng.randrange(1, 3000))


_DAMAGES: dict[str, Callable[[bytes, random.Random], bytes]] = {
    "truncated": _truncated, "bits flipped": _flipped, "bits of the head flipped": _head_flipped,
    "a part zeroed": _zeroed, "parts shuffled": _shuffled, "rubbish behind": _grown,
}  # fmt: skip


def _whole_files(photo: Image.Image) -> list[tuple[str, bytes]]:
    several = {"save_all": True, "append_images": [photo.rotate(180)]}
    jpeg = saved(photo, "JPEG")
    black = photo.convert("L").point(lambda shade: 255 * (shade > 110)).convert("1")
    files = [
        ("a.jpg", jpeg),
        ("a.png", saved(photo.resize((300, 400)), "PNG")),
        ("a.webp", saved(photo, "WEBP", method=0)),
        ("a.tif", saved(photo.resize((300, 400)), "TIFF", compression="tiff_lzw", **several)),
        ("b.tif", saved(black, "TIFF", compression="group4", save_all=True, append_images=[black])),
        ("a.pdf", saved(photo, "PDF", creationDate=_DAY, modDate=_DAY, **several)),
        ("b.pdf", pdf(3)),
        ("a.zip", zipped({"1.jpg": jpeg, "2.txt": b"C12 = 3 uF", "3.pdf": pdf(1)})),
        ("a.txt", "1/C12 = 1/4 + 1/12\nC12 = 3 µF\n".encode() * 4),
        ("a.gif", saved(photo.resize((300, 400)).convert("P"), "GIF")),
    ]
    return [*files, ("a.heic", _HEIC.read_bytes())] if _HEIC.exists() else files


def _specials(photo: Image.Image) -> Iterator[BrokenFile]:
    jpeg, small = saved(photo, "JPEG"), photo.resize((300, 400))
    for name, content in _whole_files(photo):
        for ending in ("jpg", "png", "pdf", "zip", "heic", "txt", "doc"):
            yield BrokenFile("wrong ending", f"{name}.{ending}", content)
    for ending in ("jpg", "png", "webp", "tif", "heic", "pdf", "zip", "txt"):
        yield BrokenFile("no bytes", f"a.{ending}", b"")
        yield BrokenFile("only zeros", f"a.{ending}", bytes(5000))
        yield BrokenFile("random bytes", f"a.{ending}", random.Random(ending).randbytes(5000))
    for name in _NAMES:
        yield BrokenFile("odd name", name, jpeg)
        yield BrokenFile("odd name in a zip", "a.zip", zipped({name or " ": jpeg}))
    for side in (9_900, 20_000, 30_000):
        for kind in ("PNG", "TIFF"):
            options = {"compression": "group4"} if kind == "TIFF" else {}
            content = saved(Image.new("1", (side, side)), kind, **options)
            yield BrokenFile(f"{side:,} x {side:,}", f"a.{kind.lower()}", content)
    yield BrokenFile("9,900 x 9,900", "a.jpg", saved(Image.new("L", (9900, 9900)), "JPEG"))
    for name, kind, how in _LARGE:
        yield BrokenFile("photo of 99 megapixels", name, _enlarged(photo, kind, how))
    yield BrokenFile("PNG that says 60,000 x 60,000", "a.png", png_bomb(60_000))
    yield BrokenFile("PNG that unpacks to a gigabyte", "a.png", png_bomb(9_900, 10))
    yield BrokenFile("PDF with a picture of 30,000 x 30,000", "a.pdf", pdf_bomb(30_000))
    yield BrokenFile("PDF with a stream in many layers", "a.pdf", pdf_layers(4))
    yield BrokenFile("PDF that draws for ever", "a.pdf", pdf_of(b"0 0 m 9 9 l S " * 3_000_000))
    yield BrokenFile("PDF of 10,000 pages", "a.pdf", pdf(10_000))
    yield BrokenFile("PDF with a password", "a.pdf", pdf(2, "secret"))
    yield BrokenFile("PDF without pages", "a.pdf", b"%PDF-1.4\n%%EOF")
    yield BrokenFile("page of a strange size", "a.pdf", pdf(1, size=(14_000, 20)))
    zeros = b"\xff\xd8\xff" + bytes(300_000_000)
    yield BrokenFile("zip bomb", "a.zip", zipped({"a.jpg": zeros}))
    many = {f"{k}.jpg": b"\xff\xd8\xff" + bytes(900_000) for k in range(200)}
    yield BrokenFile("zip bomb of many members", "a.zip", zipped(many))
    yield BrokenFile("zip of 60,000 members", "a.zip", zipped({f"{k}": b"" for k in range(60_000)}))
    yield BrokenFile("nested zips", "a.zip", nested(jpeg, 6))
    yield BrokenFile("empty zip", "a.zip", zipped({}))
    for mode in ("CMYK", "L", "1", "P", "RGBA", "LA", "I;16", "I", "F", "YCbCr"):
        kind = "JPEG" if mode in ("CMYK", "YCbCr") else "TIFF" if mode in ("F", "I") else "PNG"
        image = small.convert("L").convert("I;16" if mode == "I;16" else mode) if (
            mode in ("I;16", "I", "F")) else small.convert(mode)  # fmt: skip
        yield BrokenFile(f"{mode} picture", f"a.{kind.lower()}", saved(image, kind))
    for kind in ("GIF", "WEBP", "PNG", "TIFF"):
        frames = [small.rotate(90 * k).convert("RGB") for k in range(1, 4)]
        content = saved(small, kind, save_all=True, append_images=frames)
        yield BrokenFile("several pictures", f"a.{kind.lower()}", content)
    for orientation in (0, 3, 6, 9, 65_535):
        exif = Image.Exif()
        exif[0x0112] = orientation
        content = saved(small, "JPEG", exif=exif)
        yield BrokenFile("odd EXIF", f"{orientation}.jpg", content)
        yield BrokenFile("odd EXIF", "a.jpg", content.replace(b"II*\0", b"II*\xff"))
    for size in ((1, 1), (1, 60_000), (47, 48), (48, 479), (65_000, 3)):
        yield BrokenFile("odd size", "a.png", saved(Image.new("L", size), "PNG"))


def _enlarged(photo: Image.Image, kind: str, how: dict[str, object]) -> bytes:
    large = photo.resize((9_000, 11_000), Image.Resampling.NEAREST)
    return saved(large.convert("RGBA") if kind == "PNG" else large, kind, **how)


def saved(image: Image.Image, kind: str, **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def pdf(pages: int, password: str | None = None, size: tuple[int, int] = (300, 400)) -> bytes:
    out = io.BytesIO()
    lock = StandardEncryption(password, strength=40) if password else None
    canvas = Canvas(out, pagesize=size, invariant=1, encrypt=lock)
    for number in range(pages):
        canvas.drawString(50, size[1] // 2, f"C{number} = 3 uF")
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def pdf_of(drawing: bytes) -> bytes:
    """A page with that content stream, deflated."""
    return _pdf_page(b"", zlib.compress(drawing), b"/Filter /FlateDecode")


def pdf_layers(layers: int) -> bytes:
    """A content stream deflated several times over: a few bytes that unpack to gigabytes."""
    data = bytes(30_000_000)
    for _ in range(layers):
        data = zlib.compress(data * 20 if len(data) < 1_000_000 else data)
    return _pdf_page(b"", data, b"/Filter [" + b"/FlateDecode " * layers + b"]")


def pdf_bomb(side: int) -> bytes:
    rows = zlib.compressobj()
    packed = b"".join(rows.compress(bytes(side * 100)) for _ in range(side // 100 * 3))
    picture = b"6 0 obj <</Type /XObject /Subtype /Image /Width %d /Height %d /BitsPerComponent 8" \
        b" /ColorSpace /DeviceRGB /Filter /FlateDecode /Length %d>> stream\n" % (
            side, side, len(packed + (tail := rows.flush())))  # fmt: skip
    return _pdf_page(picture + packed + tail + b"\nendstream endobj\n", b"300 0 0 400 0 0 cm /P Do")


def _pdf_page(objects: bytes, drawing: bytes, how: bytes = b"") -> bytes:
    # Without a table of objects: readers look for them.
    return (
        b"%PDF-1.4\n1 0 obj <</Type /Catalog /Pages 2 0 R>> endobj\n"
        b"2 0 obj <</Type /Pages /Kids [3 0 R] /Count 1>> endobj\n"
        b"3 0 obj <</Type /Page /Parent 2 0 R /MediaBox [0 0 300 400] /Contents 4 0 R "
        b"/Resources <</XObject <</P 6 0 R>>>> >> endobj\n" + objects
        + b"4 0 obj <</Length %d %b>> stream\n" % (len(drawing), how) + drawing
        + b"\nendstream endobj\ntrailer <</Root 1 0 R>>\n%%EOF"
    )  # fmt: skip


def png_bomb(side: int, times: int = 1) -> bytes:
    """A grey picture with ``times`` as many rows of data as it says."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        check = struct.pack(">I", zlib.crc32(kind + data))
        return struct.pack(">I", len(data)) + kind + data + check

    rows = zlib.compressobj()
    row = bytes(side + 1)
    count = min(side, 10_000) * times
    data = b"".join(rows.compress(row * 100) for _ in range(count // 100)) + rows.flush()
    head = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    parts = chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + parts


def zipped(members: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            printable = name.encode("utf-8", "replace").decode()[:300]
            archive.writestr(zipfile.ZipInfo(printable), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def nested(content: bytes, depth: int) -> bytes:
    for _ in range(depth):
        content = zipped({"inner.zip": content, "page.jpg": content})
    return content
