"""A disk that is full or cannot be written: one sentence, and what was done is kept.

Real ones: a file system in memory with a bound on its size, mounted where only the run sees it.
"""

import json
import os
import resource
import subprocess
import sys

import pytest

from checker.cli import main
from tests.samples import TYPED
from tests.stack.made import RIGHT, content

PAGES = 40
OUTPUTS = ["triage.csv", "triage.json", "summary.html", "annotated.pdf"]
# Steps in a mount namespace of its own: FOLDER, then a JSON list of ["mount", options] and
# ["run", arguments...]; prints for each run its status, what it said and what is in the store.
NAMESPACE = """
import json, os, pathlib, sqlite3, subprocess, sys
folder, steps = sys.argv[1], json.loads(sys.argv[2])
for what, *words in steps:
    if what == "mount":
        subprocess.run(["mount", "-t", "tmpfs", "-o", words[0], "none", folder], check=True)
    elif what == "fill":
        with open(folder + "/filler", "wb", buffering=0) as file:
            try:
                while file.write(bytes(4096)):
                    pass
            except OSError:
                pass
    else:
        run = subprocess.run([sys.executable, "-m", "checker", *words],
                             capture_output=True, text=True)
        out = pathlib.Path(folder) / "out"
        try:
            store = sqlite3.connect(f"file:{out}/stack.sqlite?mode=ro", uri=True)
            states = dict(store.execute("SELECT state, count(*) FROM pages GROUP BY state"))
            store.close()
        except sqlite3.Error:
            states = None
        files = {f.name: f.read_bytes().hex() for f in out.glob("*.*") if "sqlite" not in f.name}
        print(json.dumps([run.returncode, run.stderr, states, files]))
"""


@pytest.fixture(scope="module")
def given(tmp_path_factory):
    folder = tmp_path_factory.mktemp("given")
    for n in range(PAGES):
        (folder / f"{n:02}.txt").write_text(RIGHT + "\n" * n, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def undisturbed(given, tmp_path_factory):
    out = tmp_path_factory.mktemp("undisturbed") / "out"
    assert main(arguments(given, out)) == 0
    return out


def arguments(given, out):
    return ["triage", str(given), "--problem", str(TYPED.problem), "--out", str(out)]


def in_namespace(folder, steps, **environment):
    """The runs among the steps, each as (status, last line said, states of pages, files)."""
    own = ["unshare", "--map-root-user", "--mount"]
    try:
        able = subprocess.run([*own, "mount", "-t", "tmpfs", "none", folder], capture_output=True)
    except FileNotFoundError:
        pytest.skip("needs util-linux's unshare")
    if able.returncode:
        pytest.skip(f"needs to mount a file system: {able.stderr.decode().strip()}")
    done = subprocess.run(
        [*own, sys.executable, "-c", NAMESPACE, folder, json.dumps(steps)],
        capture_output=True, text=True, check=True, env={**os.environ, **environment},
    )  # fmt: skip
    runs = [json.loads(line) for line in done.stdout.splitlines()]
    return [(status, said.splitlines()[-1], states, files) for status, said, states, files in runs]


def files(out):
    return {name: (out / name).read_bytes().hex() for name in OUTPUTS}


def test_a_full_disk_keeps_what_was_done_and_the_rest_follows(given, undisturbed, tmp_path):
    run = ["run", *arguments(given, tmp_path / "out")]
    steps = [["mount", "size=300k"], run, ["mount", "remount,size=100m"], run]
    full, roomy = in_namespace(tmp_path, steps)
    assert full[0] == 2
    assert full[1].startswith("checker: ") and "disk" in full[1]
    assert 0 < full[2]["read"] < PAGES
    assert roomy[0] == 0
    assert roomy[2] == {"read": PAGES}
    assert {name: roomy[3][name] for name in OUTPUTS} == files(undisturbed)


@pytest.mark.parametrize("parts", ["elsewhere", "there"])
def test_outputs_that_find_no_room_leave_those_of_before(given, undisturbed, tmp_path, parts):
    """Wherever the parts of the PDF are put together."""
    steps = [
        ["mount", "size=100m"],
        ["run", *arguments(given, tmp_path / "out")],
        ["fill"],
        ["run", "export", str(tmp_path / "out")],
    ]
    there = {"TMPDIR": str(tmp_path)} if parts == "there" else {}
    before, after = in_namespace(tmp_path, steps, **there)
    assert before[0] == 0 and after[0] == 2
    assert after[1].startswith("checker: ") and "disk" in after[1]
    assert after[2] == before[2]
    assert {name: after[3][name] for name in OUTPUTS} == files(undisturbed)
    assert not [name for name in after[3] if name.endswith(".part")]


def test_a_file_system_that_cannot_be_written_is_told(given, undisturbed, tmp_path):
    run = ["run", *arguments(given, tmp_path / "out")]
    export = ["run", "export", str(tmp_path / "out")]
    steps = [["mount", "size=100m"], run, ["mount", "remount,ro"], run, export]
    before, again, exported = in_namespace(tmp_path, steps)
    for one in (again, exported):
        assert one[0] == 2
        assert one[1].startswith("checker: ") and "written" in one[1] and "Internal" not in one[1]
        assert one[2:] == before[2:]


def test_a_folder_one_may_not_write_is_told(given, tmp_path):
    out = tmp_path / "out"
    out.mkdir()
    code = (
        "import os, sys\n"
        "from checker.cli import main\n"
        "assert main([*sys.argv[2:], '--out', sys.argv[1] + '/elsewhere']) == 0\n"
        "os.chmod(sys.argv[1] + '/out', 0o555)\n"
        "if os.geteuid() == 0:\n"  # who may write everywhere; all modules are loaded by now
        "    os.seteuid(65534)\n"
        "print('now', file=sys.stderr)\n"
        "sys.exit(main([*sys.argv[2:], '--out', sys.argv[1] + '/out']))\n"
    )
    for folder in (out, given / "00.txt"):  # which nobody has to find
        for parent in folder.parents:
            if parent.stat().st_uid == os.geteuid() and parent.is_relative_to("/tmp/"):
                parent.chmod(0o755)
    given = given / "00.txt"
    done = subprocess.run(
        [sys.executable, "-c", code, tmp_path, *arguments(given, out)[:-2]],
        capture_output=True, text=True,
    )  # fmt: skip
    assert done.returncode == 2, done.stderr
    said = done.stderr.partition("now\n")[2]
    assert said.count("\n") == 1 and "cannot be opened" in said and "written" in said
    assert list(out.iterdir()) == []


def test_a_bound_on_the_size_of_files_keeps_what_was_done(given, undisturbed, tmp_path):
    """As a quota: writing fails with another reason than a full disk."""

    def bounded():
        resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000))

    done = subprocess.run(
        [sys.executable, "-m", "checker", *arguments(given, tmp_path / "out")],
        capture_output=True, text=True, preexec_fn=bounded,
    )  # fmt: skip
    assert done.returncode == 2
    said = done.stderr.splitlines()[-1]
    assert said.startswith("checker: ") and "disk" in said
    states = [row[6] for row in content(tmp_path / "out" / "stack.sqlite")["pages"]]
    assert 0 < states.count("read") < PAGES
    assert main(arguments(given, tmp_path / "out")) == 0
    assert files(tmp_path / "out") == files(undisturbed)
    assert content(tmp_path / "out" / "stack.sqlite") == content(undisturbed / "stack.sqlite")
