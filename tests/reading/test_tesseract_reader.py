import numpy as np
import pytesseract
import pytest
from PIL import Image, ImageDraw, ImageFont

from checker.errors import ReaderError
from checker.reading.tesseract_reader import TesseractReader
from tests.reading.rendered import FONT


def line(text: str) -> np.ndarray:
    image = Image.new("L", (60 + 34 * len(text), 96), 255)
    ImageDraw.Draw(image).text(
        (20, 48), text, font=ImageFont.truetype(FONT, 50), fill=40, anchor="lm"
    )
    return np.array(image)


@pytest.mark.parametrize(
    ("text", "markup"),
    [
        ("1/C12 = 1/4 + 1/12", "1/C12=1/4+1/12"),
        ("C12 = (4 × 12)/(4 + 12) = 3 µF", "C12=(4×12)/(4+12)=3µF"),
        ("Q3 = 5 µF × 24 V = 120 µC", "Q3=5µF×24V=120µC"),
        ("C4 = 47 pF", "C4=47pF"),
        ("Equivalent capacitance", "Equivalent capacitance"),
    ],
)
def test_typed_lines(text: str, markup: str) -> None:
    ((best, *_),) = TesseractReader().read([line(text)])
    assert best.text == markup


def test_candidates_tokens_and_boxes() -> None:
    images = [line("V2 = 72/12 = 6 V"), line("Q = 37.3 µC"), np.full((96, 300), 255, np.uint8)]
    read = TesseractReader().read(images)
    assert len(read) == 3
    for candidates in read[:2]:
        assert sum(one.probability for one in candidates) <= 1
        best = candidates[0]
        assert "".join(token.text for token in best.tokens) == best.text
        lefts = [token.box[0] for token in best.tokens]
        assert lefts == sorted(lefts) and 10 < lefts[0] < 40
        assert all(10 < token.box[1] < token.box[3] < 90 for token in best.tokens)
    assert read[2][0].text == "" and read[2][0].probability == 0
    assert TesseractReader().read([]) == []


def test_missing_program_names_the_package(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pytesseract.pytesseract, "tesseract_cmd", "no-such-program")
    with pytest.raises(ReaderError, match="Debian package tesseract-ocr") as error:
        TesseractReader()
    assert str(error.value).endswith(".")
