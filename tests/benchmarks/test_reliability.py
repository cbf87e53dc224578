from pathlib import Path

import pytest

from checker.benchmarks.reliability import bins, draw

STATED = [(0.05, False), (0.55, True), (0.58, False), (0.97, True), (1.0, True)]


def test_every_line_is_in_one_bin() -> None:
    found = bins(STATED)
    assert sum(one.count for one in found) == len(STATED)
    half = next(one for one in found if one.low == 0.5)
    assert (half.count, half.right, half.rate) == (2, 1, 0.5)
    assert half.stated == pytest.approx(0.565)


@pytest.mark.parametrize("name", ["diagram.svg", "diagram.png"])
def test_diagram_is_a_picture_with_the_counts(tmp_path: Path, name: str) -> None:
    pytest.importorskip("matplotlib", reason="matplotlib is in the test extra")
    draw({"pen": STATED, "font": STATED[:2]}, tmp_path / name)
    start = (tmp_path / name).read_bytes()[:200]
    assert b"<svg" in start or b"<?xml" in start or start.startswith(b"\x89PNG")
