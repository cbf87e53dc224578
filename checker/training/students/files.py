"""Invented pages as files: the page as typed, its problem file, and the truth."""

from __future__ import annotations

from pathlib import Path

from checker.training.students.circuits import Circuit, connection
from checker.training.students.record import StudentPage


def problem_text(circuit: Circuit, title: str) -> str:
    """The problem file of an invented circuit."""
    find = ", ".join(f'"{wanted}"' for wanted in circuit.find)
    figures = circuit.significant_figures
    rows = [
        f'title = "{title}"',
        f'supply = "{circuit.supply.text}"',
        f'connection = "{connection(circuit.network)}"',
        f"find = [{find}]",
        *([f"significant_figures = {figures}"] if figures else []),
        "",
        "[capacitors]",
        *(f'{name} = "{datum.text}"' for name, datum in circuit.capacitors.items()),
    ]
    return "\n".join(rows) + "\n"


def truth_text(page: StudentPage) -> str:
    """The truth of a page: its lines in markup, the first slip by 0-based line, and its kind."""
    rows = ["lines = ["]
    rows += [f"    '''{line.markup}'''," for line in page.lines]
    rows.append("]")
    struck = [number for number, line in enumerate(page.lines) if line.struck]
    if struck:
        rows.append(f"struck = {struck}")
    if page.first_slip is not None:
        rows.append(f"first_slip = {page.first_slip}")
        rows.append(f'kind = "{page.kind}"')
        equal = sorted(page.kinds_equal - {page.kind})
        if equal:
            rows.append(f"also = [{', '.join(repr(k) for k in equal)}]".replace("'", '"'))
    return "\n".join(rows) + "\n"


def typed_text(page: StudentPage) -> str:
    """The page as a .txt file; what is crossed out on paper is not typed."""
    return "".join(f"{line.text}\n" for line in page.lines if not line.struck)


def write_files(page: StudentPage, folder: Path, name: str) -> tuple[Path, Path, Path]:
    """Write NAME.txt, NAME.problem.toml and NAME.truth.toml; the paths in that order."""
    texts = {
        ".txt": typed_text(page),
        ".problem.toml": problem_text(page.circuit, page.problem.title),
        ".truth.toml": truth_text(page),
    }
    paths = []
    for ending, text in texts.items():
        path = folder / (name + ending)
        path.write_text(text, encoding="utf-8")
        paths.append(path)
    return paths[0], paths[1], paths[2]
