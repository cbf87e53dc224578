"""The trained line reader: handwriting to markup with alternatives, probabilities and boxes.

Two ONNX models ship with the package (made by ``checker.training``, see ``models/CARD.md``): an
encoder that looks at the whole line once, and a decoder that writes the markup one token at a
time.  A beam search keeps the likeliest few texts.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import cached_property
from pathlib import Path

import cv2
import numpy as np
import onnxruntime

from checker.errors import ReaderError
from checker.markup import TOKENS, canonical
from checker.reading.calibration import Calibration, load_calibration
from checker.reading.page import Candidate, Token

MODELS = Path(__file__).parent / "models"
HEIGHT, LONGEST, MOST_TOKENS = 96, 1280, 110
BOS, EOS, SPECIALS = 1, 2, 3
LAYERS, HEADS, HEAD_WIDTH = 3, 8, 32
NEVER = -1e9
HOPELESS = 8.0  # log-probability behind the best text at which another is given up
CELL = 8  # pixels of the frame to a cell of the encoder's
BATCH_PIXELS = 6 * HEIGHT * 704  # keeps memory small and padding rare


class InkReader:
    """``beams`` texts are followed at a time; so many batches of lines as ``threads`` are read
    at once, each with one core: the steps of the decoder are too small to be shared out."""

    name = "ink"

    def __init__(self, models: Path = MODELS, beams: int = 4, threads: int = 2) -> None:
        self.models, self.beams, self.threads = models, beams, threads
        if not (models / "line_encoder.onnx").exists():
            raise ReaderError(
                f"The handwriting model is missing from {models}; install the package again."
            )

    def _session(self, name: str) -> onnxruntime.InferenceSession:
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = 1
        options.log_severity_level = 3
        return onnxruntime.InferenceSession(
            str(self.models / name), options, providers=["CPUExecutionProvider"]
        )

    @cached_property
    def _encoder(self) -> onnxruntime.InferenceSession:
        return self._session("line_encoder.onnx")

    @cached_property
    def _decoder(self) -> onnxruntime.InferenceSession:
        return self._session("line_decoder.onnx")

    @cached_property
    def calibration(self) -> Calibration:
        """See ``LineReader``."""
        return load_calibration(self.models / "calibration.json")

    def read(self, lines: Sequence[np.ndarray]) -> list[tuple[Candidate, ...]]:
        """See ``LineReader``: grey uint8 images, dark ink on light paper."""
        framed = [frame(line) for line in lines]
        order = sorted(range(len(lines)), key=lambda at: -framed[at][0].shape[1])
        batches: list[list[int]] = []
        for at in order:
            widest = framed[batches[-1][0]][0].shape[1] if batches else 0
            if not batches or (len(batches[-1]) + 1) * widest * HEIGHT > BATCH_PIXELS:
                batches.append([])
            batches[-1].append(at)
        _ = self._encoder, self._decoder  # loaded once, not by every thread
        read: dict[int, tuple[Candidate, ...]] = {}
        with ThreadPoolExecutor(self.threads) as pool:
            for found in pool.map(lambda batch: self._read_batch(batch, framed), batches):
                read |= found
        return [read[at] for at in range(len(lines))]

    def _read_batch(
        self, batch: Sequence[int], framed: Sequence[tuple[np.ndarray, float, float]]
    ) -> dict[int, tuple[Candidate, ...]]:
        widths = np.array([framed[at][0].shape[1] for at in batch], np.int64)
        image = np.zeros((len(batch), 1, HEIGHT, int(widths.max())), np.float32)
        for row, at in enumerate(batch):
            ink = framed[at][0]
            image[row, 0, :, : ink.shape[1]] = (255.0 - ink) / 255.0
        hidden, *memory, cells = self._encoder.run(None, {"image": image, "widths": widths})
        found = self._search(hidden, memory)
        read = {}
        for texts, at, its in zip(found, batch, cells, strict=True):
            _, scale, top = framed[at]
            read[at] = tuple(merged([_candidate(*text, its, scale, top) for text in texts]))
        return read

    def _search(
        self, hidden: np.ndarray, memory: list[np.ndarray]
    ) -> list[list[tuple[list[int], np.ndarray, np.ndarray]]]:
        """Beam search: for each line up to ``beams`` of (ids, places, token log-probabilities)."""
        n, b = hidden.shape[0], self.beams
        out: list[list[tuple[list[int], np.ndarray, np.ndarray]]] = [[] for _ in range(n)]
        alive = np.arange(n)  # lines still being written
        fixed = _memory_inputs(hidden, memory)
        past = [np.zeros((n, b, HEADS, 0, HEAD_WIDTH), np.float32)] * (2 * LAYERS)
        token = np.full((n, b), BOS, np.int64)
        score = np.full((n, b), NEVER, np.float32)
        score[:, 0] = 0.0
        done = np.zeros((n, b), bool)
        stacks = [[""] * b for _ in range(n)]  # what is open: n numerator, d denominator or script
        ids = np.zeros((n, b, 0), np.int64)
        places = np.zeros((n, b, 0, 4), np.float32)
        chances = np.zeros((n, b, 0), np.float32)
        for step in range(MOST_TOKENS):
            feed = dict(zip(_PAST, past, strict=True))
            log_p, place, *past = self._decoder.run(None, {"token": token, **fixed, **feed})
            log_p[..., :EOS] = NEVER
            log_p[_FORBIDDEN[[[_state(stack) for stack in row] for row in stacks]]] = NEVER
            log_p[done] = NEVER
            log_p[done, EOS] = 0.0
            total = (score[..., None] + log_p).reshape(len(alive), -1)
            best = np.argpartition(-total, b - 1, axis=1)[:, :b]
            best = np.take_along_axis(best, np.argsort(-np.take_along_axis(total, best, 1), 1), 1)
            score = np.take_along_axis(total, best, 1)
            parent, token = best // log_p.shape[2], best % log_p.shape[2]
            lines = np.arange(len(alive))[:, None]
            stacks = [
                [_opened(stacks[i][parent[i, k]], int(token[i, k])) for k in range(b)]
                for i in range(len(alive))
            ]
            chance = log_p[lines, parent, token]
            done = done[lines, parent] | (token == EOS)
            ids = np.concatenate([ids[lines, parent], token[..., None]], 2)
            places = np.concatenate([places[lines, parent], place[lines, parent][:, :, None]], 2)
            chances = np.concatenate([chances[lines, parent], chance[..., None]], 2)
            # A line is settled when its beams are done or too unlikely to be worth following.
            hopeless = score < score[:, :1] - HOPELESS
            settled = np.all(done | hopeless, axis=1) | (step == MOST_TOKENS - 1)
            for row in np.flatnonzero(settled):
                out[alive[row]] = [
                    (ids[row, k].tolist(), places[row, k], chances[row, k])
                    for k in range(b)
                    if k == 0 or (done[row, k] and not hopeless[row, k])
                ]
            if settled.all():
                break
            if settled.any():
                keep = ~settled
                stacks = [row for row, kept in zip(stacks, keep, strict=True) if kept]
                alive, parent, lines = alive[keep], parent[keep], lines[keep]
                ids, places, chances = ids[keep], places[keep], chances[keep]
                token, score, done = token[keep], score[keep], done[keep]
                fixed = {name: value[keep] for name, value in fixed.items()}
            past = [part[lines, parent] for part in past]
        return out


_PAST = [f"past_{part}_{k}" for k in range(LAYERS) for part in ("keys", "values")]


_OPEN = SPECIALS + TOKENS.index("{")
_OVER = SPECIALS + TOKENS.index("}/{")
_CLOSE = SPECIALS + TOKENS.index("}")
_SCRIPTS = (SPECIALS + TOKENS.index("_{"), SPECIALS + TOKENS.index("^{"))
# What may not come next: with nothing open, in a numerator, in a denominator or script.
_FORBIDDEN = np.zeros((3, SPECIALS + len(TOKENS)), bool)
_FORBIDDEN[0, [_CLOSE, _OVER]] = True
_FORBIDDEN[1, [_CLOSE, EOS]] = True
_FORBIDDEN[2, [_OVER, EOS]] = True


def _state(stack: str) -> int:
    return 0 if not stack else 1 if stack[-1] == "n" else 2


def _opened(stack: str, token: int) -> str:
    """What is open after one more token."""
    if token == _OPEN:
        return stack + "n"
    if token in _SCRIPTS:
        return stack + "d"
    if token == _OVER:
        return stack[:-1] + "d"
    return stack[:-1] if token == _CLOSE else stack


def _memory_inputs(hidden: np.ndarray, memory: list[np.ndarray]) -> dict[str, np.ndarray]:
    names = [f"{part}_{k}" for k in range(LAYERS) for part in ("keys", "values")]
    return {"hidden": hidden, **dict(zip(names, memory, strict=True))}


def frame(line: np.ndarray) -> tuple[np.ndarray, float, float]:
    """The line in the reader's frame (96 high, width a multiple of 16), the scale, and the top."""
    height, width = line.shape
    scale = min(HEIGHT / height, LONGEST / width)
    size = (max(round(width * scale), 1), max(round(height * scale), 1))
    how = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    small = cv2.resize(line, size, interpolation=how)[:HEIGHT, :LONGEST]
    top = (HEIGHT - small.shape[0]) // 2
    white = int(np.percentile(small, 80))
    wide = -(-small.shape[1] // 16) * 16
    framed = cv2.copyMakeBorder(
        small, top, HEIGHT - small.shape[0] - top, 0, wide - small.shape[1],
        cv2.BORDER_CONSTANT, value=white,
    )  # fmt: skip
    return framed, scale, float(top)


def _candidate(
    ids: list[int],
    places: np.ndarray,
    chances: np.ndarray,
    cells: np.ndarray,
    scale: float,
    top: float,
) -> Candidate:
    """``cells`` (channels, rows, columns) is what the encoder sees of the line, cell by cell."""
    length = ids.index(EOS) if EOS in ids else len(ids)
    last = np.array(cells.shape[1:]) - 1
    tokens = []
    for number, place, chance in zip(ids[:length], places, chances, strict=False):
        x, y = place[0] * LONGEST, place[1] * HEIGHT
        half_w, half_h = place[2] * HEIGHT / 2, place[3] * HEIGHT / 2
        box = np.array([x - half_w, y - half_h - top, x + half_w, y + half_h - top]) / scale
        row, column = np.clip((int(y) // CELL, int(x) // CELL), 0, last)
        tokens.append(
            Token(
                TOKENS[number - SPECIALS],
                tuple(float(v) for v in box),  # type: ignore[arg-type]
                float(np.exp(chance)),
                cells[:, row, column].copy(),
            )
        )
    probability = float(np.exp(chances[: length + 1].sum()))
    shown = [
        token
        for before, token, after in zip([None, *tokens], tokens, [*tokens[1:], None], strict=False)
        if token.text != " "
        or (before and after and " " in canonical(f"{before.text} {after.text}"))
    ]
    return Candidate("".join(token.text for token in shown), probability, tuple(shown))


def merged(found: Sequence[Candidate]) -> list[Candidate]:
    """Texts that differ in nothing seen count together."""
    first: dict[str, Candidate] = {}
    for one in found:
        known = first.get(one.text)
        first[one.text] = (
            replace(known, probability=known.probability + one.probability) if known else one
        )
    return sorted(first.values(), key=lambda one: -one.probability)
