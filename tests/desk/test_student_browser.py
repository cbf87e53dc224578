"""The student's page in a real browser, as a student drives it."""

from __future__ import annotations

import io
import re
import tomllib

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, WebSocket, expect

from tests.desk.conftest import PATIENCE, visited
from tests.desk.student_acts import FAINT, choose, outcome, put_right, settled, shot, upload
from tests.samples import ROOT, TYPED, Sample

SLIP = Sample(ROOT / "sample_pages" / "series_added_up")
SLIP_TITLE = "Three capacitors on 20 V"
RIGHT = Sample(ROOT / "sample_pages" / "right_in_order")
TYPED_TITLE = "Two capacitors in series beside a third"


def title_of(sample: Sample) -> str:
    return str(tomllib.loads(sample.problem.read_text(encoding="utf-8"))["title"])


def test_nothing_given_yet(student: Page) -> None:
    expect(student.get_by_text("Choose a problem to begin.")).to_be_visible()
    expect(student.get_by_text("Your pages stay on this machine")).to_be_visible()
    expect(student).to_have_title("checker")
    shot(student, "empty")
    assert student.evaluate(FAINT) == []


def test_the_first_slip_is_framed_where_the_student_wrote_it(student: Page) -> None:
    choose(student, SLIP_TITLE)
    upload(student, SLIP.page)
    outcome(student, "One step does not follow.")
    frame = student.locator(".marks .frame")
    expect(frame).to_have_count(1)
    expect(frame).to_contain_text("first slip")
    shot(student, "slip")
    place = student.evaluate("""() => {
        const [box, sheet] = ['.frame', 'img.page'].map(
            name => document.querySelector(name).getBoundingClientRect());
        return [(box.x + box.width / 2 - sheet.x) / sheet.width,
                (box.y + box.height / 2 - sheet.y) / sheet.height];
    }""")
    truth = SLIP.truth["polygons"][SLIP.truth["first_slip"]]
    width, height = Image.open(SLIP.page).size
    xs, ys = [x for x, _y in truth], [y for _x, y in truth]
    assert min(xs) < place[0] * width < max(xs)
    assert min(ys) < place[1] * height < max(ys)
    # The neighbours have a mark each and no frame.
    assert student.locator(".marks .sign").count() == len(SLIP.truth["lines"])
    assert student.evaluate(FAINT) == []


def test_zoom_enlarges_the_photo_and_keeps_the_marks_on_it(student: Page) -> None:
    choose(student, SLIP_TITLE)
    upload(student, SLIP.page)
    outcome(student, "One step does not follow.")
    sheet, marks = student.locator("img.page"), student.locator(".marks")
    before = sheet.bounding_box()
    student.get_by_role("radio", name="2 ×").click()
    expect(student.get_by_role("radio", name="2 ×")).to_be_checked()
    student.wait_for_function(
        "width => document.querySelector('img.page').clientWidth > 1.8 * width",
        arg=before and before["width"],
    )
    big, over = sheet.bounding_box(), marks.bounding_box()
    assert big and over
    assert abs(big["width"] - over["width"]) < 4 and abs(big["height"] - over["height"]) < 4


def test_help_comes_in_steps_and_nothing_later_is_sent(
    browser: Browser, student_address: str
) -> None:
    """C12 of 6 µF and 3 µF in series is 2 µF, by the series rule of University Physics 2, section
    8.2, OpenStax."""
    sent: list[bytes] = []

    def listen(socket: WebSocket) -> None:
        socket.on("framereceived", lambda frame: sent.append(_bytes(frame)))

    with browser.new_context() as context:
        page = context.new_page()
        page.set_default_timeout(PATIENCE)
        page.on("websocket", listen)
        page.goto(student_address)
        choose(page, TYPED_TITLE)
        upload(page, TYPED.page)
        outcome(page, "One step does not follow.")
        later = [
            "still has to be inverted",
            "is 2 µF; written is",
            "Walk back",
        ]
        offers = [
            "Where should I look?",
            "Which rule is at stake?",
            "What should this line have been?",
            "Show me the whole solution",
        ]
        page.get_by_role("button", name=offers[0]).click()
        expect(page.locator(".help-step")).to_have_count(1)
        for asked, words in enumerate(later, start=1):
            page.wait_for_timeout(300)
            everything = b"".join(sent)
            for hidden in later[asked - 1 :]:
                assert hidden not in page.content()
                assert hidden.encode() not in everything
            page.get_by_role("button", name=offers[asked]).click()
            expect(page.locator(".help-step")).to_have_count(asked + 1)
            expect(page.locator(".help-step").last).to_contain_text(words)
        expect(page.get_by_role("button", name=re.compile("Show me|What should"))).to_have_count(0)
        assert any(b"Walk back" in frame for frame in sent)  # the frames can be searched
        shot(page, "help")
        assert page.evaluate(FAINT) == []


