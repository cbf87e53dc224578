"""Centre lines of photographed ink, so that it can be written again with any pen.

The images are small squares without writers; look-alike glyphs of a class are grouped, and each
group number stands for a writer ("ink 3"), so that a page does not mix ways of writing a 7.
"""

from __future__ import annotations

import zlib
from pathlib import Path

import cv2
import numpy as np

ARCHIVE = "ink_glyphs.npz"
MOST = 160  # glyphs of one class
GROUPS = 14
LABELS = {"\\times": "×", "\\div": "÷", "\\mu": "µ"} | {c: c for c in "0123456789+-/"}
SOURCES = ("bhmsds", "mdas", "omniglot_Greek")
_RING = ((-1, 0), (-1, 1), (0, 1), (1, 1), (1, 0), (1, -1), (0, -1), (-1, -1))  # clockwise from up

Raw = tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]


def skeletons(ink: np.ndarray) -> np.ndarray:
    """Thin masks (n, h, w) to lines one pixel wide (T. Y. Zhang, C. Y. Suen, "A fast parallel
    algorithm for thinning digital patterns", CACM 27(3), 1984); the margin must be empty."""
    ink = ink.copy()
    while True:
        before = int(ink.sum())
        for first in (True, False):
            around = [np.roll(ink, (-dy, -dx), (1, 2)) for dy, dx in _RING]
            count = sum(a.astype(np.uint8) for a in around)
            turns = sum(
                (~a & b).astype(np.uint8)
                for a, b in zip(around, around[1:] + around[:1], strict=True)
            )
            up, right, down, left = around[0], around[2], around[4], around[6]
            if first:
                open_side = ~(up & right & down) & ~(right & down & left)
            else:
                open_side = ~(up & right & left) & ~(up & down & left)
            ink &= ~((count >= 2) & (count <= 6) & (turns == 1) & open_side)
        if int(ink.sum()) == before:
            return ink


def trace(skeleton: np.ndarray) -> list[np.ndarray]:
    """Strokes (n, 2) in pixels: from line ends first, straight on at crossings, then loops."""
    left = {(int(y), int(x)) for y, x in np.argwhere(skeleton)}
    whole = set(left)

    def near(at: tuple[int, int], among: set[tuple[int, int]]) -> list[tuple[int, int]]:
        return [p for p in ((at[0] + dy, at[1] + dx) for dy, dx in _RING) if p in among]

    ends = sorted(p for p in whole if len(near(p, whole)) == 1)
    strokes: list[np.ndarray] = []
    while left:
        start = next((p for p in ends if p in left), None) or min(left)
        path = [start]
        left.discard(start)
        while options := near(path[-1], left):
            back = path[max(0, len(path) - 4)]
            y, x = 2 * path[-1][0] - back[0], 2 * path[-1][1] - back[1]
            path.append(min(options, key=lambda p: (p[0] - y) ** 2 + (p[1] - x) ** 2))
            left.discard(path[-1])
        joined = [p for p in near(path[-1], whole - left) if p not in path[-3:]]
        spur = len(path) < 4 and (joined or near(start, whole - set(path)))
        if spur and strokes:
            continue
        points = np.array(path + joined[:1], float)[:, ::-1]
        strokes.append(_smoothed(points))
    return strokes


def _smoothed(points: np.ndarray) -> np.ndarray:
    for _ in range(3):
        if len(points) > 2:
            inner = (points[:-2] + 2 * points[1:-1] + points[2:]) / 4
            points = np.concatenate([points[:1], inner, points[-1:]])
    return points


def load_ink(path: Path) -> Raw:
    """points, stroke starts, glyph starts, labels, writers, splits: laid out as in the archive of
    pen strokes.  The sources without writers train; of the others 15 % of writers measure."""
    with np.load(path) as z:
        images, labels, sources, writers = z["images"], z["labels"], z["source"], z["writer"]
    rng = np.random.default_rng(0)
    chosen = []
    for label in LABELS:
        members = np.flatnonzero((labels == label) & np.isin(sources, SOURCES))
        chosen.append(rng.permutation(members)[:MOST])
    pick = np.concatenate(chosen)
    ink = np.pad(images[pick] > 127, ((0, 0), (2, 2), (2, 2)))
    points: list[np.ndarray] = []
    strokes, glyphs = [0], [0]
    for thin in skeletons(ink):
        for stroke in trace(thin):
            points.append(stroke * (1000 / 48))
            strokes.append(strokes[-1] + len(stroke))
        glyphs.append(len(strokes) - 1)
    names = np.array([LABELS[label] for label in labels[pick].tolist()])
    known = writers[pick].astype(object)
    for name in np.unique(names):
        mine = np.flatnonzero((names == name) & (known == ""))
        known[mine] = [f"ink {k}" for k in _groups(images[pick[mine]])]
    splits = ["validation" if zlib.crc32(w.encode()) % 100 < 15 and "ink" not in w else "train"
              for w in known]  # fmt: skip
    return (
        np.concatenate(points), np.array(strokes), np.array(glyphs), names, known.astype(str),
        np.array(splits),
    )  # fmt: skip


def _groups(images: np.ndarray) -> list[int]:
    """Group numbers of images that look alike."""
    if len(images) <= GROUPS:
        return list(range(len(images)))
    small = np.stack([cv2.resize(cv2.GaussianBlur(i, (0, 0), 3), (12, 12)) for i in images])
    cv2.setRNGSeed(1)
    rule = (cv2.TERM_CRITERIA_MAX_ITER, 20, 0.0)
    flat = small.reshape(len(images), -1).astype(np.float32)
    _, found, _ = cv2.kmeans(flat, GROUPS, None, rule, 1, cv2.KMEANS_PP_CENTERS)  # type: ignore[call-overload]
    return found.ravel().tolist()
