"""Reads lines with the Tesseract program: fair for typed pages, poor for handwriting.

Its English model knows no µ, Ω, · or ×, so a few look-alikes are put right where the neighbouring
characters or the picture leave no doubt.
"""

from __future__ import annotations

import re
import tempfile
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from html import unescape
from pathlib import Path

import cv2
import numpy as np
import pytesseract

from checker.errors import ReaderError
from checker.markup import CHARACTERS, fold
from checker.reading.calibration import AS_IT_IS
from checker.reading.page import Candidate, Token

HEIGHTS = (32, 44, 80)  # pixels
_BORDER = 10
_OPENS = tuple("(0123456789")
_CONFIG = "--psm 7 -c hocr_char_boxes=1 -c tessedit_do_invert=0 -c thresholding_method=0"
_WORD = re.compile(r"x_wconf (\d+)'.*?>(.*?)\n      </span>", re.S)
_CHARACTER = re.compile(r"x_bboxes (\d+) (\d+) (\d+) (\d+); x_conf ([\d.]+)'>(.*?)</span>")
_MISSING = (
    "The Tesseract program is not installed; install the Debian package tesseract-ocr or choose "
    "another reader."
)


@dataclass(frozen=True)
class _Glyph:
    text: str
    box: tuple[int, int, int, int]
    probability: float
    sure: float  # as Tesseract gives it for the character alone


class TesseractReader:
    """A LineReader; raises ReaderError when there is no tesseract program."""

    name = "Tesseract"
    calibration = AS_IT_IS

    def __init__(self) -> None:
        try:
            pytesseract.get_tesseract_version()
        except (pytesseract.TesseractNotFoundError, SystemExit):
            raise ReaderError(_MISSING) from None

    def read(self, lines: Sequence[np.ndarray]) -> list[tuple[Candidate, ...]]:
        """Every line is read at several sizes, because Tesseract's slips change with the size.

        What most sizes agree on comes first; the share that agrees bounds its probability.
        Two processes share the work; starting one for each line would take far longer.
        """
        jobs = [(line, height) for height in HEIGHTS for line in lines]
        half = (len(jobs) + 1) // 2
        parts = [part for part in (jobs[:half], jobs[half:]) if part]
        with ThreadPoolExecutor(2) as pool:
            found = [one for part in pool.map(_read_batch, parts) for one in part]
        count = len(lines)
        return [_voted([found[k + count * at] for at in range(len(HEIGHTS))]) for k in range(count)]


def _voted(found: list[Candidate]) -> tuple[Candidate, ...]:
    """One candidate for each different text, the most agreed and then the surest first."""
    texts = Counter(one.text for one in found)
    best = {
        text: max((one for one in found if one.text == text), key=lambda one: one.probability)
        for text in texts
    }
    order = sorted(texts, key=lambda text: (-texts[text], -best[text].probability))
    return tuple(
        replace(best[text], probability=texts[text] / len(found) * _share(best[text].probability))
        for text in order
    )


def _share(word: float) -> float:
    """Tesseract's own confidence counts only in part: it is low on much that is read right."""
    return 0.0 if word == 0.0 else 0.6 + 0.35 * word


def _read_batch(jobs: Sequence[tuple[np.ndarray, int]]) -> list[Candidate]:
    """Read line images scaled to given heights in one run of the program."""
    with tempfile.TemporaryDirectory(prefix="checker") as folder:
        paths = [Path(folder) / f"{k}.png" for k in range(len(jobs))]
        scaled = [_scaled(line, height) for line, height in jobs]
        for path, line in zip(paths, scaled, strict=True):
            cv2.imwrite(str(path), line)
        listing = Path(folder) / "lines.txt"
        listing.write_text("".join(f"{path}\n" for path in paths))
        try:
            found = pytesseract.image_to_pdf_or_hocr(
                str(listing), lang="eng", extension="hocr", config=_CONFIG
            )
        except pytesseract.TesseractNotFoundError:
            raise ReaderError(_MISSING) from None
        except (pytesseract.TesseractError, OSError) as error:
            reason = str(error).splitlines()[0][:120] if str(error) else "no reason given"
            raise ReaderError(
                f"Tesseract could not read the lines ({reason}); check its installation."
            ) from None
    pages = str(found, "utf-8", "replace").split("class='ocr_page'")[1:]
    read = [_candidate(page, line) for page, line in zip(pages, scaled, strict=True)]
    return [_unscaled(one, *job) for one, job in zip(read, jobs, strict=True)]


def _scaled(line: np.ndarray, height: int) -> np.ndarray:
    width = max(1, round(line.shape[1] * height / line.shape[0]))
    how = cv2.INTER_AREA if height < line.shape[0] else cv2.INTER_CUBIC
    small = cv2.resize(line, (width, height), interpolation=how)
    b = _BORDER
    return cv2.copyMakeBorder(small, b, b, b, b, cv2.BORDER_CONSTANT, value=255)


def _unscaled(candidate: Candidate, line: np.ndarray, height: int) -> Candidate:
    ratio = line.shape[0] / height
    tokens = []
    for token in candidate.tokens:
        left, top, right, bottom = ((side - _BORDER) * ratio for side in token.box)
        tokens.append(replace(token, box=(left, top, right, bottom)))
    return replace(candidate, tokens=tuple(tokens))