def _bytes(frame: bytes | str) -> bytes:
    return frame.encode() if isinstance(frame, str) else frame


def test_a_line_put_right_is_judged_without_reading_the_page_again(student: Page) -> None:
    choose(student, TYPED_TITLE)
    upload(student, TYPED.page)
    outcome(student, "One step does not follow.")
    # Every line as the given problem has it (6 µF and 3 µF in series are 2 µF, beside 7 µF 9 µF).
    right = [
        "C12 = 2 µF", "C_eq = C12 + C3 = 2 + 7 = 9 µF", "Q = C_eq V = 9 × 18 = 162 µC",
        "Q12 = C12 V = 2 × 18 = 36 µC", "V1 = Q12/C1 = 36/6 = 6 V", "V2 = Q12/C2 = 36/3 = 12 V",
    ]  # fmt: skip
    put_right(student, 2, right[0])
    expect(student.locator(".marks .frame.slip, .line-head").nth(1)).to_contain_text("follows")
    for line, text in enumerate(right[1:], start=3):
        put_right(student, line, text)
        expect(student.locator(".line-head").nth(line - 1)).to_contain_text("follows")
    outcome(student, "Every step follows.")
    expect(student.get_by_text("Reading page")).to_have_count(0)
    shot(student, "put_right")


def test_all_follows_looks_like_success(student: Page) -> None:
    choose(student, title_of(RIGHT))
    upload(student, RIGHT.page)
    expect(outcome(student, "Every step follows.")).to_have_class(re.compile("right"))
    expect(student.locator(".marks .frame")).to_have_count(0)
    shot(student, "right")
    assert student.evaluate(FAINT) == []


def test_what_cannot_be_judged_is_asked_about_in_one_question(student: Page) -> None:
    choose(student, TYPED_TITLE)
    upload(student, ("page.txt", "C12 = 2 µF\nZ = 4 ( + 7\n".encode()))
    banner = outcome(student, "Someone should look")
    expect(banner).to_have_class(re.compile("asked"))
    expect(student.get_by_test_id("stForm")).to_have_count(1)
    expect(student.locator("img.crop")).to_be_visible()
    shot(student, "question")
    assert student.evaluate(FAINT) == []
    student.get_by_label("The line says").fill("C_eq = 2 + 7 = 9 µF")
    student.get_by_role("button", name="That is what it says").click()
    outcome(student, "Every step follows.")


def test_pages_are_put_in_order_turned_and_removed(student: Page) -> None:
    choose(student, TYPED_TITLE)
    lines = TYPED.page.read_text(encoding="utf-8").splitlines()
    halves = ["\n".join(part).encode() for part in (lines[4:], lines[:4])]
    upload(student, ("second.txt", halves[0]), ("first.txt", halves[1]))
    first_line = student.get_by_role("textbox", name="Line 1", exact=True)
    expect(first_line).to_have_value(lines[4])
    student.get_by_role("button", name="↑").nth(1).click()
    expect(first_line).to_have_value(lines[0])
    expect(student.get_by_text("1. first.txt")).to_be_visible()
    student.get_by_role("button", name="✕").nth(1).click()
    expect(student.get_by_text("2. second.txt")).to_have_count(0)
    expect(student.locator(".line-head")).to_have_count(4)


def test_a_turned_photo_is_shown_upright(student: Page) -> None:
    sideways = io.BytesIO()
    Image.open(RIGHT.page).transpose(Image.Transpose.ROTATE_90).save(sideways, "JPEG", quality=92)
    choose(student, title_of(RIGHT))
    upload(student, ("page.jpg", sideways.getvalue()))
    expect(student.locator(".outcome")).to_be_visible()
    student.get_by_role("button", name="↻").click()
    outcome(student, "Every step follows.")
    size = "image => [image.naturalWidth, image.naturalHeight]"
    width, height = student.locator("img.page").evaluate(size)
    assert (width > height) == (Image.open(RIGHT.page).width > Image.open(RIGHT.page).height)


