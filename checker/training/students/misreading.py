"""Pages as a reader would hand them on: exact, or n-best with confusions and honest probabilities.

The confusions and the shape of the errors are those of the trained line reader on 2,635
straightened lines in training hands, leaving out the 3 % that it could not read at all: 2.1 % of
the characters wrong, in clusters (75 % of the lines exact, 15 % with one wrong character, 10 %
with more), the truth among its four candidates for half of the lines that were not exact, digits
safer than signs and letters, and one wrong character in twenty stated as certain.  The tests hold
this module to those figures.
"""

from __future__ import annotations

import heapq
import random
from collections.abc import Iterator
from math import prod

from checker import markup
from checker.reading.page import Candidate, Line, Token
from checker.training.students.record import StudentPage

# For every token: how often it is misread, in per cent where 2 % of all characters are, and as
# what, with how often; rare confusions are left out.  "" is overlooked.
CONFUSIONS: dict[str, tuple[float, dict[str, int]]] = {
    "0": (0.4, {"": 3, "6": 1, "9": 1, "O": 1, "8": 1}),
    "1": (1.4, {"7": 15, "": 9, "/": 5, "(": 5, "A": 4, "9": 4, "4": 3, "2": 3}),
    "2": (0.8, {"7": 6, "1": 5, "8": 2, "x": 2, "L": 2, "": 2, "5": 1}),
    "3": (1.0, {"5": 6, "9": 5, "1": 4, "6": 2, "2": 2, "8": 2}),
    "4": (1.0, {"9": 8, "y": 3, "1": 3, "6": 1, "8": 1, "u": 1}),
    "5": (0.7, {"s": 4, "": 3, "6": 1, "3": 1}),
    "6": (0.5, {"5": 1, "4": 1, "8": 1, "0": 1, "b": 1}),
    "7": (1.2, {"1": 3, "2": 2, "4": 2, "": 2, "9": 1}),
    "8": (0.5, {"9": 2, "6": 2, "0": 1, "3": 1}),
    "9": (0.8, {"0": 1, "5": 1, "6": 1, "q": 1, "4": 2}),
    ".": (1.3, {"": 23, ",": 6, "·": 1, "1": 1}),
    ",": (5.0, {".": 21, "": 2, ";": 2, "1": 1}),
    "-": (9.0, {"=": 24, "→": 12, "·": 1, "": 1}),
    "=": (0.3, {"-": 2, "≈": 1}),
    "≈": (2.0, {"⇒": 2, "=": 2}),
    "·": (8.0, {"": 12, ".": 10, "=": 4, "+": 1, "*": 1}),
    "×": (1.0, {"*": 2, "x": 2, "+": 1}),
    "+": (0.3, {"t": 1, "4": 1}),
    "/": (4.0, {")": 10, "1": 6, "∥": 1}),
    "(": (1.0, {"/": 3, "C": 1, "1": 1}),
    ")": (1.0, {"": 2, "1": 1}),
    "'": (15.0, {"": 21, "1": 2}),
    ";": (8.0, {",": 7, "·": 4}),
    "C": (0.6, {"L": 4, "(": 4, "Q": 3, "c": 2, "": 1}),
    "Q": (0.7, {"0": 4, "q": 3}),
    "V": (2.0, {"v": 19, "U": 7, "·v": 5}),
    "U": (4.0, {"4": 2, "V": 2}),
    "q": (1.3, {"9": 3}),
    "µ": (0.3, {"u": 1, "m": 1}),
    "n": (3.5, {"m": 9, "u": 5, "4": 2}),
    "p": (1.0, {"1": 1, "P": 1}),
    "F": (0.4, {"J": 2, "E": 1}),
    "J": (2.0, {"g": 1, "T": 1}),
    "e": (5.0, {"a": 15, "E": 8, "x": 3, "p": 3, "s": 1}),
    "s": (2.5, {"": 3, "a": 3, "S": 2, "5": 1}),
    "a": (2.0, {"e": 1, "A": 2, "o": 1}),
    "b": (15.0, {"6": 6, "D": 2, "1": 1}),
    "d": (15.0, {"0": 5, "1": 5, "a": 4, "L": 4}),
    "c": (15.0, {"6": 5, "e": 5, "C": 4}),
    "f": (15.0, {"F": 5, "E": 4, "T": 3}),
    "A": (9.0, {"a": 6, "4": 3}),
    "B": (4.0, {"8": 3, "13": 1}),
    "T": (4.0, {"7": 3, "t": 1}),
    "G": (50.0, {"6": 9}),
    "Δ": (1.0, {"A": 1}),
    "∥": (3.0, {"11": 1, "H": 1}),
    "→": (3.0, {"-": 1}),
    "^{2}": (3.0, {"": 8}),
    "^{-1}": (5.0, {"": 5, "'": 2}),
}
SLIPPED_IN = {" ": 45, "·": 37, ".": 9, "'": 5, "1": 5}  # where nothing is written
SLIPPING = 0.16  # how often, in per cent at any place between two tokens
USUAL = 1.6  # error rate, in per cent, at which the tables hold: braces are never misread here, so
# that 2 % wrong characters means that all others are misread a little more often
OUTRIGHT = 0.05  # share of the errors at which no doubt is shown
UNLISTED = 0.25  # share of the errors in doubt at which the truth is not the second reading
GARBLED = 0.13  # share of lines with a few characters in a row in doubt together
GARBLED_LENGTH = (3, 7)
GARBLED_UNLISTED = 0.7  # as UNLISTED, for those
CERTAIN = 0.999  # what is stated of a character that is not in doubt
BEAMS = 4  # candidates of a line
LEAST = 0.002
# Errors come in clusters, on lines written badly: share of lines, error rate relative to the mean.
DIFFICULTY = ((0.60, 0.3), (0.32, 1.3), (0.08, 5.05))
_SCRIPTS = ("^{2}", "^{-1}")