def _candidate(hocr: str, line: np.ndarray) -> Candidate:
    words: list[list[_Glyph]] = []
    sure = [1.0]
    for confidence, body in _WORD.findall(hocr):
        word = int(confidence) / 100
        glyphs = []
        for x0, y0, x1, y1, character_confidence, text in _CHARACTER.findall(body):
            box = (int(x0), int(y0), int(x1), int(y1))
            sure_of = float(character_confidence) / 100
            glyphs.append(_Glyph(unescape(text), box, min(word, sure_of), sure_of))
        if glyphs:
            words.append(_once(glyphs))
            sure.append(word)
    if not words or line.min() > 170:  # it reads letters into bare paper
        return Candidate("", 0.0)
    tokens = _tokens(words, line)
    return Candidate("".join(token.text for token in tokens), min(sure), tuple(tokens))


def _once(glyphs: list[_Glyph]) -> list[_Glyph]:
    """Drop the less certain of two characters that Tesseract saw in one place.

    It also gives collapsed boxes to characters it could not place; those are kept.
    """
    kept: list[_Glyph] = []
    for glyph in glyphs:
        if kept and _same_place(kept[-1], glyph) and min(kept[-1].sure, glyph.sure) < 0.94:
            kept[-1] = max(kept[-1], glyph, key=lambda one: one.sure)
        else:
            kept.append(glyph)
    return kept


def _same_place(one: _Glyph, two: _Glyph) -> bool:
    narrow = min(one.box[2] - one.box[0], two.box[2] - two.box[0])
    shared = min(one.box[2], two.box[2]) - max(one.box[0], two.box[0])
    return narrow > 3 and shared > 0.45 * narrow


def _tokens(words: list[list[_Glyph]], line: np.ndarray) -> list[Token]:
    """Characters of the markup, with look-alikes put right and the spaces the markup wants."""
    glyphs = [glyph for word in words for glyph in word]
    starts = np.cumsum([0] + [len(word) for word in words[:-1]])
    text = "".join(_one(glyph.text) for glyph in glyphs)
    text = _put_right(text, set(starts.tolist()), [_Look.at(line, g.box) for g in glyphs])
    tokens = []
    for k, (glyph, character) in enumerate(zip(glyphs, text, strict=True)):
        if k and k in starts and _wants_space(text, k, starts):
            gap = (glyphs[k - 1].box[2], glyph.box[1], glyph.box[0], glyph.box[3])
            tokens.append(Token(" ", gap, glyph.probability))
        if character in CHARACTERS:
            box = tuple(float(side) for side in glyph.box)
            tokens.append(Token(character, box, glyph.probability))  # type: ignore[arg-type]
    return tokens


def _one(text: str) -> str:
    """Exactly one character for one box; "?" stands for what the markup does not have."""
    folded = fold(text.translate({0xAB: "(", 0xBB: ")", 0x7E: "-", 0xB0: "'", 0x2022: "·"}))
    return folded if len(folded) == 1 else "?"


@dataclass(frozen=True)
class _Look:
    """What the picture of one character shows: separate parts, enclosed holes, width to height."""

    parts: int
    holes: int
    aspect: float

    @classmethod
    def at(cls, line: np.ndarray, box: tuple[int, int, int, int]) -> _Look:
        left, top, right, bottom = (max(0, side) for side in box)
        ink = (line[top:bottom, left:right] < 140).astype(np.uint8)
        if not ink.any():
            return cls(0, 0, 1.0)
        parts = cv2.connectedComponents(ink)[0] - 1
        around = cv2.copyMakeBorder(1 - ink, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=1)
        holes = cv2.connectedComponents(around, connectivity=4)[0] - 2
        rows, columns = np.flatnonzero(ink.any(axis=1)), np.flatnonzero(ink.any(axis=0))
        aspect = (np.ptp(columns) + 1) / (np.ptp(rows) + 1)
        return cls(parts, holes, float(aspect))


def _put_right(text: str, starts: set[int], looks: list[_Look]) -> str:
    """Look-alikes of the characters Tesseract does not know, by their neighbours and look."""
    out = list(text)
    for k, character in enumerate(text):
        before = text[k - 1] if k else ""
        after = text[k + 1] if k + 1 < len(text) else ""
        ends = k + 2 >= len(text) or k + 2 in starts or not text[k + 2].isalnum()
        in_unit = (before.isdigit() or k in starts or before == "/") and after in tuple("FCVAJsH")
        if in_unit and ends and (character in "uUy" or (character == "p" and not looks[k].holes)):
            out[k] = "µ"
        elif character in "lI" and before in tuple("CQVRUI") and not after.isalpha():
            out[k] = "1"
        elif character in "O0Q" and before in tuple("kM"):
            out[k] = "Ω"
        elif character in "xX" and k in starts and (k + 1 in starts or after in _OPENS):
            out[k] = "×"
        elif character in ":*-" and looks[k].parts == 1 and looks[k].aspect < 1.6:
            out[k] = "·"
    return "".join(out)


def _wants_space(text: str, k: int, starts: np.ndarray) -> bool:
    """The markup has a space only between words (two letters or more) and what is no operator."""
    if not text[k].isalnum() or not (text[k - 1].isalnum() or text[k - 1] in ".,;:"):
        return False
    ends = [*starts[1:].tolist(), len(text)]
    spans = {int(a): text[a:b] for a, b in zip(starts.tolist(), ends, strict=True)}
    after = spans[k]
    before = next(span for a, span in spans.items() if a + len(span) == k)
    word = re.compile(r"[A-Za-z]{2,}[.,:;]?")
    unit = re.compile(r"[µnpmkM]?[FCVJAWΩ]")
    return any(bool(word.fullmatch(s)) and not unit.fullmatch(s) for s in (before, after))