def test_a_circuit_is_described_and_drawn_as_it_is_typed(student: Page) -> None:
    choose(student, "Describe my own circuit")
    connection = student.get_by_role("textbox", name="How are they connected?")
    connection.fill("parallel(series(C1, C2), C3")
    expect(student.locator(".field-fault")).to_contain_text("bracket")
    shot(student, "form_mistake")
    connection.fill("parallel(series(C1, C2), C3)")
    expect(student.locator(".field-fault")).to_have_count(0)
    expect(student.locator("img.circuit")).to_be_visible()
    for name, value in {"Supply": "18 V", "C1": "6 µF", "C2": "3 V", "C3": "7 µF"}.items():
        student.get_by_role("textbox", name=name, exact=True).fill(value)
    fault = student.locator(".field-fault")
    expect(fault).to_have_count(1)
    expect(fault).to_contain_text("The capacitance of C2 is a voltage")
    settled(student)
    # It stands below its own field.
    below, field = (
        where.bounding_box()
        for where in (fault, student.get_by_role("textbox", name="C2", exact=True))
    )
    assert below and field and abs(below["x"] - field["x"]) < 15 and below["y"] > field["y"]
    shot(student, "form")
    assert student.evaluate(FAINT) == []
    student.get_by_role("textbox", name="C2", exact=True).fill("3 µF")
    expect(fault).to_have_count(0)
    upload(student, TYPED.page)
    outcome(student, "One step does not follow.")


def test_a_dangerous_voltage_brings_the_caution_once(student: Page) -> None:
    choose(student, "Use a problem file")
    own = TYPED.problem.read_text(encoding="utf-8").replace("18 V", "400 V")
    upload(student, ("mine.toml", own.encode()), label="Problem file")
    expect(student.get_by_role("img", name="V = 400 V")).to_be_visible()
    upload(student, ("page.txt", "C12 = 2 µF\n".encode()))
    expect(student.locator(".outcome")).to_be_visible()
    expect(student.get_by_role("alert").filter(has_text="Caution")).to_have_count(1)
    shot(student, "caution")


def test_mistakes_are_told_in_one_sentence(student: Page) -> None:
    choose(student, TYPED_TITLE)
    upload(student, ("holiday.jpg", b"this is no photo"))
    alert = student.get_by_role("alert").filter(has_text="holiday.jpg")
    expect(alert).to_have_text(re.compile(r"^holiday\.jpg: .*\.$"))
    shot(student, "mistake")
    assert "Traceback" not in student.content()
    assert student.evaluate(FAINT) == []


def test_a_heic_photo_is_taken(student: Page) -> None:
    choose(student, TYPED_TITLE)
    upload(student, ROOT / "tests" / "reading" / "quarters.heic")
    expect(student.get_by_text("1. quarters.heic")).to_be_visible()
    outcome(student, "")
    expect(student.locator("img.page")).to_be_visible()
    expect(student.get_by_role("alert").filter(has_text="quarters.heic")).to_have_count(0)


def test_photos_are_taken_with_the_camera_one_after_another(student: Page) -> None:
    student.get_by_text("Use this computer's camera").click()
    button = student.get_by_role("button", name="Take Photo")
    for number in (1, 2):
        taken = student.get_by_text(re.compile(rf"^{number}\. .*\.jpg$"))
        for _ in range(6):  # the camera needs a moment, and its pattern may be the same again
            expect(button).to_be_visible()
            student.wait_for_timeout(1500)
            button.click()
            student.wait_for_timeout(1500)
            if taken.count():
                break
        expect(taken).to_be_visible()
    shot(student, "camera")
    assert student.evaluate(FAINT) == []
    student.get_by_text("Use this computer's camera").click()
    expect(student.get_by_test_id("stCameraInput")).to_have_count(0)
    expect(student.get_by_role("button", name="✕")).to_have_count(2)


def test_pages_that_are_left_out_are_named(student: Page) -> None:
    upload(student, *[(f"{n}.txt", f"C12 = {n} µF".encode()) for n in range(13)])
    alert = student.get_by_role("alert").filter(has_text="left out")
    expect(alert).to_contain_text("12.txt was left out, as there is room for 12 pages")
    choose(student, TYPED_TITLE)
    expect(student.locator(".outcome")).to_be_visible()
    expect(alert).to_have_count(1)
    shot(student, "left_out")
    assert student.evaluate(FAINT) == []
    student.get_by_role("button", name="✕").nth(3).click()
    expect(alert).to_have_count(0)
    upload(student, ("again.txt", "C12 = 5 µF".encode()))
    expect(alert).to_contain_text("again.txt was left out, as that page is on the list already")


