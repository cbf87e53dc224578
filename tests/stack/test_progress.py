"""How far a run is, told in a terminal and elsewhere, at a clock that the tests set."""

import io
import re
from types import SimpleNamespace

from PIL import Image

from checker.benchmarks.broken_files import pdf, saved, zipped
from checker.stack.intake import GivenPage, Limits, Refused, count_files, given_pages
from checker.stack.outlook import Outlook
from checker.stack.progress import Progress
from checker.stack.triage import Step
from checker.submission import Upload


class Clock:
    def __init__(self):
        self.now = 100.0

    def __call__(self):
        return self.now


class Terminal(io.StringIO):
    def isatty(self):
        return True


def run(out, seconds, steps, outlook=None):
    """Tell ``steps``, each after so many seconds."""
    clock = Clock()
    with Progress(outlook, out, clock) as progress:
        for step in steps:
            clock.now += seconds
            progress.tell(step)
    return out.getvalue()


def whole(pages):
    """An outlook on a stack that is known already."""
    return SimpleNamespace(total=pages)


def test_plain_lines_say_rate_and_time_left():
    steps = [Step("read", "a")] * 30
    lines = run(io.StringIO(), 0.5, steps, whole(60)).splitlines()
    # 2 pages a second by the clock; the first line comes after ten seconds.
    assert lines == [
        "21 of 60 pages: 21 read, 2.00 pages/s, 20 s left",
        "30 pages: 30 read, 2.00 pages/s",
    ]


def test_long_times_are_said_in_minutes_and_kept_pages_cost_none():
    steps = [*[Step("kept", "a")] * 40, Step("read", "b")]
    clock, out = Clock(), io.StringIO()
    with Progress(whole(60), out, clock) as progress:
        for step in steps:
            clock.now += 12 * (step.kind == "read")
            progress.tell(step)
    assert "41 of 60 pages: 1 read, 40 kept, 0.08 pages/s, 3 min 48 s left" in out.getvalue()


def test_judging_has_its_own_time_left():
    steps = [Step("read", "a")] * 2 + [Step("judged", "a", 9)] * 5
    lines = run(io.StringIO(), 6.0, steps, whole(2)).splitlines()
    assert lines[-2] == "4 of 9 judged, 30 s left"  # one in six seconds
    assert lines[-1] == "2 pages: 2 read, 5 judged, 0.17 pages/s"


def test_a_terminal_gets_a_bar_with_rate_and_time_left(monkeypatch):
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "120")
    drawn = run(Terminal(), 0.5, [Step("read", "a")] * 30, whole(60))
    assert "30/60" in drawn and "2.00 pages/s, 15 s left" in drawn
    assert "\x1b[" in drawn  # ECMA-48 control sequences draw it in place


def test_a_run_without_anything_new_says_so():
    assert run(io.StringIO(), 1, []) == "0 pages: nothing new\n"


JPEG = saved(Image.new("RGB", (60, 80), "white"), "JPEG")


def test_the_total_is_exact_at_the_end_and_near_before():
    inputs = [
        Upload("scan.pdf", pdf(12)),
        Upload("all.zip", zipped({"1.jpg": JPEG, "2.txt": b"C = 3", ".DS_Store": b"x"})),
        Upload("bad.jpg", b"rubbish"),
    ]
    assert count_files(inputs) == 4
    outlook, totals = Outlook(4), []
    count = 0
    for _ in outlook.watch(given_pages(inputs)):
        count += 1
        totals.append(outlook.total)
    assert totals[0] == 48  # three files more like the first
    assert totals[-1] == outlook.total == count == 15


def test_a_file_that_breaks_off_counts_what_it_gave():
    outlook = Outlook(2)
    given = [
        GivenPage("a.pdf", 1, b"", "", 100),
        Refused("a.pdf", "It takes too long to open from page 2 on; save its pages."),
        GivenPage("b.jpg", 1, b"", ""),
    ]
    totals = []
    for _ in outlook.watch(given):
        totals.append(outlook.total)
    assert totals == [200, 200, 3]


def test_counting_opens_no_bomb(tmp_path):
    (tmp_path / "many.zip").write_bytes(zipped({str(k): b"" for k in range(30)}))
    (tmp_path / "broken.zip").write_bytes(b"PK\x03\x04 rubbish")
    (tmp_path / "photo.jpg").write_bytes(JPEG)
    assert count_files([tmp_path], Limits(zip_members=10)) == 3
    assert count_files([tmp_path]) == 32


def test_no_name_from_outside_reaches_the_terminal():
    drawn = run(Terminal(), 2.0, [Step("read", "\x1b]0;evil\x07[red]")] * 3, whole(3))
    assert "evil" not in drawn and not re.search(r"\x07", drawn)
