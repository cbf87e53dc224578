"""``checker triage`` and ``checker export`` from the shell."""

import pytest

from checker.cli import main
from tests.samples import TYPED
from tests.stack.made import OTHER_PROBLEM, RIGHT

OUTPUTS = ["triage.csv", "triage.json", "summary.html", "annotated.pdf"]


@pytest.fixture
def given(tmp_path):
    folder = tmp_path / "given"
    folder.mkdir()
    for n in range(3):
        (folder / f"{n}.txt").write_text(RIGHT + "\n" * n, encoding="utf-8")
    (folder / "=bad.jpg").write_bytes(b"no photo")
    return folder


def triage(given, out, *more):
    return main(["triage", str(given), "--problem", str(TYPED.problem), "--out", str(out), *more])


def written(out):
    return {name: (out / name).read_bytes() for name in OUTPUTS}


def test_a_stack_is_read_and_its_outputs_written(given, tmp_path, capsys):
    assert triage(given, tmp_path / "out", "--jobs", "2") == 0
    said = capsys.readouterr()
    assert "slip found: 3" in said.out and "needs a look: 1" in said.out
    assert "not read: " in said.out and "=bad.jpg" in said.out
    assert "4 pages: 3 read, 1 failed, 4 judged" in said.err
    assert all(written(tmp_path / "out").values())


def test_two_runs_and_an_export_write_the_same_bytes(given, tmp_path, capsys):
    triage(given, tmp_path / "one", "--jobs", "2")
    triage(given, tmp_path / "two", "--jobs", "1")
    first = written(tmp_path / "one")
    assert first == written(tmp_path / "two")
    (tmp_path / "one" / "triage.csv").unlink()
    capsys.readouterr()
    assert main(["export", str(tmp_path / "one")]) == 0
    assert written(tmp_path / "one") == first
    assert capsys.readouterr().err == ""


def test_again_reads_nothing_and_another_problem_judges_again(given, tmp_path, capsys):
    from checker.problem.problem_file import problem_to_toml

    out, other = tmp_path / "out", tmp_path / "other.toml"
    other.write_text(problem_to_toml(OTHER_PROBLEM), encoding="utf-8")
    triage(given, out)
    capsys.readouterr()
    triage(given, out)
    assert "4 pages: 4 kept\n" in capsys.readouterr().err
    main(["triage", str(given), "--problem", str(other), "--out", str(out)])
    assert "4 pages: 4 kept, 4 judged\n" in capsys.readouterr().err


def test_a_limit_can_be_changed(given, tmp_path, capsys):
    assert triage(given, tmp_path / "out", "--limit", "page_bytes=5", "--limit", "zip_ratio=9") == 0
    said = capsys.readouterr()
    assert "needs a look: 4" in said.out
    assert said.out.count("The file is larger than 5e-06 MB") == 4


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["export", "{nowhere}"], "run checker triage first"),
        (["triage", "{nowhere}", "--problem", "{problem}", "--out", "{out}"], "no file or folder"),
        (["triage", "{given}", "--problem", "{problem}", "--out", "{file}"], "cannot be made"),
        (
            ["triage", "{given}", "--problem", "{problem}", "--out", "{out}", "--limit", "x=1"],
            "give NAME=NUMBER with a NAME of file_bytes, page_bytes,",
        ),
        (
            ["triage", "{given}", "--problem", "{problem}", "--out", "{out}", "--split", "0"],
            "no number from 1 to 1000",
        ),
    ],
)
def test_what_cannot_be_used_is_told_in_one_sentence(given, tmp_path, capsys, arguments, says):
    places = {
        "nowhere": tmp_path / "nowhere",
        "problem": TYPED.problem,
        "out": tmp_path / "out",
        "given": given,
        "file": given / "0.txt",
    }
    try:
        status = main([word.format(**places) for word in arguments])
    except SystemExit as ended:
        status = ended.code
    assert status == 2
    said = capsys.readouterr().err
    assert says in said and said.count("\n") == 1