Choice = tuple[tuple[str, float], tuple[str, float]]


def exact(page: StudentPage, typed: bool = False) -> tuple[Line, ...]:
    """The page read without fault, as markup or as typed text; ``line`` numbers the lines."""
    return tuple(
        Line(
            0,
            (Candidate(line.text if typed else line.markup, 1.0),),
            line=number,
            role="struck" if line.struck else "working",
        )
        for number, line in enumerate(page.lines)
    )


def misread(page: StudentPage, seed: int, error_rate: float = 0.02) -> tuple[Line, ...]:
    """The page as read with ``error_rate`` wrong characters in the best candidates."""
    rng = random.Random(f"misread {seed} {page.seed}")
    lines = []
    for number, line in enumerate(page.lines):
        if line.struck:
            lines.append(Line(0, (Candidate("<struck>", 0.97),), line=number, role="struck"))
        else:
            harder = rng.choices(*zip(*((d, s) for s, d in DIFFICULTY), strict=True))[0]
            candidates = tuple(read_line(line.markup, rng, error_rate * harder))
            lines.append(Line(0, candidates, line=number))
    return tuple(lines)


def read_line(text: str, rng: random.Random, error_rate: float) -> list[Candidate]:
    """Candidates of one line, best first.

    Some characters are in doubt between two readings; the better of them is right as often as its
    probability says, so a candidate of probability p is the truth with frequency p.
    """
    pieces = _pieces(text)
    rate = error_rate * 100 / USUAL
    choices: dict[int, Choice] = {}
    if rng.random() < GARBLED * rate:
        _garble(pieces, choices, rng)
    sure = 1.0
    for k, piece in enumerate(pieces):
        percent, table = CONFUSIONS.get(piece, (SLIPPING, SLIPPED_IN) if piece == "" else (0, {}))
        chance = min(0.45, percent / 100 * rate)
        if not chance or k in choices:
            continue
        others = _draw(table, rng)
        roll = rng.random()
        # The better reading of a doubt is wrong in 0.5/1.6 of the cases (see p below).
        doubt = min(0.9, chance * (1 - OUTRIGHT) * 1.6 / 0.5)
        if roll < chance * OUTRIGHT:
            pieces[k] = others[0]
        elif roll < chance * OUTRIGHT + doubt:
            choices[k] = _doubt(piece, others, 1 - 0.5 * rng.random() ** 0.6, UNLISTED, rng)
        sure *= 1 - chance * OUTRIGHT
    found: dict[str, Candidate] = {}  # two losses may give one text
    for probability, picks in _best(list(choices.values())):
        read = [(piece, CERTAIN) for piece in pieces]
        for k, pick in zip(choices, picks, strict=True):
            read[k] = choices[k][pick]
        whole = "".join(piece for piece, _p in read)
        before = found[whole].probability if whole in found else 0.0
        tokens = _tokens(read)
        found[whole] = Candidate(whole, before + sure * probability, tokens)
    return sorted(found.values(), key=lambda candidate: -candidate.probability)


