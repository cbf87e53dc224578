"""Wrong lines that may only be misread."""

from __future__ import annotations

from checker.matching.readings import ISOLATED, SURE, ReadLine
from checker.matching.slipped_lines import (
    NOWHERE,
    is_sure,
    is_weak,
    not_understood,
    place_of_first,
    trust,
)


def may_be_misread(read: dict[int, ReadLine], place: int) -> bool:
    """Whether a wrong line of which nothing comes is more likely misread than wrong."""
    order = list(read)
    line = read[place]
    shaky = any(read[p].unsure or not_understood(read[p]) for p in order[: order.index(place)])
    result_right = any(f.status == "follows" and f.result for f in line.findings)
    wrong = next(f for f in line.findings if f.status == "wrong")
    plain = not result_right and (not shaky or ((wrong.named or wrong.whole_label) and wrong.far))
    return line.candidate.probability < (ISOLATED if plain else SURE)


def traced_back(read: dict[int, ReadLine]) -> dict[int, ReadLine]:
    """Where a slip is certain but an earlier line about the same kind of quantity is wrong in
    every reading, the slip is there."""
    first = place_of_first(read)
    if first == NOWHERE or (
        is_sure(read[first]) and not any(line.unsure for line in read.values())
    ):
        return read
    wrong = next(f for f in read[first].findings if f.status == "wrong")
    for place in read:
        if place == first:
            return read
        line = read[place]
        its = [f for f in line.findings if f.status == "wrong"]
        if line.unsure and line.hopeless and its and any(
            f.keys and wrong.keys and f.keys[0].kind == wrong.keys[0].kind and f.far for f in its
        ):  # fmt: skip
            return {**read, place: trust(line)}
    return read


def is_hidden(read: dict[int, ReadLine], place: int) -> bool:
    """Whether the slip may really stand on an earlier line that could not be read: nothing
    explains this one, or that line is about the same quantity."""
    order = list(read)
    before = [read[p] for p in order[: order.index(place)]]
    shaky = [line for line in before if line.unsure or not_understood(line)]
    if not shaky:
        return False
    wrong = next(f for f in read[place].findings if f.status == "wrong")
    same = any(set(f.keys) & set(wrong.keys) for line in shaky for f in line.findings)
    return is_weak(wrong) or same
