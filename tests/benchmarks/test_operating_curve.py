from __future__ import annotations

from pathlib import Path

from checker.benchmarks.operating_curve import Point, as_table, draw
from checker.matching.rule import COSTS

POINTS = [
    Point(0.02, 6.0, 0.02, 0.05, 0.9, 0.05),
    Point(0.02, COSTS.accuse, 0.0, 0.05, 0.8, 0.1),
    Point(0.04, COSTS.accuse, 0.01, 0.15, 0.6, 0.2),
]


def test_table_has_a_row_for_every_point() -> None:
    rows = as_table(POINTS).split("\n")[1:]
    assert [row.split()[0] for row in rows] == ["2.0", "2.0", "4.0"]
    assert rows[0].split() == ["2.0", "%", "6", "2.0", "%", "5.0", "%", "90.0", "%", "5.0", "%"]


def test_curve_is_drawn(tmp_path: Path) -> None:
    file = tmp_path / "curve.svg"
    draw(POINTS, file)
    assert "<svg" in file.read_text(encoding="utf-8")