def _doubt(
    piece: str, others: list[str], p: float, unlisted: float, rng: random.Random
) -> Choice:
    """Two readings of a piece, the better with probability ``p``; the truth may be a third."""
    ranked = [piece, *others]
    if rng.random() >= p:
        ranked = [others[0], others[1] if rng.random() < unlisted else piece]
    return (ranked[0], p), (ranked[1], (1 - p) * (1 - unlisted))


def _garble(pieces: list[str], choices: dict[int, Choice], rng: random.Random) -> None:
    """Take a few characters in a row together as one doubt."""
    start = rng.randrange(len(pieces))
    end = start
    while end < min(len(pieces), start + 2 * rng.randint(*GARBLED_LENGTH)):
        if pieces[end] in markup.STRUCTURE:
            break
        end += 1
    run = pieces[start:end]
    if len(run) < 5:
        return
    others: list[str] = []
    while len(others) < 2:
        other = "".join(
            "" if (roll := rng.random()) < 0.35 else piece if roll < 0.6
            else _draw(CONFUSIONS[piece][1], rng)[0] if piece in CONFUSIONS else piece
            for piece in run
        )  # fmt: skip
        if other != "".join(run) and other not in others:
            others.append(other)
    pieces[start:end] = ["".join(run)]
    choices[start] = _doubt(
        pieces[start], others, 0.35 + 0.35 * rng.random(), GARBLED_UNLISTED, rng
    )


def _pieces(text: str) -> list[str]:
    """Tokens, a square or an inverse as one, with "" where something may be slipped in."""
    tokens = markup.tokens(text)
    pieces: list[str] = []
    at = 0
    while at < len(tokens):
        script = next((s for s in _SCRIPTS if tokens[at:at + len(s) - 1] == markup.tokens(s)), None)
        pieces += [script or tokens[at], ""]
        at += len(markup.tokens(script)) if script else 1
    return pieces[:-1]


def _draw(table: dict[str, int], rng: random.Random) -> list[str]:
    """Two confusions, the likelier mostly first."""
    first = rng.choices(list(table), list(table.values()))[0]
    rest = {text: weight for text, weight in table.items() if text != first}
    return [first, rng.choices(list(rest), list(rest.values()))[0] if rest else first + "."]


def _tokens(read: list[tuple[str, float]]) -> tuple[Token, ...]:
    tokens: list[Token] = []
    overlooked = 1.0  # that something was overlooked shows in what comes next
    for piece, p in read:
        its = markup.tokens(piece)
        tokens += [Token(token, (0.0, 0.0, 0.0, 0.0), min(p, overlooked)) for token in its]
        overlooked = 1.0 if its else min(p, overlooked)
    return tuple(tokens)


def _best(choices: list[Choice]) -> Iterator[tuple[float, tuple[int, ...]]]:
    """The most probable combinations of independent two-way choices, best first."""
    # Turning a choice to its second reading costs a fixed factor; cheapest sets of turns first.
    order = sorted(range(len(choices)), key=lambda k: choices[k][1][1] / choices[k][0][1])[::-1]
    factors = [choices[k][1][1] / choices[k][0][1] for k in order]
    top = prod(c[0][1] for c in choices)
    heap: list[tuple[float, tuple[int, ...]]] = [(-top, ())]
    for _ in range(BEAMS):
        if not heap:
            return
        probability, turned = heapq.heappop(heap)
        if -probability < LEAST and turned:
            return
        picks = [0] * len(choices)
        for place in turned:
            picks[order[place]] = 1
        yield -probability, tuple(picks)
        last = turned[-1] if turned else -1
        if last + 1 < len(factors):
            heapq.heappush(heap, (probability * factors[last + 1], (*turned, last + 1)))
            if turned:
                swapped = probability / factors[last] * factors[last + 1]
                heapq.heappush(heap, (swapped, (*turned[:-1], last + 1)))
