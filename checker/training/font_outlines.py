"""From a font file to the outlines of our characters, in em units (digit height 1, baseline 0).

Glyphs are drawn large by the font rasteriser and traced again: overlapping contours come out
merged, whatever the font format, and the even-odd rule fills them rightly.
"""

from __future__ import annotations

import io
import zlib
from dataclasses import dataclass
from itertools import combinations
from xml.etree import ElementTree

import cv2
import numpy as np
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib import parse_path
from fontTools.ttLib import TTFont
from PIL import Image, ImageDraw, ImageFont

from checker.markup import CHARACTERS
from checker.training import hand_drawn

SIZE = 400  # pixels to the font's em while tracing
MOST_POINTS = 60  # per contour
ALTERNATIVES = {
    "-": "\u2212",  # a written minus is long like the mathematical one, not like a hyphen
    "·": "·⋅∙",
    "Δ": "Δ∆",
    "Ω": "ΩΩ",
    "µ": "µμ",
}
DISTINCT = 0.93  # overlap above which two glyphs count as the same shape
MUST_DIFFER = ("0123456789", "aA", "bB", "dD", "eE", "gG", "hH", "nN", "qQ", "rR", "tT", "µu", "±+")


class UnusableFont(Exception):
    """A font that cannot serve as a hand; the message says why."""


@dataclass(frozen=True)
class Outlines:
    """Paths per character in em units; ``own``: characters that are the font's, not drawn here."""

    paths: dict[str, tuple[np.ndarray, ...]]
    filled: bool
    own: str


@dataclass(frozen=True)
class _Picture:
    """A glyph drawn at SIZE: ink mask, and where its top left corner lies from the origin."""

    ink: np.ndarray
    left: int
    top: int

    @property
    def bottom(self) -> int:
        return self.top + self.ink.shape[0]


def from_files(files: list[bytes], name: str, unwanted: str = "") -> Outlines:
    """Outlines from the files of one family (subsets of it), gaps drawn with its stem width.

    ``unwanted`` characters are treated as missing.
    Raises UnusableFont when letters or digits are missing or mapped to the wrong shapes.
    """
    pictures: dict[str, _Picture] = {}
    for data in files:
        for character, picture in _pictures(data).items():
            if character not in unwanted:
                pictures.setdefault(character, picture)
    missing = [c for c in CHARACTERS if c.isascii() and c.isalnum() and c not in pictures]
    if missing:
        raise UnusableFont(f"no {' '.join(missing)}")
    for group in MUST_DIFFER:
        for a, b in combinations(group, 2):
            if {a, b} <= pictures.keys() and _overlap(pictures[a], pictures[b]) > DISTINCT:
                if a.isascii():
                    raise UnusableFont(f"{a} looks like {b}")
                del pictures[a]
    digit = float(np.median([pictures[c].ink.shape[0] for c in "0123456789"]))
    if "µ" in pictures and pictures["µ"].bottom < 0.12 * digit:  # no descending stem: mis-mapped
        del pictures["µ"]
    pen = _stem(pictures) / digit
    paths = {c: _traced(picture, digit) for c, picture in pictures.items()}
    own = "".join(c for c in CHARACTERS if c in paths)
    plus = paths.get("+")
    if "-" not in own and plus is not None:
        paths["-"] = _minus(plus, pen)
    for character, strokes in _gaps(paths, name).items():
        paths[character] = _inked(strokes, pen)
    return Outlines(paths, True, own)


def _pictures(data: bytes) -> dict[str, _Picture]:
    font = TTFont(io.BytesIO(data))
    cmap = font.getBestCmap() or {}
    font.flavor = None
    plain = io.BytesIO()
    font.save(plain)
    plain.seek(0)
    face = ImageFont.truetype(plain, SIZE)
    found = {}
    for character in CHARACTERS:
        for code in ALTERNATIVES.get(character, character):
            if cmap.get(ord(code), ".notdef") != ".notdef":
                picture = _draw(face, code)
                if picture is not None:
                    found[character] = picture
                    break
    return found


