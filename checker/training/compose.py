"""Sets a line of markup in a hand: from tokens to ink in millimetres, with a box for every token.

Sizes follow what people do on paper: indices about 0.6 of the digit height and a third below the
line, fraction bars at the height of the equals sign, everything drifting a little.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from checker.markup import tokens as split_tokens
from checker.training import hand_drawn
from checker.training.hands import Hand
from checker.training.marks import Mark

Rng = np.random.Generator
AXIS = -0.46  # height of fraction bars and equals signs above the baseline, in digit heights


@dataclass(frozen=True)
class Style:
    """One writer's pen and page habits."""

    height: float  # digit height, mm
    slant: float  # shear, x per y
    spacing: float  # between glyphs, in digit heights
    wave: float  # baseline wander, in digit heights
    climb: float  # uphill slope of lines
    jitter: float  # per-glyph size and place
    script: float  # size of indices
    drop: float  # how far an index is lowered
    fraction_size: float
    pen: float  # mm
    colour: tuple[int, int, int]
    darkness: float
    stretch: float  # wider or narrower letters
    x_for_times: bool


def draw_style(rng: Rng) -> Style:
    blue = (int(rng.integers(10, 60)), int(rng.integers(20, 80)), int(rng.integers(110, 200)))
    black = tuple(int(v) for v in rng.integers(10, 60, 3))
    pencil = (int(rng.integers(70, 110)),) * 3
    height = float(np.clip(rng.lognormal(np.log(4.2), 0.25), 2.2, 8.0))
    return Style(
        height=height,
        slant=float(rng.normal(0.05, 0.12)),
        spacing=float(np.clip(rng.normal(0.14, 0.07), 0.02, 0.4)),
        wave=float(abs(rng.normal(0, 0.05))),
        climb=float(rng.normal(0.0, 0.015)),
        jitter=float(abs(rng.normal(0, 0.035))),
        script=float(rng.uniform(0.5, 0.78)),
        drop=float(rng.uniform(0.2, 0.45)),
        fraction_size=float(rng.uniform(0.65, 1.0)),
        pen=float(np.clip(height * rng.uniform(0.06, 0.15), 0.25, 0.95)),
        colour=[blue, black, pencil][int(rng.integers(3))],  # type: ignore[arg-type]
        darkness=float(rng.uniform(0.55, 1.0)),
        stretch=float(rng.uniform(0.85, 1.2)),
        x_for_times=bool(rng.random() < 0.3),
    )


@dataclass
class Piece:
    """Ink set so far, in digit heights, with its extent (right, top, bottom)."""

    paths: list[np.ndarray] = field(default_factory=list)
    filled: list[bool] = field(default_factory=list)
    group: list[int] = field(default_factory=list)  # token number of each path
    right: float = 0.0
    top: float = 0.0
    bottom: float = 0.0

    def take(self, other: Piece, dx: float, dy: float) -> None:
        shift = np.array([dx, dy], np.float32)
        self.paths += [path + shift for path in other.paths]
        self.filled += other.filled
        self.group += other.group
        self.right = max(self.right, other.right + dx)
        self.top = min(self.top, other.top + dy)
        self.bottom = max(self.bottom, other.bottom + dy)


@dataclass(frozen=True)
class Written:
    """One line on the sheet, mm: ink, token boxes (nan for structure), middle line and extent."""

    markup: str
    marks: tuple[Mark, ...]
    tokens: tuple[str, ...]
    boxes: np.ndarray  # (n, 4) left, top, right, bottom
    centre: np.ndarray  # (k, 2) along the writing axis, left to right
    up: np.ndarray  # (k,) mm from the centre to the top of the ink around there
    down: np.ndarray

    @property
    def box(self) -> tuple[float, float, float, float]:
        points = np.concatenate([path for mark in self.marks for path in mark.paths])
        low, high = points.min(0), points.max(0)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])


