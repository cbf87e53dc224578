"""Stated confidence against the share that was right, as bins and as a picture."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

EDGES = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99, 1.0)


@dataclass(frozen=True)
class Bin:
    """Lines stated from ``low`` to below ``high`` (the last bin: up to and with 1)."""

    low: float
    high: float
    count: int
    right: int
    stated: float  # mean confidence

    @property
    def rate(self) -> float:
        return self.right / self.count


def bins(stated: Sequence[tuple[float, bool]], edges: Sequence[float] = EDGES) -> list[Bin]:
    """The bins that hold any of the (confidence, right) pairs."""
    found = []
    for low, high in zip(edges, edges[1:], strict=False):
        last = high == edges[-1]
        inside = [(p, right) for p, right in stated if low <= p < high or (last and p == high)]
        if inside:
            mean = sum(p for p, _ in inside) / len(inside)
            found.append(Bin(low, high, len(inside), sum(r for _, r in inside), mean))
    return found


def draw(series: Mapping[str, Sequence[tuple[float, bool]]], file: Path) -> None:
    """One reliability diagram for each named series, side by side, with counts under them.

    ``file`` ends in .svg, .png or what else matplotlib writes.
    """
    from matplotlib.figure import Figure

    figure = Figure(figsize=(4.2 * len(series), 5), layout="constrained")
    axes = figure.subplots(
        2, len(series), squeeze=False, sharex=True, height_ratios=(3, 1)
    )  # a column for each series
    for (name, stated), above, below in zip(series.items(), *axes, strict=True):
        some = bins(stated)
        above.plot([0, 1], [0, 1], color="0.6", linestyle="dashed", label="stated = right")
        above.plot([one.stated for one in some], [one.rate for one in some], "o-", label="measured")
        above.set(title=f"{name}: {len(stated)} lines", ylabel="share read exactly", ylim=(0, 1.05))
        above.legend(loc="upper left", frameon=False)
        below.bar(
            [one.low for one in some],
            [one.count for one in some],
            width=[one.high - one.low for one in some],
            align="edge",
            edgecolor="white",
        )
        for one in some:
            middle = (one.low + one.high) / 2
            below.annotate(str(one.count), (middle, one.count), ha="center", va="bottom", size=7)
        below.set(xlabel="stated confidence", ylabel="lines", xlim=(0, 1))
        below.margins(y=0.25)
    figure.savefig(file)
