"""Things on a page that are not working: circuit sketches, prose, names, doodles."""

from __future__ import annotations

import numpy as np

from checker.training import hand_drawn
from checker.training.compose import Setter, Style
from checker.training.hands import Hand
from checker.training.marks import Mark

Rng = np.random.Generator

PROSE = (
    "the first thing we notice here that current cannot flow through lower branch after a long "
    "time because plates are fully charged please see my other sheet for question two sorry "
    "ran out of space homework week physics section name date problem page number teacher asked "
    "remember to ask about this tomorrow not sure why maybe wrong look again figure below shows "
    "wires drawn before switch closed battery ideal assume nothing leaks kitchen table notebook"
).split()


def circuit(rng: Rng, hand: Hand, style: Style, left: float, top: float, width: float, height: float
            ) -> tuple[Mark, ...]:  # fmt: skip
    """A freehand network of capacitors in a frame of wires, with labels; mm."""
    strokes: list[np.ndarray] = []
    marks: list[Mark] = []
    unit = style.height

    def wire(*corners: tuple[float, float]) -> None:
        for (x0, y0), (x1, y1) in zip(corners, corners[1:], strict=False):
            length = float(np.hypot(x1 - x0, y1 - y0))
            if length < 0.3:
                continue
            path = hand_drawn.line(rng, length / unit) * unit
            turn = np.arctan2(y1 - y0, x1 - x0)
            rotate = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
            strokes.append((path @ rotate + [x0, y0]).astype(np.float32))

    def part(x0: float, y0: float, x1: float, y1: float) -> None:
        """A capacitor (or sometimes a cell) half-way along a wire, with its label."""
        mid = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
        along = np.array([x1 - x0, y1 - y0])
        span = float(np.hypot(*along))
        if span < 3 * unit:
            wire((x0, y0), (x1, y1))
            return
        along = along / span
        across = np.array([-along[1], along[0]])
        gap, plate = unit * rng.uniform(0.2, 0.4), unit * rng.uniform(0.5, 1.1)
        wire((x0, y0), tuple(mid - along * gap))
        wire(tuple(mid + along * gap), (x1, y1))
        for sign, size in ((-1, 1.0), (1, float(rng.choice([1.0, 0.5])))):
            at = mid + sign * along * gap
            wire(tuple(at - across * plate * size), tuple(at + across * plate * size))
        label = f"C_{{{rng.integers(1, 9)}}}" if rng.random() < 0.6 else f"{rng.integers(1, 30)}µF"
        if rng.random() < 0.3:
            label = f"{rng.integers(3, 48)}V"
        place = mid + across * plate * rng.uniform(1.1, 1.5) * (-1 if rng.random() < 0.5 else 1)
        written = Setter(hand, style, rng).set_line(label, place[0], place[1], 0.8)
        marks.extend(written.marks)

    right, bottom = left + width, top + height
    rungs = np.sort(
        np.concatenate([[left, right], rng.uniform(left, right, int(rng.integers(0, 3)))])
    )
    for x0, x1 in zip(rungs, rungs[1:], strict=False):
        for y in (top, bottom):
            if rng.random() < 0.5:
                part(x0, y, x1, y)
            else:
                wire((x0, y), (x1, y))
    for x in rungs:
        part(x, top, x, bottom)
    marks.append(Mark(tuple(strokes), False, style.pen, style.darkness, style.colour))
    return tuple(marks)


def prose(rng: Rng, words: int) -> str:
    return " ".join(PROSE[int(rng.integers(len(PROSE)))] for _ in range(words))
