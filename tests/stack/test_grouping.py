"""Pages go to submissions by file, by folder or by number; what is refused keeps its place."""

import pytest

from checker.stack.grouping import grouped
from checker.stack.intake import GivenPage, Refused


def pages(name, count=1):
    return [GivenPage(name, n + 1, b"", f"{name} {n}") for n in range(count)]


def split(given, how):
    found = {}
    for placed in grouped(given, how):
        members = found.setdefault(placed.submission, [])
        assert placed.number == len(members)
        page = placed.given
        members.append(f"{page.name} {page.number}" if isinstance(page, GivenPage) else page.reason)
    return found


def test_by_file():
    given = [*pages("a.jpg"), *pages("b.pdf", 2), Refused("b.pdf", "cut"), Refused("c.jpg", "bad")]
    assert split(given, "file") == {
        "a.jpg": ["a.jpg 1"],
        "b.pdf": ["b.pdf 1", "b.pdf 2", "cut"],
        "c.jpg": ["bad"],
    }


def test_by_folder_also_when_its_files_do_not_come_together():
    given = [*pages("x/ada/1.jpg"), *pages("x/bob/1.jpg"), *pages("x/ada/2.jpg"), *pages("c.jpg")]
    assert split(given, "folder") == {
        "x/ada": ["x/ada/1.jpg 1", "x/ada/2.jpg 1"],
        "x/bob": ["x/bob/1.jpg 1"],
        "c.jpg": ["c.jpg 1"],
    }


def test_by_number_within_a_scan():
    assert split(pages("s.pdf", 5), 2) == {
        "s.pdf, page 1 on": ["s.pdf 1", "s.pdf 2"],
        "s.pdf, page 3 on": ["s.pdf 3", "s.pdf 4"],
        "s.pdf, page 5 on": ["s.pdf 5"],
    }


def test_by_number_photos_are_counted_on_and_scans_begin_anew():
    given = [
        *pages("1.jpg"),
        *pages("2.jpg"),
        *pages("3.jpg"),
        *pages("s.pdf", 3),
        *pages("t.pdf", 2),
        *pages("4.jpg"),
        *pages("5.jpg"),
    ]
    assert list(split(given, 2).values()) == [
        ["1.jpg 1", "2.jpg 1"],
        ["3.jpg 1"],
        ["s.pdf 1", "s.pdf 2"],
        ["s.pdf 3"],
        ["t.pdf 1", "t.pdf 2"],
        ["4.jpg 1", "5.jpg 1"],
    ]


def test_a_photo_that_is_refused_does_not_shift_the_others():
    given = [*pages("1.jpg"), Refused("2.jpg", "bad"), *pages("3.jpg"), *pages("4.jpg")]
    assert list(split(given, 2).values()) == [["1.jpg 1", "bad"], ["3.jpg 1", "4.jpg 1"]]


@pytest.mark.parametrize("how", ["file", "folder", 1, 2, 3])
def test_nothing_is_lost_or_doubled(how):
    given = [*pages("f/a.pdf", 4), *pages("f/b.jpg"), Refused("g/c.jpg", "bad"), *pages("d.tif", 3)]
    assert [placed.given for placed in grouped(given, how)] == given


def test_pages_of_a_scan_that_are_refused_keep_submissions_apart():
    given = [Refused("s.pdf", "1"), *pages("s.pdf", 3)[1:], Refused("s.pdf", "4")]
    assert split(given, 2) == {
        "s.pdf, page 1 on": ["1", "s.pdf 2"],
        "s.pdf, page 3 on": ["s.pdf 3", "4"],
    }
