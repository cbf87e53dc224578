import cv2
import numpy as np

from checker.reading.sheet import find_sheet
from tests.reading.rendered import CORNERS, SIZE, photographed, ruled, typed_page


def test_sheet_on_a_desk_is_found() -> None:
    for kind in ("blank", "grid"):
        page = typed_page().image if kind == "blank" else ruled(typed_page().image, kind)
        photo, _ = photographed(page)
        sheet = find_sheet(photo)
        assert sheet.found and not sheet.several
        assert np.abs(sheet.corners - CORNERS).max() < 0.012 * max(SIZE)


def test_sheet_that_leaves_the_photo_keeps_its_perspective() -> None:
    corners = np.array([[200, -150], [1600, -80], [1720, 2700], [60, 2650]], np.float32)
    photo, _ = photographed(typed_page().image, corners)
    sheet = find_sheet(photo)
    assert sheet.found
    left = sheet.corners[0] - sheet.corners[3]
    assert abs(np.degrees(np.arctan2(left[0], -left[1])) - np.degrees(np.arctan2(140, 2800))) < 1


def test_scan_is_the_whole_picture() -> None:
    scan = cv2.cvtColor(typed_page().image, cv2.COLOR_GRAY2RGB)
    sheet = find_sheet(scan)
    assert not sheet.found
    assert sheet.corners.tolist() == [[0, 0], [1400, 0], [1400, 1980], [0, 1980]]


def test_shadow_across_a_full_frame_is_no_sheet_edge() -> None:
    page = cv2.cvtColor(typed_page().image, cv2.COLOR_GRAY2RGB).astype(float)
    page[900:] *= 0.45
    page[:, :500] *= 0.6
    sheet = find_sheet(cv2.GaussianBlur(page, (0, 0), 6).astype(np.uint8))
    assert not sheet.found


def test_two_sheets_are_named() -> None:
    left, _ = photographed(typed_page().image)
    both = np.concatenate([left, left[:, ::-1]], axis=1)
    sheet = find_sheet(both)
    assert not sheet.found
    assert sheet.several


def test_a_sheet_with_a_corner_of_another_makes_no_slanting_page() -> None:
    photo, _ = photographed(typed_page().image)
    paper = photo[1200, 900].tolist()
    height, width = photo.shape[:2]
    corner = np.array([[0, 0], [width // 2, 0], [width, height // 3], [0, height // 2]], np.int32)
    cv2.fillConvexPoly(photo, corner, paper)
    sheet = find_sheet(photo)
    side = np.roll(sheet.corners, -1, axis=0) - sheet.corners
    side /= np.linalg.norm(side, axis=1, keepdims=True)
    assert np.abs((side * np.roll(side, -1, axis=0)).sum(axis=1)).max() < np.sin(np.radians(25))
