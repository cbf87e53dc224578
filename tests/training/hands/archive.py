"""A tiny archive in the layout of the pen-stroke data: polygons and bars by invented writers."""

import itertools
import zlib

import numpy as np

CLASSES = "0123456789.,'+-/=()[]|:;%*?!~>" + "".join(
    chr(c) for c in [*range(65, 91), *range(97, 123)]
)
SINGLE = set("|")  # classes whose glyphs must have one stroke


def shape(label, lean):
    """Two strokes that differ from class to class; ``lean`` shears them, like a slant."""
    rng = np.random.default_rng(zlib.crc32(label.encode()))
    strokes = [np.cumsum(rng.normal(0, 1, (4, 2)), 0) for _ in range(1 if label in SINGLE else 2)]
    dense = [
        np.concatenate([np.linspace(a, b, 12) for a, b in itertools.pairwise(stroke)])
        for stroke in strokes
    ]
    points = np.concatenate(dense)
    low, high = points.min(0), points.max(0)
    side = 0 if label in "-=~" else 1
    scaled = [(s - low) * 1000 / (high - low)[side] for s in dense]
    if label == ".":
        scaled = [s * min(1, 1000 / np.concatenate(scaled).max()) for s in scaled]
    return [s + np.stack([lean * (1000 - s[:, 1]), 0 * s[:, 1]], 1) for s in scaled]


def write(path, writers, skip=()):
    """``writers``: {name: (split, lean)}; ``skip``: (writer, class) pairs a writer lacks."""
    points, strokes, glyphs = [], [0], [0]
    labels, names, splits = [], [], []
    for label in CLASSES:
        for name, (split, lean) in writers.items():
            if (name, label) in skip:
                continue
            for stroke in shape(label, lean):
                points.append(stroke)
                strokes.append(strokes[-1] + len(stroke))
            glyphs.append(len(strokes) - 1)
            labels.append(label)
            names.append(name)
            splits.append(split)
    np.savez(
        path,
        points=np.concatenate(points).astype(np.int16),
        stroke_starts=np.array(strokes, np.int32),
        glyph_starts=np.array(glyphs, np.int32),
        labels=np.array(labels),
        writers=np.array(names),
        split=np.array(splits),
    )