def _draw(face: ImageFont.FreeTypeFont, code: str) -> _Picture | None:
    image = Image.new("L", (4 * SIZE, 4 * SIZE))
    ImageDraw.Draw(image).text((SIZE, 2 * SIZE), code, fill=255, font=face, anchor="ls")
    ink = np.asarray(image) > 127
    rows, columns = np.flatnonzero(ink.any(1)), np.flatnonzero(ink.any(0))
    if not len(rows):
        return None
    cut = ink[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    return _Picture(cut, int(columns[0]) - SIZE, int(rows[0]) - 2 * SIZE)


def _overlap(a: _Picture, b: _Picture) -> float:
    """Intersection over union of two glyphs at their true size, one laid on the other's middle."""
    height = max(a.bottom, b.bottom) - min(a.top, b.top)
    width = max(a.ink.shape[1], b.ink.shape[1])
    sheets = []
    for picture in (a, b):
        sheet = np.zeros((height, width), bool)
        y = picture.top - min(a.top, b.top)
        x = (width - picture.ink.shape[1]) // 2
        sheet[y : y + picture.ink.shape[0], x : x + picture.ink.shape[1]] = picture.ink
        sheets.append(sheet)
    return float((sheets[0] & sheets[1]).sum() / (sheets[0] | sheets[1]).sum())


def _stem(pictures: dict[str, _Picture]) -> float:
    """Pixels across a stroke: twice the usual depth of the ink's ridge in plain letters."""
    depths = []
    for character in "lIi1Tt":
        padded = np.pad(pictures[character].ink, 2).astype(np.uint8)
        depth = cv2.distanceTransform(padded, cv2.DIST_L2, 5)
        ridge = depth >= cv2.dilate(depth, np.ones((3, 3), np.uint8)) - 1e-3
        depths.append(np.median(depth[ridge & (depth > 0.5 * depth.max())]))
    return 2 * float(np.median(depths))


def _traced(picture: _Picture, digit: float) -> tuple[np.ndarray, ...]:
    return tuple(
        ((contour + np.array([0, picture.top])) / digit).astype(np.float32)
        for contour in _contours(picture.ink)
    )


def _contours(ink: np.ndarray) -> list[np.ndarray]:
    """Closed outlines (n, 2) of a mask, specks left out, points thinned."""
    padded = np.pad(ink.astype(np.uint8) * 255, 4)
    smooth = cv2.GaussianBlur(padded, (0, 0), 1.0) > 127
    found, _ = cv2.findContours(
        smooth.astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE, offset=(-4, -4)
    )
    outlines = []
    for contour in found:
        if cv2.contourArea(contour) < 12:
            continue
        tolerance = 0.8
        thin = cv2.approxPolyDP(contour, tolerance, True)
        while len(thin) > MOST_POINTS:
            tolerance *= 1.4
            thin = cv2.approxPolyDP(contour, tolerance, True)
        outlines.append(thin[:, 0].astype(float))
    return outlines


def _minus(plus: tuple[np.ndarray, ...], pen: float) -> tuple[np.ndarray, ...]:
    """A bar as wide as the plus at its middle."""
    points = np.concatenate(plus)
    (left, top), (right, bottom) = points.min(0), points.max(0)
    y = (top + bottom) / 2
    return _inked((np.array([(left, y), ((left + right) / 2, y - 0.01), (right, y)]),), pen)


def _inked(strokes: tuple[np.ndarray, ...], pen: float) -> tuple[np.ndarray, ...]:
    """The outline of pen strokes of the given width, em units."""
    scale = 256
    low = np.concatenate(strokes).min(0) - pen
    size = np.ceil((np.concatenate(strokes).max(0) + pen - low) * scale).astype(int)
    ink = np.zeros((size[1] + 1, size[0] + 1), np.uint8)
    for stroke in strokes:
        dense = np.round((stroke - low) * scale).astype(np.int32)
        cv2.polylines(ink, [dense.reshape(-1, 1, 2)], False, 1, max(1, round(pen * scale)))
        if len(stroke) == 1:
            cv2.circle(ink, tuple(int(v) for v in dense[0]), round(0.6 * pen * scale), 1, -1)
    return tuple((c / scale + low).astype(np.float32) for c in _contours(ink > 0))


_PLAIN: dict[str, tuple[tuple[tuple[float, float], ...], ...]] = {
    "+": (((0, -0.45), (0.5, -0.45)), ((0.25, -0.7), (0.25, -0.2))),
    "-": (((0, -0.45), (0.5, -0.45)),),
    "=": (((0, -0.54), (0.5, -0.54)), ((0, -0.36), (0.5, -0.36))),
    "/": (((0.5, -1.05), (0, 0.15)),),
    "|": (((0, -1.1), (0, 0.2)),),
    "(": (((0.25, -1.1), (0.07, -0.8), (0, -0.45), (0.07, -0.1), (0.25, 0.2)),),
    ")": (((0, -1.1), (0.18, -0.8), (0.25, -0.45), (0.18, -0.1), (0, 0.2)),),
    "[": (((0.22, -1.1), (0, -1.1), (0, 0.2), (0.22, 0.2)),),
    "]": (((0, -1.1), (0.22, -1.1), (0.22, 0.2), (0, 0.2)),),
    ".": (((0, 0.0),),),
    ",": (((0.05, -0.05), (0.06, 0.04), (0, 0.17)),),
    "'": (((0, -1.05), (0, -0.78)),),
    ":": (((0, -0.02),), ((0, -0.5),)),
    ";": (((0.05, -0.5),), ((0.05, -0.05), (0.06, 0.04), (0, 0.17))),
    "*": (
        ((0.2, -0.85), (0.2, -0.45)),
        ((0.03, -0.75), (0.37, -0.55)),
        ((0.37, -0.75), (0.03, -0.55)),
    ),
    "!": (((0, -1.05), (0, -0.3)), ((0, -0.02),)),
    "?": (
        (
            (0, -0.85), (0.12, -1.03), (0.33, -1.03), (0.42, -0.85), (0.35, -0.65), (0.2, -0.5),
            (0.19, -0.3),
        ),
        ((0.19, -0.02),),
    ),
    "%": (
        ((0.7, -1), (0.05, 0)),
        ((0.16, -1), (0.02, -0.9), (0.02, -0.72), (0.16, -0.62), (0.3, -0.75), (0.3, -0.9),
         (0.16, -1)),
        ((0.6, -0.4), (0.46, -0.3), (0.46, -0.1), (0.6, 0), (0.74, -0.12), (0.74, -0.3),
         (0.6, -0.4)),
    ),
}  # fmt: skip


def _gaps(paths: dict[str, tuple[np.ndarray, ...]], name: str) -> dict[str, hand_drawn.Paths]:
    """Strokes for every character the font lacks; the same for one name every time."""
    rng = np.random.default_rng(zlib.crc32(name.encode()))
    style = rng.random()
    drawn: dict[str, hand_drawn.Paths] = {}
    for character in CHARACTERS:
        if character in paths:
            continue
        if character in hand_drawn.SYMBOLS:
            drawn[character] = hand_drawn.symbol(character, rng, style)
        else:
            drawn[character] = tuple(
                hand_drawn.wobble(np.array(stroke), rng, 0.01) for stroke in _PLAIN[character]
            )
    return drawn


# --- single-stroke fonts -------------------------------------------------------------------------


def from_stroke_font(svg: bytes, name: str) -> Outlines:
    """Pen strokes of a single-stroke font in SVG."""
    found: dict[str, list[np.ndarray]] = {}
    wanted = {code: c for c in CHARACTERS for code in ALTERNATIVES.get(c, c)}
    for glyph in ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}glyph"):
        character = wanted.get(glyph.get("unicode", ""))
        strokes = _strokes(glyph.get("d", ""))
        if character and strokes:
            found.setdefault(character, strokes)
    missing = [c for c in CHARACTERS if c.isascii() and c.isalnum() and c not in found]
    if missing:
        raise UnusableFont(f"no {' '.join(missing)}")
    digit = float(np.median([np.ptp(np.concatenate(found[c])[:, 1]) for c in "0123456789"]))
    paths = {
        c: tuple((s / digit).astype(np.float32) for s in strokes) for c, strokes in found.items()
    }
    own = "".join(c for c in CHARACTERS if c in paths)
    return Outlines(paths | _gaps(paths, name), False, own)


def _strokes(d: str) -> list[np.ndarray]:
    """Polylines of an SVG path of moves, lines and cubic curves, y turned down."""
    pen = RecordingPen()
    parse_path(d, pen)
    strokes: list[list[tuple[float, float]]] = []
    for operation, points in pen.value:
        if operation == "moveTo":
            strokes.append([points[0]])
        elif operation == "lineTo":
            strokes[-1].append(points[0])
        elif operation == "curveTo":
            corners = np.array([strokes[-1][-1], *points], float)
            t = np.linspace(0, 1, 7)[1:, None]
            weights = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3
            curve = sum(w * corner for w, corner in zip(weights, corners, strict=True))
            strokes[-1] += [(x, y) for x, y in curve]
    return [np.array(stroke) * [1, -1] for stroke in strokes]