def test_a_file_that_is_refused_while_it_is_sent_says_why(student: Page) -> None:
    upload(student, ("huge.txt", b"x" * 41_000_000), ("small.txt", b"C12 = 2"))
    expect(student.get_by_text("1. small.txt")).to_be_visible()
    expect(student.get_by_test_id("stFileChip").filter(has_text="huge.txt")).to_contain_text(
        "must be 40.0MB or smaller"
    )
    expect(student.get_by_test_id("stFileChip").filter(has_text="small.txt")).to_be_hidden()
    shot(student, "refused")


def test_pages_added_at_the_same_moment_all_arrive(student: Page) -> None:
    with student.expect_response("**/upload_file/**"):
        upload(student, ("a.txt", "C12 = 2 µF".encode()))
    upload(student, ("b.txt", "C12 = 3 µF".encode()))
    expect(student.get_by_text("1. a.txt")).to_be_visible()
    expect(student.get_by_text("2. b.txt")).to_be_visible()


@pytest.mark.parametrize("pause", [0, 10, 13, 19, 26, 40])
def test_a_page_added_while_the_problem_file_is_sent_arrives(student: Page, pause: int) -> None:
    choose(student, "Use a problem file")
    expect(student.get_by_text("Problem file (TOML)")).to_be_visible()
    upload(student, TYPED.problem, label="Problem file")
    student.wait_for_timeout(pause)
    upload(student, TYPED.page)
    outcome(student, "One step does not follow.")


def test_names_and_writing_are_never_markup(student: Page) -> None:
    nasty = "<img src=x onerror=alert(1)><b>x</b> **bold** :red[y]"
    student.on("dialog", lambda dialog: dialog.dismiss())
    choose(student, TYPED_TITLE)
    upload(
        student,
        ("<b>1<b>.txt", f"{nasty}\nC12 = 2 µF {nasty}\n".encode()),
        ("a**b**.txt", b"C3 = 7\n"),
    )
    expect(student.locator(".outcome")).to_be_visible()
    expect(student.get_by_text("1. <b>1<b>.txt")).to_be_visible()
    assert student.locator("img[src=x], .stMain b").count() == 0
    expect(student.get_by_text("2. a**b**.txt")).to_be_visible()


def test_one_session_sees_nothing_of_another(
    browser: Browser, student: Page, student_address: str
) -> None:
    choose(student, TYPED_TITLE)
    upload(student, ("mine.txt", TYPED.page.read_bytes()))
    outcome(student, "One step does not follow.")
    with visited(browser, student_address) as other:
        expect(other.get_by_text("Choose a problem to begin.")).to_be_visible()
        choose(other, TYPED_TITLE)
        expect(other.get_by_text("Now add a photo")).to_be_visible()
        assert "mine.txt" not in other.content()
    student.reload()
    expect(student.get_by_text("Choose a problem to begin.")).to_be_visible()
    assert "mine.txt" not in student.content()


def test_it_works_from_the_keyboard(student: Page) -> None:
    choose(student, TYPED_TITLE)
    upload(student, TYPED.page)
    outcome(student, "One step does not follow.")
    ask = student.get_by_role("button", name="Where should I look?")
    ask.focus()
    student.keyboard.press("Enter")
    expect(student.locator(".help-step")).to_have_count(1)
    for _ in range(40):
        student.keyboard.press("Tab")
        label = student.evaluate("document.activeElement.getAttribute('aria-label')")
        if label == "Line 1":
            break
    assert label == "Line 1"


def test_it_fits_a_phone(student: Page) -> None:
    student.set_viewport_size({"width": 390, "height": 844})
    choose(student, SLIP_TITLE)
    upload(student, SLIP.page)
    outcome(student, "One step does not follow.")
    expect(student.locator(".marks .frame")).to_be_visible()
    assert student.evaluate("document.documentElement.scrollWidth") <= 390
    shot(student, "phone")


def test_the_page_serves_no_other(student: Page) -> None:
    expect(student.get_by_role("heading", name="Check my working")).to_be_visible()
    expect(student.get_by_test_id("stTopNavLink")).to_have_count(0)
