"""Parts of a fraction within a fraction that the page network takes for lines of their own."""

from __future__ import annotations

import cv2
import numpy as np

from checker.reading.shape import LineShape, grown, polygon

_INK = 0.45  # of the darkness of a line's own ink, from which on a pixel is ink
_DARKEST = 2.0  # percent of a strip that are ink for certain
_ROOM = 0.4  # heights of a part that it may stand out beyond either end of its line
_TALLEST = 0.8  # height of a part, in heights of its line
_APART = 0.7  # heights of plain writing between its strip and the line's
_AROUND = 1.5  # the same on either side of it, in which its bar ends and a printed rule does not
_COVERED = 0.7  # share of its width that a bar covers at least
_LEAST, _MOST, _MORE = 1.0, 1.6, 2.0  # length of a bar: in heights; in widths, and heights
_THICK = 0.35  # heights, most that a bar may take
_SLANT = 0.06  # of its length that a bar may rise or fall
_INSIDE = 0.6  # share of loose ink that lies in the strips of lines
_SMALLEST, _LARGEST, _WIDEST = 0.35, 1.6, 6.0  # loose ink, in heights of the page's lower lines
_SLENDER = 0.5  # width of loose ink, in its own heights, up to which it is no number
_BESIDE = 0.6  # the same, most between two pieces of it side by side
_BARS_APART = 0.45  # the same, least between two bars, one above the other


def with_hung_parts(lines: list[LineShape], flat: np.ndarray) -> list[LineShape]:
    """Lines of writing, each with what hangs on it by a further fraction bar: of 1/(AB/(A + B)),
    written with two bars, A + B stands so low that it looks like a line of its own.

    ``flat`` is the evened level page (height, width), whose pixels the lines are in.
    """
    loose = _loose_ink(lines, flat)
    whole = grown(lines, lambda line, piece: _with_hung(line, piece, flat))
    for at, line in enumerate(whole):
        for ink in loose:
            line = _with_hung(line, ink, flat) or line
        whole[at] = line
    return whole


def _loose_ink(lines: list[LineShape], flat: np.ndarray) -> list[LineShape]:
    """What stands beside or across the edge of all strips and is as large as writing."""
    if not lines:
        return []
    plain = float(np.percentile([line.height for line in lines], 25))
    strips = np.zeros(flat.shape, np.uint8)
    cv2.fillPoly(strips, [np.round(polygon(line)).astype(np.int32) for line in lines], 1)
    if not strips.any():
        return []
    ink = _ink_of(flat[strips > 0])
    _, labels, stats, _ = cv2.connectedComponentsWithStats((flat < ink).astype(np.uint8))
    area = stats[:, cv2.CC_STAT_AREA]
    inside = np.bincount(labels[strips > 0], minlength=len(stats)) / np.maximum(area, 1)
    wide, high = stats[:, cv2.CC_STAT_WIDTH], stats[:, cv2.CC_STAT_HEIGHT]
    chosen = (inside < _INSIDE) & (wide < _WIDEST * plain)
    chosen &= (high > _SMALLEST * plain) & (high < _LARGEST * plain)
    if not chosen[1:].any():
        return []
    boxes = np.zeros(flat.shape, np.uint8)
    for x, y, w, h, _area in stats[1:][chosen[1:]]:
        boxes[y : y + h, x : x + w] = 1
    beside = max(int(plain * _BESIDE), 1)
    joined = cv2.morphologyEx(boxes, cv2.MORPH_CLOSE, np.ones((1, beside), np.uint8))
    found = []
    for x, y, w, h, _area in cv2.connectedComponentsWithStats(joined)[2][1:].astype(float):
        if w < _SLENDER * h:
            continue  # a stroke of a rule or of a shadow
        centre = np.array([[x, y + h / 2], [x + w, y + h / 2]])
        found.append(LineShape(centre, np.full(2, h / 2), np.full(2, h / 2), 0.0))
    return found


def _ink_of(part: np.ndarray) -> float:
    """The grey value below which a pixel of a part of a page is ink."""
    return 255.0 - _INK * (255.0 - float(np.percentile(part, _DARKEST)))


def _with_hung(line: LineShape, piece: LineShape, flat: np.ndarray) -> LineShape | None:
    """The line with a strip that holds a piece hanging on it, None where the piece does not."""
    if not (_is_below(line, piece) and _is_under_bars(line, piece, flat)):
        return None
    x, y = piece.centre.mean(axis=0)
    down = float(y + piece.down.max()) - line.middle(x)
    return line.reaching(float(line.up.max()), max(down, float(line.down.max())))


def _is_below(line: LineShape, piece: LineShape) -> bool:
    """Whether a narrower piece stands right below a line."""
    left, top, right, _ = piece.box
    room = _ROOM * piece.height
    if left < line.centre[0, 0] - room or right > line.centre[-1, 0] + room:
        return False
    if piece.height > _TALLEST * line.height:
        return False
    bottom = line.middle((left + right) / 2) + float(line.down.max())
    return abs(top - bottom) < _APART * _tall(line, piece)


def _tall(line: LineShape, piece: LineShape) -> float:
    """The height of plain writing."""
    return min(piece.height, line.height / 2)


def _is_under_bars(line: LineShape, piece: LineShape, flat: np.ndarray) -> bool:
    """Whether a bar stands between a line and a piece below it, and another one above that."""
    left, top, right, _ = piece.box
    tall = _tall(line, piece)
    x0, y0 = max(int(left - _AROUND * tall), 0), max(int(line.box[1]), 0)
    part = flat[y0 : int(top + 0.5 * tall) + 1, x0 : int(right + _AROUND * tall) + 1]
    if part.size == 0:
        return False
    rows = [row + y0 - top for row in _bars(part, left - x0, right - x0, tall)]
    own = [row for row in rows if row > -_APART * tall]
    return any(other < row - _BARS_APART * tall for row in own for other in rows)


def _bars(part: np.ndarray, left: float, right: float, tall: float) -> list[float]:
    """The rows of the fraction bars in a part of the page that lie over the columns from ``left``
    to ``right``."""
    wide = right - left
    least = max(_COVERED * wide, _LEAST * tall)
    slant = max(3, round(_SLANT * least))
    dark = cv2.dilate((part < _ink_of(part)).astype(np.uint8), np.ones((slant, 1), np.uint8))
    level = cv2.morphologyEx(dark, cv2.MORPH_OPEN, np.ones((1, max(int(least), 3)), np.uint8))
    _, _, stats, middles = cv2.connectedComponentsWithStats(level)
    found = []
    for (x, _y, w, h, _area), (_, row) in zip(stats[1:], middles[1:], strict=True):
        covered = min(x + w, right) - max(x, left)
        ends = x > 1 and x + w < part.shape[1] - 1  # a printed rule goes on
        if (
            ends and h < slant + _THICK * tall and covered > _COVERED * wide
            and w < _MOST * wide + _MORE * tall
        ):  # fmt: skip
            found.append(float(row))
    return found
