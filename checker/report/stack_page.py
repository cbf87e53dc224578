"""A stack as one web page that needs nothing else: outcomes, slips by stage and kind, every page.

No scripts, no links, pictures inside: it can be mailed or kept. Everything read from a page, a file
name or a remark is escaped. What needs a person comes first.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Iterable
from dataclasses import replace
from html import escape
from typing import BinaryIO

from checker.matching.judgement import Outcome
from checker.matching.slips import SLIPS
from checker.problem.reduction import Reference
from checker.report.class_counts import ClassCounts, class_counts
from checker.report.stack_pictures import jpeg, row_picture
from checker.report.stack_rows import StackHead, StackRow
from checker.report.verdict_marks import MARKS, OUTCOME_MARK, OUTCOMES

_ORDER: tuple[Outcome, ...] = ("needs a look", "nothing read", "slip found", "all follows")
_THUMBNAIL = 300  # pixels
_STYLE = """
:root { color: #20262d; background: #fbfaf7; font: 16px/1.45 "DejaVu Sans", system-ui, sans-serif; }
body { max-width: 68rem; margin: 0 auto; padding: 1.5rem 1rem 4rem; }
h1 { font-size: 1.5rem; margin: 0 0 .3rem; } h2 { font-size: 1.1rem; margin: 2.2rem 0 .6rem; }
p { margin: .2rem 0; overflow-wrap: anywhere; } .quiet { color: #56606b; font-size: .88rem; }
.tally { display: flex; flex-wrap: wrap; gap: .8rem; padding: 0; margin: 1rem 0;
  list-style: none; }
.tally li { background: #fff; border: 1px solid #d9d5cb; border-top: .3rem solid;
  padding: .5rem .9rem; min-width: 9rem; }
.tally b { display: block; font-size: 1.7rem; line-height: 1.2; }
.scroll { overflow-x: auto; } table { border-collapse: collapse; background: #fff;
  font-size: .88rem; }
th, td { border: 1px solid #d9d5cb; padding: .3rem .6rem; text-align: left; font-weight: 400; }
td { text-align: right; font-variant-numeric: tabular-nums; } thead th { font-weight: 600; }
.rows { list-style: none; margin: 0; padding: 0; }
.rows > li { background: #fff; border: 1px solid #d9d5cb; border-left: .3rem solid;
  padding: .7rem .9rem; margin: 0 0 .7rem; display: flex; flex-wrap: wrap; gap: 1rem;
  justify-content: space-between; }
.said { color: #20262d; flex: 1 1 20rem; min-width: 0; } .said h3 { margin: 0; font-size: 1rem;
  overflow-wrap: anywhere; white-space: pre-wrap; } .verdict { font-weight: 600; }
.pages { display: flex; gap: .5rem; flex-wrap: wrap; }
.pages img { width: 9.5rem; height: auto; border: 1px solid #d9d5cb; display: block; }
@media print { .rows > li { break-inside: avoid; } }
"""


def write_page(
    head: StackHead, reference: Reference, rows: Iterable[StackRow], out: BinaryIO
) -> None:
    """Write the page; thumbnails are made one row at a time and the full pictures let go."""
    kept: list[StackRow] = []
    entries: dict[Outcome, list[str]] = {outcome: [] for outcome in _ORDER}
    for row in rows:
        entries[row.outcome].append(_entry(row))
        light = tuple(replace(page, picture=None, reading=None) for page in row.pages)
        kept.append(replace(row, pages=light))
    text = io.TextIOWrapper(out, "utf-8", errors="replace", newline="\n")
    text.write(
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; '
        "img-src data:; style-src 'unsafe-inline'\">\n"
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(head.title)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n"
        f"<h1>{escape(head.title)}</h1>\n<p>{_count(len(kept), 'submission')}, "
        f"{_count(sum(len(row.pages) for row in kept), 'page')}.</p>\n"
    )
    if head.caution:
        text.write(f"<p>{escape(head.caution)}</p>\n")
    counts = class_counts(reference, kept)
    text.write(_tally(counts) + _slips(counts) + _not_read(kept))
    for outcome in _ORDER:
        if entries[outcome]:
            text.write(f'<h2>{escape(outcome.capitalize())}</h2>\n<ul class="rows">\n')
            text.writelines(entries[outcome])
            text.write("</ul>\n")
    text.write("</body>\n</html>\n")
    text.detach()


def _count(number: int, thing: str) -> str:
    return f"{number:,} {thing}{'' if number == 1 else 's'}"


def _tally(counts: ClassCounts) -> str:
    items = "".join(
        f'<li style="border-top-color: {mark.colour}"><b>{counts.outcomes.get(outcome, 0)}</b>'
        f'<span aria-hidden="true">{mark.sign}</span> {escape(outcome)}</li>'
        for outcome in _ORDER
        for mark in [MARKS[OUTCOME_MARK[outcome]]]
    )
    return f'<ul class="tally">{items}</ul>\n'


def _slips(counts: ClassCounts) -> str:
    """How many first slips of each kind at each stage of the working."""
    if not counts.cells:
        return ""
    found = {(cell.stage, cell.kind): cell.count for cell in counts.cells}
    stages = [s for s in counts.stages if any(cell.stage == s for cell in counts.cells)]
    header = "".join(f'<th scope="col">{escape(stage)}</th>' for stage in (*stages, "all"))
    body = []
    for kind in counts.kinds:
        numbers = [found.get((stage, kind), 0) for stage in stages]
        cells = "".join(f"<td>{number or ''}</td>" for number in (*numbers, sum(numbers)))
        body.append(f'<tr><th scope="row">{escape(kind)}</th>{cells}</tr>\n')
    return (
        '<h2>First slips by kind and stage</h2>\n<div class="scroll"><table>\n'
        f'<thead><tr><th scope="col">kind</th>{header}</tr></thead>\n'
        f"<tbody>{''.join(body)}</tbody></table></div>\n"
    )


def _not_read(rows: Iterable[StackRow]) -> str:
    lines = [
        f'<tr><th scope="row">{escape(page.source)}</th><th>{escape(page.reason)}</th></tr>\n'
        for row in rows
        for page in row.pages
        if page.reason
    ]
    if not lines:
        return ""
    return (
        f'<h2>Not read</h2>\n<div class="scroll"><table><thead><tr><th scope="col">file</th>'
        f'<th scope="col">why</th></tr></thead>\n<tbody>{"".join(lines)}</tbody></table></div>\n'
    )


def _entry(row: StackRow) -> str:
    mark = MARKS[OUTCOME_MARK[row.outcome]]
    said = [
        f"<h3>{escape(row.name)}</h3>",
        f'<p class="verdict" style="color: {mark.colour}">'
        f'<span aria-hidden="true">{mark.sign}</span> {escape(OUTCOMES[row.outcome])}</p>',
    ]
    if slip := row.slip:
        about = f", {slip.quantity}" if slip.quantity else ""
        expected = f", expected {slip.expected}" if slip.expected is not None else ""
        said.append(f"<p>Step {slip.statement + 1}{escape(about)}: written {escape(slip.written)}"
                    f"{escape(expected)}</p><p>{escape(SLIPS[slip.kind].title)}</p>")  # fmt: skip
    if row.slip and row.carried:
        said.append(f"<p>{_count(row.carried, 'step')} carried forward.</p>")
    if row.mark:
        state = "confirmed" if row.mark.confirmed else "suggested, not confirmed"
        said.append(f"<p>{float(row.mark.points):g} of {float(row.mark.of):g} points ({state})</p>")
    if row.person:
        said.append(f"<p>A person {row.person}. {escape(row.remark)}</p>")
    said += [f'<p class="quiet">{escape(reason)}</p>' for reason in row.reasons]
    pictures = "".join(_thumbnail(row, page) for page in range(len(row.pages)))
    return (
        f'<li style="border-left-color: {mark.colour}"><div class="said">{"".join(said)}</div>'
        f'<div class="pages">{pictures}</div></li>\n'
    )


def _thumbnail(row: StackRow, page: int) -> str:
    picture = row_picture(row, page, _THUMBNAIL)
    if picture is None:
        return ""
    data = base64.b64encode(jpeg(picture, 62)).decode()
    return (
        f'<img width="{picture.width}" height="{picture.height}" '
        f'alt="page {page + 1} with its marks" src="data:image/jpeg;base64,{data}">'
    )
