"""Whether the reader reads what is written, or what would be right."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from checker.reading.page import LineReader
from checker.training.content import Writer
from checker.training.lines import Sample, make_lines


def blindness(reader: LineReader, lines: int, data: Path, fonts: Path) -> str:
    """Lines whose arithmetic is right against lines whose arithmetic is wrong, same hands: a reader
    that had learned arithmetic would read the wrong ones worse."""
    rng = np.random.default_rng(11)
    source = make_lines("validation", data, fonts, rng)
    pairs: list[tuple[Sample, bool]] = []
    while len(pairs) < lines:
        text = Writer(rng).arithmetic(right := bool(len(pairs) % 2))
        if sample := source.sample(text):
            pairs.append((sample, right))
    found = reader.read([sample.image for sample, _ in pairs])
    rates = []
    for side in (True, False):
        exact = [
            candidates[0].text == sample.markup
            for candidates, (sample, right) in zip(found, pairs, strict=True)
            if right == side
        ]
        rates.append(sum(exact) / len(exact))
    spread = 1.96 * np.sqrt(sum(rate * (1 - rate) for rate in rates) / (len(pairs) / 2))
    return (
        f"arithmetic lines read: right {100 * rates[0]:.1f} %, wrong {100 * rates[1]:.1f} % "
        f"(difference {100 * (rates[0] - rates[1]):+.1f}; 95 % of chance ±{100 * spread:.1f})"
    )
