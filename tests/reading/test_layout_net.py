import cv2
import numpy as np
import pytest

from checker.reading.bands import CORE, DOWN, DRAWING, PAPER, SPAN, STRIDE, UP
from checker.reading.bands import decode as decode_on
from checker.reading.frame import Frame
from checker.reading.layout_net import TrainedFinder, at_writing_scale, glyph_height, wider
from checker.reading.shape import LineShape, polygon
from tests.reading.rendered import PAGE, overlap, ruled, typed_page


def maps(lines: list[tuple[list[tuple[float, float]], float, float]]) -> np.ndarray:
    """What a perfect network would give for lines (centre, up, down) in pixels of its input."""
    out = np.zeros((5, 320, 240), np.float32)
    for centre, up, down in lines:
        band = np.zeros(out.shape[1:], np.uint8)
        points = np.array(centre) / STRIDE
        thick = max(1, round(0.3 * (up + down) / STRIDE))
        cv2.polylines(band, [points.round().astype(np.int32)], False, 1, thick)
        out[CORE][band > 0] = 0.95
        out[UP][band > 0] = up / SPAN
        out[DOWN][band > 0] = down / SPAN
    return out


def decode(maps: np.ndarray) -> list[LineShape]:
    """As if all of the ink were equally dark."""
    height, width = maps.shape[1:]
    return decode_on(maps, np.zeros((STRIDE * height, STRIDE * width), np.uint8))


def strip(centre: list[tuple[float, float]], up: float, down: float) -> np.ndarray:
    (x0, y0), (x1, y1) = centre[0], centre[-1]
    return np.array([[x0, y0 - up], [x1, y1 - up], [x1, y1 + down], [x0, y1 + down]])


def test_crowded_lines_come_out_apart_and_in_order() -> None:
    lines = [([(100, 200 + 32 * k), (700, 190 + 32 * k)], 14.0, 15.0) for k in range(8)]
    found = decode(maps(lines))
    assert len(found) == 8
    for shape, line in zip(found, lines, strict=True):
        assert overlap(np.array(polygon(shape)), strip(*line)) > 0.75
        assert shape.role == "working" and shape.probability == pytest.approx(0.95)


def test_curl_is_followed() -> None:
    x = np.linspace(80, 880, 30)
    y = 600 + 40 * np.sin((x - 80) / 800 * np.pi)
    (shape,) = decode(maps([(list(zip(x, y, strict=True)), 20.0, 24.0)]))
    assert np.abs(np.interp(x[2:-2], *shape.centre.T) - y[2:-2]).max() < 4
    assert shape.up[0] == pytest.approx(20) and shape.down[0] == pytest.approx(24)


def test_broken_band_is_one_line() -> None:
    broken = maps([([(100, 300), (300, 302)], 20, 20), ([(330, 302), (500, 304)], 20, 20)])
    assert len(decode(broken)) == 1


def test_a_line_goes_on_where_it_is_less_certain() -> None:
    line = ([(100, 300), (500, 302)], 20.0, 20.0)
    seen = maps([line, ([(100, 600), (500, 602)], 20.0, 20.0)])
    seen[CORE, :, 50:65] *= 0.4  # in the middle of a line
    seen[CORE, :, 100:] *= 0.4  # one end of a line
    seen[CORE, :, 110:] *= 0.2
    seen[CORE, 140:] *= 0.5  # nowhere certain
    (shape,) = decode(seen)
    assert overlap(np.array(polygon(shape)), strip([(100, 300), (440, 302)], 20, 20)) > 0.75
    assert shape.centre[-1, 0] > 420


def test_tall_lines_of_two_columns_close_beside_each_other_stay_two() -> None:
    left = [([(100, 204 + 120 * k), (300, 204 + 120 * k)], 40.0, 40.0) for k in range(5)]
    beside = [([(350, 170 + 84 * k), (550, 170 + 84 * k)], 30.0, 30.0) for k in range(7)]
    assert len(decode(maps(left + beside))) == 12


def test_cells_of_a_row_are_one_line_but_columns_stay_two() -> None:
    left = [([(100, 200 + 90 * k), (300, 202 + 90 * k)], 20.0, 20.0) for k in range(5)]
    row = [([(480, 204 + 90 * k), (700, 206 + 90 * k)], 20.0, 20.0) for k in range(5)]
    beside = [([(480, 170 + 70 * k), (700, 172 + 70 * k)], 20.0, 20.0) for k in range(6)]
    assert len(decode(maps(left + row))) == 5
    assert len(decode(maps(left + beside))) == 11


