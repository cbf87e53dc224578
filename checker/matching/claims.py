"""Words that claim a connection: "C1 and C2 in series"."""

from __future__ import annotations

from dataclasses import replace

from checker.matching.circuit import Key
from checker.matching.context import Subject
from checker.matching.diagnose import Diagnosis
from checker.matching.finding import Finding
from checker.matching.labels import meaning
from checker.matching.state import State
from checker.notation.tree import Words


def claim_of(words: Words, shown: str, state: State) -> Finding:
    """Words; "C1 and C2 in series" can be checked against the network."""
    quiet = Finding(words.start, words.end, shown, "words", claim=True)
    said = set(words.phrase.words)
    series, parallel = "series" in said, bool(said & {"parallel", "∥"})
    circuit = state.working.circuit
    its = [
        meaning(circuit, s, state.bound, state.usage)
        for s in words.phrase.symbols
        if s.letter == "C"
    ]
    groups = [m.groups[0] for m in its if m is not None and m.certain and len(m.groups) == 1]
    if series is parallel or len(groups) < 2 or len(groups) != len(its):
        return quiet
    mask = 0
    for group in groups:
        mask |= group
    home = circuit.parts(mask)
    if home is None or set(home.members) != set(groups):
        return quiet
    if home.is_series is series:
        return replace(quiet, status="follows", keys=(Key("C", mask),))
    kind = "parallel-combined-as-series" if series else "series-combined-as-parallel"
    diagnosis = Diagnosis(Subject(Key("C", mask)), (kind,), 1.0, None)
    return replace(
        quiet, status="wrong", keys=(Key("C", mask),), diagnosis=diagnosis, written=shown
    )
