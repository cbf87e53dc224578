import numpy as np

from checker.reading.columns import gutter, is_edge_below, is_edge_between, reading_order


def column(left: float, count: int, top: float = 100, step: float = 100) -> list[list[float]]:
    return [[left, top + step * k, left + 400, top + step * k + 50] for k in range(count)]


ONE = np.array(column(100, 6))
TWO = np.array(column(100, 6) + column(700, 5, top=130, step=110))


def test_gutter_is_the_empty_strip_between_two_columns() -> None:
    assert gutter(TWO) == (500, 700)
    assert gutter(ONE) is None
    assert gutter(np.zeros((0, 4))) is None


def test_lines_one_above_the_other_are_no_columns() -> None:
    assert gutter(np.array(column(100, 4) + column(700, 4, top=700))) is None


def test_one_column_is_read_after_the_other() -> None:
    shuffled = np.random.default_rng(1).permutation(len(TWO))
    order = reading_order(TWO[shuffled])
    assert [int(shuffled[k]) for k in order] == list(range(len(TWO)))


def test_results_level_with_their_lines_are_no_column() -> None:
    rows = np.array(column(100, 4) + column(700, 4))
    order = reading_order(rows)
    assert [k % 4 for k in order] == [0, 0, 1, 1, 2, 2, 3, 3]


def test_an_edge_of_paper_is_told_from_rules_and_from_uneven_light() -> None:
    ramp = np.linspace(150, 220, 1200)[None].repeat(900, 0)
    strip = gutter(TWO)
    assert strip is not None
    ruled = ramp.copy()
    ruled[:, ::40] -= 60
    ruled[::40] -= 60
    gap, step = ramp.copy(), ramp.copy()
    for y in range(900):  # slanting a little
        x = 600 + y // 30
        gap[y, x : x + 16] = 70
        step[y, x:] *= 0.8
    pages = [page.astype(np.uint8) for page in (ramp, ruled, gap, step)]
    assert [is_edge_between(page, TWO, strip) for page in pages] == [False, False, True, True]


def test_the_lower_edge_of_a_sheet_is_told_from_a_soft_shadow() -> None:
    page = np.full((900, 1200), 200.0)
    fall = np.clip((np.arange(900) - 370) / 60, 0, 1)[:, None]  # over 60 pixels, to half as bright
    edge = np.arange(900)[:, None] > 375
    assert not is_edge_below(page.astype(np.uint8), ONE)
    assert not is_edge_below((page * (1 - 0.5 * fall)).astype(np.uint8), ONE)
    assert is_edge_below((page * (1 - 0.3 * edge)).astype(np.uint8), ONE)