def test_a_denominator_found_apart_makes_its_line_taller() -> None:
    whole = ([(100, 400), (700, 400)], 30.0, 30.0)
    nested = ([(300, 432), (460, 432)], 14.0, 14.0)
    (shape,) = decode(np.maximum(maps([whole]), maps([nested])))
    assert shape.up[0] == pytest.approx(30, abs=2) and shape.down[0] == pytest.approx(46, abs=3)


def test_what_shows_through_from_the_back_is_no_line() -> None:
    lines = [([(100, 200 + 100 * k), (600, 200 + 100 * k)], 20.0, 20.0) for k in range(4)]
    flat = np.full((1280, 960), 255, np.uint8)
    for (_, (_, y)), *_ in lines:
        flat[y - 10 : y + 10 : 6, 100:600] = 225 if y == 400 else 60
    found = decode_on(maps(lines), flat)
    assert [round(float(shape.centre[0, 1]), -1) for shape in found] == [200, 300, 500]


def test_labels_of_a_drawing_are_part_of_it() -> None:
    found = maps([([(100, 900), (600, 900)], 20, 20), ([(580, 300), (640, 300)], 20, 20)])
    found[DRAWING, 40:100, 50:150] = 0.9
    assert [shape.role for shape in decode(found)] == ["aside", "working"]


def test_drawing_is_aside() -> None:
    found = maps([([(100, 900), (600, 900)], 20, 20)])
    found[DRAWING, 40:100, 50:150] = 0.9
    shapes = decode(found)
    assert [shape.role for shape in shapes] == ["aside", "working"]
    truth = np.array([[200, 160], [600, 160], [600, 400], [200, 400]])
    assert overlap(np.array(polygon(shapes[0])), truth) > 0.95


def test_empty_maps() -> None:
    assert decode(np.zeros((5, 64, 64), np.float32)) == []


def test_numerator_found_apart_is_part_of_its_line() -> None:
    whole = ([(100, 400), (700, 400)], 60.0, 60.0)
    numerator = ([(300, 368), (460, 368)], 14.0, 14.0)
    shapes = decode(np.maximum(maps([whole]), maps([numerator])))
    assert len(shapes) == 1
    assert overlap(np.array(polygon(shapes[0])), strip(*whole)) > 0.75


