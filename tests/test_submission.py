"""The way in from Python."""

from pathlib import Path

import pytest
from PIL import Image

import checker
from checker.errors import PageError, ProblemError
from tests.samples import ROOT, TYPED


def test_the_typed_sample_is_judged_as_its_truth_file_says() -> None:
    checked = checker.check(TYPED.page, TYPED.problem)
    slip = checked.judgement.first_slip
    assert slip is not None
    at = checked.judgement.statements[slip.statement]
    truth = TYPED.truth
    assert (at.line, slip.kind) == (truth["first_slip"], truth["kind"])
    assert (slip.quantity, slip.written) == (truth["quantity"], truth["written"])
    assert slip.expected == truth["expected"]
    assert checked.judgement.outcome == "slip found"
    assert checked.seconds > 0


def test_the_sample_page_holds_the_lines_of_its_truth_file() -> None:
    assert TYPED.page.read_text(encoding="utf-8").splitlines() == TYPED.truth["lines"]


def test_what_follows_from_the_slip_is_carried_forward() -> None:
    judgement = checker.check(TYPED.page, TYPED.problem).judgement
    after = {s.line: s.verdict for s in judgement.statements if (s.line or 0) > 1}
    # 7.5 µF, 135 µC, 9 µC, 1.5 V and 3 V all follow from the wrong 0.5 µF; 126 µC is right.
    assert {after[line] for line in (2, 3, 4, 5, 6)} == {"carried forward"}
    assert after[7] == "follows"


def test_several_pages_are_one_submission_in_order() -> None:
    lines = TYPED.page.read_text(encoding="utf-8").splitlines(keepends=True)
    first = checker.Upload("first.txt", "".join(lines[:1]).encode())
    second = checker.Upload("second.txt", "".join(lines[1:]).encode())
    checked = checker.check([first, second], TYPED.problem)
    assert [page.source for page in checked.pages] == ["first.txt", "second.txt"]
    slip = checked.judgement.first_slip
    assert slip is not None
    at = checked.judgement.statements[slip.statement]
    assert (at.page, at.line) == (1, 0)


def test_an_upload_that_is_no_image_is_named_in_the_sentence() -> None:
    with pytest.raises(PageError, match=r"^holiday\.jpg: "):
        checker.check(checker.Upload("holiday.jpg", b"not an image"), TYPED.problem)


def test_no_pages_at_all() -> None:
    with pytest.raises(PageError, match="no page"):
        checker.check([], TYPED.problem)


def test_a_problem_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(ProblemError):
        checker.check(TYPED.page, tmp_path / "missing.toml")


def test_every_page_of_a_pdf_is_a_page_of_the_submission(tmp_path: Path) -> None:
    """A photo and the same photo as the second page of a PDF read alike."""
    sample = ROOT / "sample_pages" / "series_added_up"
    with Image.open(sample / "page.jpg") as photo:
        blank = Image.new("RGB", photo.size, "white")
        blank.save(tmp_path / "scan.pdf", save_all=True, append_images=[photo], quality=95)
    checked = checker.check(tmp_path / "scan.pdf", sample / "problem.toml")
    assert [page.source for page in checked.pages] == ["scan.pdf, page 1", "scan.pdf, page 2"]
    assert not checked.pages[0].lines and len(checked.pages[1].lines) > 5
