"""The sample photos end to end: what is read, what is judged, where it stands on the photo."""

from functools import cache

import cv2
import numpy as np
import pytest

import checker
from checker.benchmarks.scores import overlap
from tests.samples import PHOTOS, Sample

names = [sample.folder.name for sample in PHOTOS]


@cache
def checked(sample: Sample) -> checker.submission.Checked:
    return checker.check(sample.page, sample.problem)


@pytest.fixture(params=PHOTOS, ids=names)
def sample(request: pytest.FixtureRequest) -> Sample:
    return request.param


def lines_on_photo(sample: Sample) -> list[np.ndarray]:
    return [np.array(polygon) for polygon in sample.truth["polygons"]]


def is_right(sample: Sample) -> bool:
    """The truth's slip boxed on its own line, or no slip where there is none."""
    judgement = checked(sample).judgement
    if "first_slip" not in sample.truth:
        return judgement.outcome == "all follows"
    slip = judgement.first_slip
    if slip is None:
        return False
    box = np.array(judgement.statements[slip.statement].polygon)
    middle = tuple(map(float, box.mean(0)))
    line = lines_on_photo(sample)[sample.truth["first_slip"]].astype(np.float32)
    return cv2.pointPolygonTest(line, middle, False) >= 0


def test_nobody_is_accused_wrongly(sample: Sample) -> None:
    """Right, or a question: never a slip where there is none or on another line."""
    assert is_right(sample) or checked(sample).judgement.outcome == "needs a look"


def test_most_pages_are_judged_without_asking() -> None:
    assert sum(map(is_right, PHOTOS)) >= len(PHOTOS) - 3


def test_lines_are_found_where_they_stand(sample: Sample) -> None:
    found = [np.array(line.polygon) for line in checked(sample).pages[0].lines]
    truth = lines_on_photo(sample)
    hit = sum(max(overlap(line, other) for other in found) >= 0.5 for line in truth)
    assert hit >= 0.8 * len(truth)


def test_most_lines_are_read_exactly(sample: Sample) -> None:
    read = [line.candidates[0].text for line in checked(sample).pages[0].lines]
    assert sum(text in read for text in sample.truth["lines"]) >= 0.6 * len(sample.truth["lines"])