class Setter:
    """Sets lines in one hand and style."""

    def __init__(self, hand: Hand, style: Style, rng: Rng) -> None:
        self.hand, self.style, self.rng = hand, style, rng
        self.tokens: list[str] = []
        self.at = 0

    def set_line(self, markup: str, left: float, baseline: float, size: float = 1.0) -> Written:
        """``markup`` with its baseline starting at (left, baseline) mm."""
        self.tokens, self.at = split_tokens(markup), 0
        piece = self._sequence(1.0)
        return self._ink(markup, piece, left, baseline, size)

    # -- layout in digit heights -----------------------------------------------------------------
    def _sequence(self, scale: float) -> Piece:
        out, rng, style = Piece(), self.rng, self.style
        pen = 0.0
        script_from = 0.0  # where a script after the last base may start
        while self.at < len(self.tokens):
            number, token = self.at, self.tokens[self.at]
            if token in ("}", "}/{"):
                break
            self.at += 1
            if token == "{":
                part = self._fraction(scale)
                out.take(part, pen + 0.1 * scale, 0.0)
                pen += part.right + (0.1 + max(style.spacing, 0.05)) * scale
            elif token in ("_{", "^{"):
                small = scale * style.script * float(rng.uniform(0.92, 1.08))
                part = self._sequence(small)
                self.at += 1
                lift = style.drop + float(rng.normal(0, 0.04))
                dy = scale * (lift if token == "_{" else -0.62 + 0.3 * (0.35 - lift))
                start = script_from if token == "^{" and script_from else pen
                out.take(part, start - 0.02 * scale, dy)
                pen = max(pen, start + part.right + style.spacing * 0.6 * scale)
                script_from = start if token == "_{" else 0.0
                continue
            elif token == "  ":
                pen += float(rng.uniform(1.3, 4.5)) * scale
            elif token == " ":
                pen += float(rng.uniform(0.35, 0.8)) * scale
            elif token == "<struck>":
                part = self._struck(scale)
                part.group = [number] * len(part.paths)
                out.take(part, pen, 0.0)
                pen += part.right + 0.25 * scale
            elif token == "<aside>":
                continue
            else:
                part = self._glyph(token, number, scale)
                extra = self._side_room(token) * scale
                out.take(part, pen + extra, float(rng.normal(0, style.jitter)) * scale)
                script_from = pen + extra + part.right * 0.8
                pen += part.right + 2 * extra + style.spacing * scale * float(rng.uniform(0.5, 1.5))
                if token in ":;," and self._ends_a_part() and rng.random() < 0.5:
                    pen += float(rng.uniform(0.1, 0.8)) * scale
                script_from = pen - style.spacing * scale
                continue
            script_from = 0.0
        out.right = max(out.right, pen - style.spacing * scale) if out.paths else pen
        return out

    def _ends_a_part(self) -> bool:
        """Whether the sign just set is no decimal comma: something else than a digit follows."""
        return self.at < len(self.tokens) and not self.tokens[self.at].isdigit()

    def _side_room(self, token: str) -> float:
        if token in "=≈→⇒∴+-×÷±∥":
            return float(self.rng.uniform(0.02, 0.35))
        if token in ".,:;'":
            return float(self.rng.uniform(0.03, 0.2))
        if token in "/()|[]1l":
            return float(self.rng.uniform(0.02, 0.15))
        return float(self.rng.uniform(0.0, 0.06))

    def _glyph(self, character: str, number: int, scale: float) -> Piece:
        if character == "×" and self.style.x_for_times:
            character = "x"
        glyph = self.hand.glyph(character, self.rng)
        size = scale * float(np.exp(self.rng.normal(0, self.style.jitter * 1.2)))
        factor = np.array([size * self.style.stretch, size], np.float32)
        piece = Piece([path * factor for path in glyph.paths], [glyph.filled] * len(glyph.paths),
                      [number] * len(glyph.paths))  # fmt: skip
        piece.right = float(glyph.advance) * size * self.style.stretch
        points = np.concatenate(piece.paths)
        piece.top, piece.bottom = (
            min(float(points[:, 1].min()), 0.0),
            max(float(points[:, 1].max()), 0.0),
        )
        return piece

    def _fraction(self, scale: float) -> Piece:
        rng = self.rng
        number = self.at - 1
        small = scale * max(self.style.fraction_size * float(rng.uniform(0.93, 1.05)), 0.5)
        top = self._sequence(small)
        self.at += 1
        bottom = self._sequence(small)
        self.at += 1
        width = max(top.right, bottom.right) + float(rng.uniform(0.05, 0.5)) * scale
        out = Piece()
        gap = scale * rng.uniform(0.08, 0.3, 2)
        axis = AXIS * scale
        shift = lambda part: (width - part.right) / 2 + float(rng.normal(0, 0.04)) * scale  # noqa: E731
        out.take(top, max(shift(top), 0.0), axis - float(gap[0]) - top.bottom)
        out.take(bottom, max(shift(bottom), 0.0), axis + float(gap[1]) - bottom.top)
        bar = hand_drawn.line(rng, width) + np.array([0.0, axis], np.float32)
        bar[:, 1] += (bar[:, 0] / max(width, 1e-3) - 0.5) * float(rng.normal(0, 0.05)) * scale
        out.take(Piece([bar], [False], [number], width, axis, axis), 0.0, 0.0)
        out.right = max(out.right, width)
        return out

    def _struck(self, scale: float) -> Piece:
        """Something written and crossed out; what it was is nobody's business."""
        rng = self.rng
        inside = Piece()
        pen = 0.0
        for _ in range(int(rng.integers(1, 8))):
            character = "0123456789.=+/CQVµF"[int(rng.integers(19))]
            part = self._glyph(character, 0, scale)
            inside.take(part, pen, 0.0)
            pen += part.right + self.style.spacing * scale
        inside.right = pen
        for path in hand_drawn.scribble(rng, pen, 0.9 * scale):
            inside.paths.append(path - np.array([0.0, 0.95 * scale], np.float32))
            inside.filled.append(False)
        return inside

    # -- to millimetres --------------------------------------------------------------------------
    def _ink(self, markup: str, piece: Piece, left: float, baseline: float, size: float) -> Written:
        rng, style = self.rng, self.style
        mm = style.height * size
        if not piece.paths:
            raise ValueError(f"nothing to write in {markup!r}")
        lengths = [len(path) for path in piece.paths]
        points = np.concatenate(piece.paths).astype(np.float32)
        points[:, 0] -= style.slant * points[:, 1]
        x = points[:, 0]
        span = max(float(x.max()), 1.0)
        phase, turns = rng.uniform(0, 2 * np.pi, 2), rng.uniform(0.1, 0.35, 2)
        wander = lambda at: (  # noqa: E731
            style.wave * (np.sin(at * turns[0] + phase[0]) + np.sin(at * turns[1] + phase[1]))
            - style.climb * at
        )
        grow = float(rng.normal(0, 0.04)) / span  # size drifts along the line
        points[:, 1] = points[:, 1] * (1 + grow * x) + wander(x)
        wobble = _elastic(rng, points)
        points = (points + wobble) * mm + np.array([left, baseline], np.float32)
        paths = np.split(points, np.cumsum(lengths)[:-1])

        marks = self._marks(piece, paths)
        boxes = np.full((len(self.tokens), 4), np.nan)
        for path, number in zip(paths, piece.group, strict=True):
            low, high = path.min(0), path.max(0)
            old = boxes[number]
            boxes[number] = (np.fmin(old[0], low[0]), np.fmin(old[1], low[1]),
                             np.fmax(old[2], high[0]), np.fmax(old[3], high[1]))  # fmt: skip
        along = np.linspace(float(x.min()), float(x.max()), 9)
        centre = np.stack([along, AXIS + wander(along)], 1) * mm + np.array([left, baseline])
        offset = points[:, 1] - np.interp(points[:, 0], centre[:, 0], centre[:, 1])
        up, down = float(-offset.min()), float(offset.max())
        return Written(markup, marks, tuple(self.tokens), boxes, centre,
                       np.full(9, max(up, 0.2 * mm)), np.full(9, max(down, 0.2 * mm)))  # fmt: skip

    def _marks(self, piece: Piece, paths: list[np.ndarray]) -> tuple[Mark, ...]:
        style = self.style
        outlines: dict[int, list[np.ndarray]] = {}
        strokes: list[np.ndarray] = []
        for path, filled, number in zip(paths, piece.filled, piece.group, strict=True):
            if filled:
                outlines.setdefault(number, []).append(path)
            else:
                strokes.append(path)
        marks = [
            Mark(tuple(group), True, 0.0, style.darkness, style.colour)
            for group in outlines.values()
        ]
        if strokes:
            marks.append(Mark(tuple(strokes), False, style.pen, style.darkness, style.colour))
        return tuple(marks)


def _elastic(rng: Rng, points: np.ndarray) -> np.ndarray:
    """A smooth small displacement over the line, so that no two sevens are copies."""
    waves = rng.normal(0, [[2.2], [2.2], [5.0], [5.0]], (4, 2)).astype(np.float32)
    angles = points @ waves.T + rng.uniform(0, 2 * np.pi, 4).astype(np.float32)
    return np.sin(angles) @ rng.normal(0, 0.009, (4, 2)).astype(np.float32)
