"""Everything a line may say: the reader's own candidates, and look-alikes.

A reader hands on a few whole texts.  One that hands on a single text with doubts about its tokens
may mean their look-alikes.  Where several texts are listed nothing is added: of the lines that the
trained reader did not list, none was a mixture of those it did.  A reader that leaves nothing for
texts it did not list is not believed there (UNLISTED).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence, Set
from dataclasses import dataclass, replace

from checker.markup import tokens as split
from checker.matching.rule import (
    LEAST,
    LISTED_REST,
    MOST_READINGS,
    NEVER,
    OUTRIGHT,
    SAME_SWAP,
    SURE,
    UNLISTED,
)
from checker.reading.page import Candidate, Line, Token

# What a character that was read may have been, likeliest first; "" is nothing.  From the errors
# of earlier readers, the last one in hands it had not met.
LOOK_ALIKES: dict[str, tuple[str, ...]] = {
    "0": ("9", "6", "8"), "1": ("2", "3", "4", "7"), "2": ("1", "3", "7"), "3": ("8", "5", "2"),
    "4": ("1", "7", "9", "6"), "5": ("3", "6", "2"), "6": ("0", "8", "5", "3"), "7": ("1", "2"),
    "8": ("2", "3", "6"), "9": ("4", "1", "3", "8"), ".": ("", ","), ",": (".", "4"),
    "m": ("n", "µ"), "u": ("µ", "n"), "n": ("µ", "m", "p"), "µ": ("p", "n"), "p": ("µ", "n"),
    "·": (".", ""), ";": (",",),
    "v": ("V",), "U": ("V", "Q"), "V": ("U",), "Q": ("U",), "L": ("C",), "J": ("F",), ")": ("/",),
}  # fmt: skip
# How often a character is misread with no doubt shown, in hands the reader had not met.
_OFTEN, _SELDOM = {"6": 0.006, "m": 0.003, "p": 0.003, "u": 0.003}, 0.0006
_DIGITS = tuple("0123456789")
_LETTERS = tuple("CQVUEWq")  # of quantities: a digit after one is an index
_TIMES = ("×", "·", "*")
_THOUSANDS = ("3", "6", "9")  # exponents of
_EQUALS_FOR_MINUS = 0.003  # odds of a minus where = was read and another = comes after
_NEXT = 1 / 3  # how likely each look-alike is beside the one before
_AGAIN = 0.5  # how often all digits of a kind in a line are misread alike where one is
_POINT_SHARE = 0.12  # of the odds of a digit, that a point before it was overlooked
_LOST_POINT = 0.0004  # the same at least


Swap = tuple[str, str]  # what was read, and what was meant


@dataclass(frozen=True)
class Edit:
    """Tokens ``start`` to ``end`` of the first reading replaced; ``odds`` against leaving them."""

    start: int
    end: int
    new: tuple[str, ...]
    odds: float


@dataclass(frozen=True)
class Alternatives:
    """The readings of a line, best first; ``rest``: the probability that it says none of them.
    ``faint``: what the reader listed besides, too unlikely to count unless the others are wrong."""

    readings: tuple[Candidate, ...]
    rest: float
    faint: tuple[Candidate, ...] = ()


def alternatives(line: Line) -> Alternatives:
    """The readings of a line with their probabilities."""
    first = line.candidates[0]
    if first.probability >= SURE:
        return Alternatives((first,), 0.0)
    listed = _distinct(_sensible(candidate) for candidate in line.candidates)
    first = listed[0]
    room = (1 - first.probability) * (1 - UNLISTED)
    scale = min(1.0, room / max(sum(c.probability for c in listed[1:]), 1e-9))
    listed[1:] = [replace(c, probability=c.probability * scale) for c in listed[1:]]
    more: dict[str, Candidate] = {}
    for edit in _doubted(_tokens(first)) if len(listed) == 1 else ():
        candidate = edited(first, [edit])
        if candidate.text != first.text:
            more.setdefault(candidate.text, candidate)
    rest = max(1 - sum(c.probability for c in listed), OUTRIGHT)
    total = sum(c.probability for c in more.values())
    scale = min(1.0, LISTED_REST * rest / total) if total else 1.0
    added = [replace(c, probability=c.probability * scale) for c in more.values()]
    rest -= sum(c.probability for c in added)
    readings = sorted([*listed, *added], key=lambda c: -c.probability)[:MOST_READINGS]
    kept = tuple(c for c in readings if c is first or c.probability >= LEAST)
    kept = kept or (first,)  # all may be hopeless
    faint = tuple(c for c in listed if c not in kept and c.probability > NEVER)
    return Alternatives(kept, rest, faint)


def swaps(read: Candidate, meant: Candidate) -> frozenset[Swap]:
    """The signs that stand for others where a line means something else than what was read; none
    where it has more signs or fewer."""
    one, other = _tokens(read), _tokens(meant)
    if len(one) != len(other):
        return frozenset()
    return frozenset(
        (a.text, b.text) for a, b in zip(one, other, strict=True) if a.text != b.text
    )


def look_alikes(reading: Candidate, seen: Set[Swap] = frozenset()) -> Iterator[Candidate]:
    """Every reading that differs in one number, sign or prefix for a look-alike, with what it is
    worth beside the reading itself; or in all digits of a kind that stand alone before a point, or
    elsewhere, for a hand may write one like another.  Labels stay as they are: another one may
    mean anything.  ``seen``: what was read for something else before in the same hand."""
    base = _tokens(reading)
    texts = [token.text for token in base]
    in_label = False
    same: dict[tuple[str, str, bool], list[Edit]] = {}
    for place, token in enumerate(base):
        before = base[place - 1].text if place else ""
        if token.text == "_{" or token.text == "}":
            in_label = token.text == "_{"
        if in_label or (token.text.isdigit() and before in _LETTERS):
            continue
        if _is_of_ten(texts, place):  # after × no other number has such a power
            continue
        least = _OFTEN.get(token.text, _SELDOM)
        doubt = max(1 - token.probability, least) if token.probability < 1 else 0.0
        odds = doubt / max(token.probability, doubt)
        if token.text.isdigit() and before.isdigit():
            lost = max(odds * _POINT_SHARE, _LOST_POINT) if odds else 0.0
            yield edited(reading, [Edit(place, place, (".",), lost)])
        if token.text == "=" and any(later.text == "=" for later in base[place + 1 :]):
            yield edited(reading, [Edit(place, place + 1, ("-",), _EQUALS_FOR_MINUS)])
        after = base[place + 1].text if place + 1 < len(base) else ""
        leads = after == "." and not before.isdigit()
        others = LOOK_ALIKES.get(token.text, ())
        if token.text == "C" and before.isdigit() and after.isdigit():
            others = ("0",)
        if before in ("^{", "-") and after == "}":  # most powers of ten are of a thousand
            others = tuple(sorted(others, key=lambda other: other not in _THOUSANDS))
        for rank, other in enumerate(others):
            if other == "0" and before not in (*_DIGITS, ".") and after in _DIGITS:
                continue  # no number begins so
            share = _NEXT**rank * (1 - _NEXT) / (1 - _NEXT ** len(others))
            its_odds = odds * share
            if (token.text, other) in seen:
                its_odds = max(its_odds, SAME_SWAP)
            edit = Edit(place, place + 1, (other,) if other else (), its_odds)
            yield edited(reading, [edit])
            if token.text.isdigit():
                same.setdefault((token.text, other, leads), []).append(edit)
    for edits in same.values():
        if len(edits) > 1:
            likeliest = max(edit.odds for edit in edits) * _AGAIN
            again = [replace(edit, odds=1.0) for edit in edits]
            whole = edited(reading, again)
            yield replace(whole, probability=reading.probability * likeliest)


def _is_of_ten(texts: Sequence[str], place: int) -> bool:
    """Whether a digit belongs to the 10 of a power of ten."""
    start = place if texts[place] == "1" else place - 1
    ten = list(texts[start : start + 3]) == ["1", "0", "^{"]
    return ten and start > 0 and texts[start - 1] in _TIMES


def edited(reading: Candidate, edits: Sequence[Edit]) -> Candidate:
    """A reading with some of its tokens replaced; the new ones stand where the old ones stood."""
    tokens: list[Token] = []
    base, at, probability = _tokens(reading), 0, reading.probability
    for edit in sorted(edits, key=lambda edit: edit.start):
        tokens += base[at : edit.start]
        near = base[min(edit.start, len(base) - 1)]
        tokens += [replace(near, text=text) for text in edit.new]
        at = edit.end
        probability *= edit.odds
    tokens += base[at:]
    return Candidate("".join(t.text for t in tokens), probability, tuple(tokens))


def _sensible(candidate: Candidate) -> Candidate:
    """A reading with what nobody writes put right: "=" and "→" in an exponent can only be a minus,
    a number like 20 with an exponent other than 2 after × can only be 10, and 2/2 before a letter
    only 1/2."""
    if "^{" not in candidate.text and "{2}/{2}" not in candidate.text:
        return candidate
    tokens = _tokens(candidate)
    texts = [token.text for token in tokens]
    fixed = []
    for place, text in enumerate(texts):
        if text in ("=", "→") and place and texts[place - 1] == "^{":
            fixed.append(Edit(place, place + 1, ("-",), 1.0))
        exponent = (
            texts[place + 3 : place + 4] if texts[place + 1 : place + 3] == ["0", "^{"] else []
        )
        power = exponent and exponent != ["2"]
        if power and text in _DIGITS and place and texts[place - 1] in _TIMES:
            fixed.append(Edit(place, place + 1, ("1",), 1.0))
        if _is_misread_ten(texts, place):
            fixed.append(Edit(place, place + 2, ("1", "0"), 1.0))
        half = texts[place - 1 : place + 4] == ["{", "2", "}/{", "2", "}"]
        if half and texts[place + 4 : place + 5] and texts[place + 4] in _LETTERS:
            fixed.append(Edit(place, place + 1, ("1",), 1.0))
    return edited(candidate, fixed) if fixed else candidate


def _is_misread_ten(texts: Sequence[str], place: int) -> bool:
    """Whether two digits from ``place`` on, after ×, have an exponent that only 10 has: 36^-6."""
    digits, after = texts[place : place + 2], texts[place + 2 : place + 5]
    if place == 0 or texts[place - 1] not in _TIMES or after[:2] != ["^{", "-"]:
        return False
    two = all(digit in _DIGITS for digit in digits) and digits[1] != "0"
    return two and "".join(after[2:]) in _THOUSANDS


def _distinct(candidates: Iterable[Candidate]) -> list[Candidate]:
    """The candidates with those of one text taken together, likeliest first."""
    found: dict[str, Candidate] = {}
    for candidate in candidates:
        before = found.get(candidate.text)
        its = candidate.probability + (before.probability if before else 0.0)
        found[candidate.text] = replace(before or candidate, probability=its)
    return sorted(found.values(), key=lambda candidate: -candidate.probability)


def _tokens(candidate: Candidate) -> tuple[Token, ...]:
    """The reader's tokens; characters of unknown place where it gave none."""
    if candidate.tokens and "".join(t.text for t in candidate.tokens) == candidate.text:
        return candidate.tokens
    parts = split(candidate.text)
    if "".join(parts) != candidate.text:
        parts = list(candidate.text)
    each = candidate.probability ** (1 / max(len(parts), 1))
    return tuple(Token(part, (0.0, 0.0, 0.0, 0.0), each) for part in parts)


def _doubted(base: Sequence[Token]) -> Iterator[Edit]:
    """Look-alikes of tokens in doubt."""
    for place, token in enumerate(base):
        others = LOOK_ALIKES.get(token.text, ())
        if not 0 < token.probability < 1 or not others:
            continue
        odds = (1 - token.probability) / token.probability / len(others)
        if odds >= LEAST:
            yield from (Edit(place, place + 1, (o,) if o else (), odds) for o in others)
