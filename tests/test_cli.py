"""The ``checker`` command, as a user meets it."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from checker.cli import main
from tests.samples import ROOT, TYPED

PAGE, PROBLEM = str(TYPED.page), str(TYPED.problem)
CHECK = ["check", PAGE, "--problem", PROBLEM]


def run(*arguments: str, **more: object) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", "checker", *arguments]
    return subprocess.run(command, capture_output=True, cwd=ROOT, check=False, **more)  # type: ignore[call-overload, no-any-return]


def refusal(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """The one sentence on standard error of a command that must end with status 2."""
    try:
        status = main(arguments)
    except SystemExit as end:
        status = end.code if isinstance(end.code, int) else 1
    output = capsys.readouterr()
    assert status == 2
    assert output.out == ""
    assert output.err.count("\n") == 1
    assert output.err.startswith("checker: ")
    assert output.err.rstrip().endswith(".") or output.err.rstrip().endswith("--help.")
    return output.err


def test_check_prints_the_line_where_it_goes_wrong(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(CHECK) == 0
    output = capsys.readouterr().out
    slip = next(line for line in output.splitlines() if "✗ first slip" in line)
    assert slip.endswith("0.5 µF")


def test_json_is_the_whole_output(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*CHECK, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["outcome"] == "slip found"
    assert document["first_slip"]["expected"] == "2 µF"


def test_annotated_writes_one_picture(tmp_path: Path) -> None:
    target = tmp_path / "marked.png"
    assert main([*CHECK, "--annotated", str(target)]) == 0
    with Image.open(target) as picture:
        assert picture.format == "PNG"
    assert [path.name for path in tmp_path.iterdir()] == ["marked.png"]


def test_annotated_numbers_the_pictures_of_several_pages(tmp_path: Path) -> None:
    target = tmp_path / "marked.png"
    assert main(["check", PAGE, PAGE, "--problem", PROBLEM, "--annotated", str(target)]) == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == ["marked-1.png", "marked-2.png"]


def test_solve_prints_the_reference(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["solve", PROBLEM]) == 0
    output = capsys.readouterr().out
    # 6 and 3 in series are 2, beside 7 they are 9; at 18 V that holds 162 µC.
    for value in ("2 µF", "9 µF", "162 µC", "36 µC"):
        assert value in output


def test_bad_input_ends_in_one_sentence(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(b"\xff\xd8\xff\xe0 cut short")
    binary = tmp_path / "binary.txt"
    binary.write_bytes(b"\xff\xfe\x00\x01")
    broken = tmp_path / "broken.toml"
    broken.write_text("supply = \n", encoding="utf-8")
    missing = str(tmp_path / "missing.jpg")
    assert "missing.jpg" in refusal(capsys, "check", missing, "--problem", PROBLEM)
    assert "photo.jpg" in refusal(capsys, "check", str(photo), "--problem", PROBLEM)
    assert "binary.txt" in refusal(capsys, "check", str(binary), "--problem", PROBLEM)
    assert "line 1" in refusal(capsys, "check", PAGE, "--problem", str(broken))
    assert "missing" in refusal(capsys, "check", PAGE, "--problem", missing)
    assert str(tmp_path) in refusal(capsys, "check", str(tmp_path), "--problem", PROBLEM)
    refusal(capsys, "check", "a\0b.jpg", "--problem", PROBLEM)
    refusal(capsys, "solve", "a\0b.toml")


@pytest.mark.parametrize("target", ["marked", "marked.gif", "nowhere/marked.png"])
def test_a_picture_that_could_not_be_written_is_refused_first(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, target: str
) -> None:
    refusal(capsys, *CHECK, "--annotated", str(tmp_path / target))


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["mark"],
        ["check"],
        ["check", PAGE],
        ["check", PAGE, "--problem", PROBLEM, "--reader", "eyes"],
        ["desk", "--port", "http"],
        ["desk", "--port", "70000"],
    ],
)
def test_bad_arguments_end_in_one_sentence(
    capsys: pytest.CaptureFixture[str], arguments: list[str]
) -> None:
    assert "--help" in refusal(capsys, *arguments)


def test_help_imports_nothing_heavy() -> None:
    heavy = ("cv2", "numpy", "onnxruntime", "pint", "PIL", "streamlit", "sympy")
    program = (
        "import sys; from checker.cli import main\n"
        "try: main(['--help'])\n"
        f"finally: print('loaded:', [m for m in {heavy!r} if m in sys.modules])"
    )
    output = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, cwd=ROOT, check=True
    ).stdout
    assert "usage: checker" in output
    assert output.rstrip().endswith("loaded: []")


def test_a_terminal_without_the_signs_still_gets_the_report() -> None:
    result = run(*CHECK, env={**os.environ, "PYTHONIOENCODING": "ascii"})
    assert result.returncode == 0
    assert b"first slip" in result.stdout
    assert result.stderr == b""


def test_a_reader_of_the_output_that_goes_away_is_no_error() -> None:
    command = [sys.executable, "-m", "checker", *CHECK]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=ROOT
    ) as process:
        assert process.stdout is not None and process.stderr is not None
        process.stdout.close()
        errors = process.stderr.read()
    assert errors == b""
    assert process.returncode == 0


def test_an_interrupt_ends_quietly(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("checker.submission.check", interrupted)
    assert main(CHECK) == 130
    assert capsys.readouterr().err == "checker: Interrupted.\n"


def test_even_a_mistake_of_the_program_is_one_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr("checker.submission.check", broken)
    assert main(CHECK) == 1
    assert capsys.readouterr().err.count("\n") == 1
