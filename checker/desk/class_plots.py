"""Plots of a class as HTML: lengths and numbers say everything, so they survive a grey printer."""

from __future__ import annotations

from html import escape

from checker.report.class_counts import ClassCounts
from checker.report.verdict_marks import MARKS, OUTCOME_MARK, OUTCOMES

_INK = "#20262d"
_SHADES = ("#ffffff", "#dfe3f1", "#b9c2e0", "#8794c6", "#2f4b9b")  # light to dark, also in grey
STYLE = """<style>
table.plot { border-collapse: collapse; font-size: 0.95rem; }
table.plot th { text-align: left; font-weight: 500; padding: 0.25rem 0.8rem 0.25rem 0; }
table.plot td.bar { width: 20rem; max-width: 45vw; }
table.plot td.cell { text-align: center; min-width: 4rem; border: 1px solid #8a9099;
                     padding: 0.4rem; font-weight: 600; }
table.plot .length { height: 1.1rem; border: 1px solid; box-sizing: border-box; }
.plot-wide { overflow-x: auto; }
</style>"""


def outcomes_html(counts: ClassCounts) -> str:
    """A bar for each outcome."""
    total = sum(counts.outcomes.values()) or 1
    rows = "".join(
        f"<tr><th scope='row'>{MARKS[OUTCOME_MARK[name]].sign} {escape(name)}</th>"
        f"<td>{counts.outcomes.get(name, 0)}</td>"
        f"<td class='bar'>{_bar(name, counts.outcomes.get(name, 0) / total)}</td></tr>"
        for name in OUTCOMES
    )
    return f"{STYLE}<table class='plot' aria-label='Outcomes'>{rows}</table>"


def _bar(outcome: str, share: float) -> str:
    if not share:
        return ""
    colour = MARKS[OUTCOME_MARK[outcome]].colour
    return f"<div class='length' style='width:{100 * share:.1f}%;background:{colour}'></div>"


def slips_html(counts: ClassCounts) -> str:
    """Kinds down, stages across; the darker a cell, the more, and its number stands in it."""
    found = {(cell.stage, cell.kind): cell.count for cell in counts.cells}
    most = max(found.values(), default=1)
    head = "".join(f"<th scope='col'>{escape(stage)}</th>" for stage in counts.stages)
    rows = "".join(
        f"<tr><th scope='row'>{escape(kind)}</th>"
        + "".join(_cell(found.get((stage, kind), 0), most) for stage in counts.stages)
        + "</tr>"
        for kind in counts.kinds
    )
    return (
        f"{STYLE}<div class='plot-wide' tabindex='0'><table class='plot' "
        f"aria-label='First slips by kind and stage'><tr><th></th>{head}</tr>{rows}</table></div>"
    )


def _cell(count: int, most: int) -> str:
    shade = -(-count * (len(_SHADES) - 1) // most)
    ink = "#ffffff" if shade == len(_SHADES) - 1 else _INK
    colours = f"background:{_SHADES[shade]};color:{ink}"
    return f"<td class='cell' style='{colours}'>{count or ''}</td>"
