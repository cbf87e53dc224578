from pathlib import Path

import pytest

from checker.errors import PageError
from checker.reading.typed import read_typed


def test_lines_keep_their_numbers(tmp_path: Path) -> None:
    path = tmp_path / "work.txt"
    path.write_bytes("\ufeff1/C12 = 1/4 + 1/12\r\n\r\n  C12 = 3 µF  \n".encode())
    reading = read_typed(path, page=2)
    found = [(line.line, line.page, line.candidates[0].text) for line in reading.lines]
    assert found == [(0, 2, "1/C12 = 1/4 + 1/12"), (2, 2, "C12 = 3 µF")]
    assert reading.remarks == ()
    assert all(line.polygon is None and line.role == "working" for line in reading.lines)
    assert all(line.candidates[0].probability == 1.0 for line in reading.lines)


def test_bytes_are_read_too() -> None:
    assert read_typed("Q = 72 µC".encode()).lines[0].candidates[0].text == "Q = 72 µC"


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"V = 6 V\nQ = 3 \xb5C\n", r"not UTF-8 text \(line 2\)"),
        (b"V\0 = 6", "not a text file"),
        (b"x = 1\n" * 40_000, "larger than 200 kB"),
    ],
)
def test_bad_files(data: bytes, says: str) -> None:
    with pytest.raises(PageError, match=says):
        read_typed(data)


def test_empty_pages() -> None:
    reading = read_typed(b"\n  \n")
    assert reading.lines == () and "no line" in reading.remarks[0]


def test_missing_file(tmp_path: Path) -> None:
    with pytest.raises(PageError, match="no file"):
        read_typed(tmp_path / "nothing.txt")