def digits(tall: int) -> tuple[np.ndarray, list[LineShape]]:
    """A white page with one line of upright blocks ``tall`` pixels high, and its shape."""
    flat = np.full((1280, 960), 255, np.uint8)
    for k in range(6):
        x = 200 + k * tall
        flat[400 : 400 + tall, x : x + tall // 2] = 30
        flat[400 + tall - 2 : 400 + tall, x + tall * 3 // 4 : x + tall * 3 // 4 + 2] = 30  # a point
    centre = np.array([[190.0, 400 + tall / 2], [200.0 + 6 * tall, 400 + tall / 2]])
    return flat, [LineShape(centre, np.full(2, tall * 0.7), np.full(2, tall * 0.7), 1.0)]


@pytest.mark.parametrize("tall", [7, 8, 60])
def test_small_and_large_writing_is_brought_to_the_usual_size(tall: int) -> None:
    flat, shapes = digits(tall)
    frame = Frame(np.eye(3), 960, 1280)
    assert glyph_height(flat, shapes) == pytest.approx(tall, abs=1)
    closer = at_writing_scale(frame, shapes, flat)
    assert closer is not None
    one, two = closer.carry(np.array([[0.0, 0.0], [0.0, 19.0]]))
    assert np.linalg.norm(two - one) == pytest.approx(tall, rel=0.1)
    corners = closer.carry(np.array([[0.0, 0.0], [closer.width, closer.height]]))
    assert (corners[0] <= [190, 400]).all() and (corners[1] >= [200 + 6 * tall, 400 + tall]).all()


def test_writing_of_usual_size_needs_no_second_look() -> None:
    flat, shapes = digits(20)
    assert at_writing_scale(Frame(np.eye(3), 960, 1280), shapes, flat) is None


def test_writing_so_large_that_it_seems_a_drawing_is_looked_at_from_afar() -> None:
    flat = np.full((1280, 960), 255, np.uint8)
    all_of_it = np.array([[10.0, 600.0], [900.0, 600.0]])
    drawing = LineShape(all_of_it, np.full(2, 500.0), np.full(2, 500.0), 0.9, "aside")
    far = at_writing_scale(Frame(np.eye(3), 960, 1280), [drawing], flat)
    assert far is not None and (far.width, far.height) == (480, 640)


def test_no_letters_no_second_look() -> None:
    flat = np.full((1280, 960), 255, np.uint8)
    _, shapes = digits(20)
    assert at_writing_scale(Frame(np.eye(3), 960, 1280), shapes, flat) is None


def test_pale_strokes_in_pieces_are_no_small_writing() -> None:
    flat, shapes = digits(20)
    flat[::7] = 255  # nothing is left that is as high as a quarter of the line
    assert glyph_height(flat, shapes) is None


def test_rows_that_rise_across_level_rules_are_found_whole() -> None:
    """Rules, or what is taken for the sheet's edge, may run otherwise than what is written."""
    rows = (f"C{k}          {k} µF          {k * 24} µC" for k in range(1, 7))
    page = typed_page(["Q = CV with V = 24 V throughout", *rows])
    turned = cv2.getRotationMatrix2D((700, 600), 7, 1)
    tilted = cv2.warpAffine(page.image, turned, PAGE, borderValue=255)
    ruled_page = ruled(tilted, "ruled", 60, 90)
    colour = cv2.cvtColor(ruled_page, cv2.COLOR_GRAY2RGB)
    corners = np.array([[0, 0], [PAGE[0], 0], PAGE, [0, PAGE[1]]], float)
    layout = TrainedFinder(threads=1).find(colour, ruled_page, corners, as_given=True)
    found = [np.array(polygon(shape)) for shape in layout.shapes if shape.role == "working"]
    for left, top, right, bottom in page.boxes:
        box = np.array([[left, top], [right, top], [right, bottom], [left, bottom]], float)
        box = cv2.transform(box[:, None], turned)[:, 0]
        assert max(overlap(box, one) for one in found) > 0.5


class Seeing(TrainedFinder):
    """A finder whose network sees the given maps, one after the other."""

    def __init__(self, *seen: np.ndarray) -> None:
        super().__init__(threads=1)
        self.seen = list(seen)

    def _run(self, small: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return self.seen.pop(0), np.array([9.0, 0.0, 0.0, 0.0])


def test_a_closer_look_that_shows_less_does_not_count() -> None:
    """Enlarged far beyond the photo's own pixels, small writing is no longer seen as such."""
    flat = np.full((1280, 960), 255, np.uint8)
    lines = [([(100, 204 + 40 * k), (400, 204 + 40 * k)], 6.0, 6.0) for k in range(3)]
    for k in range(3):
        for x in range(100, 400, 10):
            flat[200 + 40 * k : 208 + 40 * k, x : x + 4] = 30
    corners = np.array([[0, 0], [960, 0], [960, 1280], [0, 1280]], float)
    finder = Seeing(maps(lines), maps([]))
    found = finder.find(cv2.cvtColor(flat, cv2.COLOR_GRAY2RGB), flat, corners)
    assert not finder.seen and len(found.shapes) == 3


def test_writing_beside_a_sheet_shows_that_a_shadow_was_taken_for_its_edge() -> None:
    lines = [([(40, 104 + 60 * k), (300, 104 + 60 * k)], 12.0, 12.0) for k in range(6)]
    seen = maps(lines)
    seen[PAPER] = 1.0
    photo = np.full((1280, 960, 3), 200, np.uint8)  # of which the network sees a quarter
    whole = np.array([[40, 60], [900, 60], [900, 1200], [40, 1200]], float)
    cut = np.array([[40, 60], [900, 60], [900, 500], [40, 560]], float)
    assert not Seeing(seen.copy()).writing_beyond(photo, whole)
    assert Seeing(seen.copy()).writing_beyond(photo, cut)
    seen[PAPER, 60:] = 0.0  # what lies there is no paper
    assert not Seeing(seen.copy()).writing_beyond(photo, cut)


def at_left(x: float, count: int) -> list[LineShape]:
    centres = [np.array([[x, 100.0 + 50 * k], [400.0, 100 + 50 * k]]) for k in range(count)]
    return [LineShape(centre, np.full(2, 15.0), np.full(2, 15.0), 1.0) for centre in centres]


def test_a_frame_that_cuts_through_the_lines_is_made_wider() -> None:
    frame = Frame(np.array([[1.0, 0, 300], [0, 1.0, 0], [0, 0, 1]]), 800, 1200)
    wide = wider(frame, at_left(10.0, 5), (1500, 1300), 0.5)
    assert wide is not None and wide.height == 1200 and wide.width > 900
    assert 150 < wide.carry(np.array([[0.0, 0.0]]))[0, 0] < 200
    assert wider(frame, at_left(60.0, 5), (1500, 1300), 0.5) is None  # a margin is left
    assert wider(frame, at_left(10.0, 2), (1500, 1300), 0.5) is None  # too few to tell
    slanted = at_left(10.0, 2) + at_left(60.0, 6)[2:]  # a cut that is not level: few lines touch it
    assert wider(frame, slanted, (1500, 1300), 0.5) is None
    assert wider(frame, slanted, (1500, 1300), 0.1) is not None
    whole = Frame(np.eye(3), 800, 1200)
    assert wider(whole, at_left(10.0, 5), (800, 1200), 0.5) is None  # the photo ends there
