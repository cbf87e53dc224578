"""Rulings, holes and outlines of sheets."""

from dataclasses import replace

import numpy as np
import pytest

from checker.training.paper import (
    RULINGS,
    Ruling,
    choose_paper,
    choose_ruling,
    desk,
    fibre,
    holes,
    outline,
    ruling_marks,
)


def test_rulings_have_their_pitch() -> None:
    ruling = Ruling("ruled", pitch=8.0, phase=(0.0, 3.0))
    (lines,) = ruling_marks(ruling, (0, 0, 50, 40))
    assert [path[0, 1] for path in lines.paths] == pytest.approx([3, 11, 19, 27, 35])
    assert all(path[0, 0] == 0 and path[-1, 0] == 50 for path in lines.paths)


def test_a_grid_has_both_ways_and_dots_sit_on_its_crossings() -> None:
    window = (0.0, 0.0, 20.0, 10.0)
    level, upright = ruling_marks(Ruling("grid", 5.0, (1.0, 2.0)), window)
    (dots,) = ruling_marks(Ruling("dotted", 5.0, (1.0, 2.0)), window)
    xs = {path[0, 0] for path in upright.paths}
    ys = {path[0, 1] for path in level.paths}
    assert {tuple(dot[0]) for dot in dots.paths} == {(x, y) for x in xs for y in ys}
    assert xs == {1.0, 6.0, 11.0, 16.0} and ys == {2.0, 7.0}


def test_blank_paper_has_no_ruling_and_a_margin_is_one_line() -> None:
    assert ruling_marks(Ruling("blank"), (0, 0, 210, 297)) == ()
    with_margin = Ruling("ruled", margin=25.0)
    assert len(ruling_marks(with_margin, (0, 0, 210, 297))) == 2
    assert len(ruling_marks(with_margin, (40, 0, 210, 297))) == 1


def test_chosen_rulings_are_of_the_kind_asked_for() -> None:
    rng = np.random.default_rng(0)
    for kind in RULINGS:
        assert choose_ruling(kind, rng).kind == kind
    assert {choose_ruling("any", rng).kind for _ in range(60)} == set(RULINGS)
    with pytest.raises(ValueError, match="ruling"):
        choose_ruling("tartan", rng)


def test_punched_holes_follow_iso_838() -> None:
    """ISO 838: two holes 6 mm wide, 80 mm apart, centres 12 mm from the edge, centred."""
    paper = replace(choose_paper(np.random.default_rng(0)), holes="punched")
    first, second = (ring.mean(0) for ring in holes((210.0, 297.0), paper))
    assert first[0] == pytest.approx(12) and second[0] == pytest.approx(12)
    assert second[1] - first[1] == pytest.approx(80)
    assert (first[1] + second[1]) / 2 == pytest.approx(297 / 2)
    assert np.ptp(holes((210.0, 297.0), paper)[0], axis=0) == pytest.approx(6, abs=0.2)


def test_the_outline_is_the_sheet() -> None:
    rng = np.random.default_rng(0)
    plain = replace(choose_paper(rng), holes="none")
    edge = outline((210.0, 297.0), plain, rng)
    following = np.roll(edge, -1, axis=0)
    area = (edge[:, 0] * following[:, 1] - edge[:, 1] * following[:, 0]).sum() / 2
    assert area == pytest.approx(210 * 297)
    torn = outline((210.0, 297.0), replace(plain, holes="spiral"), rng)
    assert torn.min() >= 0 and len(torn) > len(edge)


def test_desks_and_fibre() -> None:
    rng = np.random.default_rng(0)
    for _ in range(12):
        table = desk((90, 130), rng)
        assert table.shape == (90, 130, 3) and table.dtype == np.uint8
    paper = replace(choose_paper(rng), texture=0.01)
    surface = fibre(rng, (200, 300), paper)
    assert surface.mean() == pytest.approx(1, abs=1e-3)
    assert 0.004 < surface.std() < 0.02
