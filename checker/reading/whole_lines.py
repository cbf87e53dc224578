"""Pieces of lines that the page network found apart are put together to whole lines."""

from __future__ import annotations

import cv2
import numpy as np

from checker.reading.columns import column_gap
from checker.reading.hung_parts import with_hung_parts
from checker.reading.shape import LineShape, grown, polygon

_THIN = 6  # pixels, height of what is no line
_NEAR, _WIDE = 1.2, 6.0  # gaps in a line and in a row of a table, in heights of the line
_SHARED = 0.3  # of a piece's height inside a line of which it is a part; of lines: at most 0.15
_TALLER = 1.6  # most that a line may grow by such parts


def put_together(
    pieces: list[LineShape], drawings: list[LineShape], flat: np.ndarray
) -> list[LineShape]:
    """Whole lines of writing, and the drawings (role "aside"), from a level page's pieces.

    ``flat`` is the evened page (height, width) that they were found on.
    """
    lines = [line for line in _joined_beside(pieces, _NEAR) if line.height > _THIN]
    lines = _uncovered(with_hung_parts(grown(_absorbed(lines), _with_part), flat))
    lines = [line for line in lines if not any(_is_label(line, drawing) for drawing in drawings)]
    # Far apart on one level, as in a table, is one line too.
    return _joined_beside(lines, _WIDE) + drawings


def _joined(lines: list[LineShape], gap: float) -> list[LineShape]:
    """Lines whose band was broken, end to start, are one line; ``gap`` is in heights of it."""
    lines = sorted(lines, key=lambda line: float(line.centre[0, 0]))
    at = 0
    while at < len(lines):
        later = range(at + 1, len(lines))
        after = next((k for k in later if _follows(lines[at], lines[k], gap)), None)
        if after is None:
            at += 1
            continue
        one, two = lines[at], lines.pop(after)
        centre = np.concatenate([one.centre, two.centre])
        ends = np.ones(len(centre))
        up, down = max(one.up[0], two.up[0]), max(one.down[0], two.down[0])
        probability = min(one.probability, two.probability)
        lines[at] = LineShape(centre, up * ends, down * ends, probability)
    return lines


def _follows(one: LineShape, two: LineShape, reach: float) -> bool:
    small, large = sorted((one.height, two.height))
    longer = one if one.length > two.length else two
    along = longer.centre[-1] - longer.centre[0]
    gap, step = two.centre[0] - one.centre[-1]
    if longer.length > 3 * large:  # a short one does not show where its line runs
        step -= gap * along[1] / max(along[0], 1e-6)
    return bool(
        -0.2 * small < gap < reach * large and abs(step) < 0.2 * large and large < 2.5 * small
    )


def _joined_beside(lines: list[LineShape], gap: float) -> list[LineShape]:
    """``_joined``, each of two columns for itself."""
    boxes = np.array([line.box for line in lines]).reshape(-1, 4)
    strip = column_gap(boxes)
    if strip is None:
        return _joined(lines, gap)
    left = [line for line, box in zip(lines, boxes, strict=True) if box[0] < strip[1]]
    right = [line for line, box in zip(lines, boxes, strict=True) if box[0] >= strip[1]]
    return _joined(left, gap) + _joined(right, gap)


def _with_part(line: LineShape, piece: LineShape) -> LineShape | None:
    """The line with a strip made taller for a part of a fraction that was found apart above or
    below it; None where the piece is no part."""
    left, _, right, _ = piece.box
    room = 0.3 * line.height
    ends = line.centre[0, 0] - room, line.centre[-1, 0] + room
    if left < ends[0] or right > ends[1] or right - left > 0.7 * (ends[1] - ends[0]):
        return None
    x, y = piece.centre.mean(axis=0)
    middle = line.middle(x)
    above, below = middle - (y - piece.up[0]), y + piece.down[0] - middle
    up, down = float(line.up[0]), float(line.down[0])
    inside = min(below, down) + min(above, up)
    taller = max(above, up), max(below, down)
    if inside < _SHARED * piece.height or sum(taller) > _TALLER * line.height:
        return None
    return line.reaching(*taller)


def _is_label(line: LineShape, drawing: LineShape) -> bool:
    """Whether a few characters stand within or right beside a drawing."""
    left, top, right, bottom = line.box
    l0, t0, r0, b0 = drawing.box
    room = 0.5 * line.height
    wide = min(right, r0 + room) - max(left, l0 - room)
    high = min(bottom, b0 + room) - max(top, t0 - room)
    inside = max(wide, 0.0) * max(high, 0.0)
    return line.length < 4 * line.height and inside > 0.6 * (right - left) * (bottom - top)


def _absorbed(lines: list[LineShape]) -> list[LineShape]:
    """Pieces of a fraction found apart at either end of a line make the line longer."""
    lines = sorted(lines, key=lambda line: -line.length * line.height)
    at = 0
    while at < len(lines):
        one = lines[at]
        part = next((k for k in range(at + 1, len(lines)) if _is_part(one, lines[k])), None)
        if part is None:
            at += 1
            continue
        two = lines.pop(part)
        ends = [two.centre[0], two.centre[-1]]
        before = [end for end in ends if end[0] < one.centre[0, 0]][:1]
        after = [end for end in ends if end[0] > one.centre[-1, 0]][-1:]
        level = [np.array([[end[0], one.centre[0, 1]]]) for end in before]
        right = [np.array([[end[0], one.centre[-1, 1]]]) for end in after]
        centre = np.concatenate([*level, one.centre, *right])
        reach = np.ones(len(centre))
        lines[at] = LineShape(centre, one.up[0] * reach, one.down[0] * reach, one.probability)
    return lines


def _is_part(line: LineShape, piece: LineShape) -> bool:
    """Whether the piece stands at the end of the line and within its height."""
    right = piece.centre[0, 0] > line.centre[:, 0].mean()
    end = line.centre[-1 if right else 0]
    near, far = (
        (piece.centre[0], piece.centre[-1]) if right else (piece.centre[-1], piece.centre[0])
    )
    gap = (near[0] - end[0]) if right else (end[0] - near[0])
    beyond = (far[0] - end[0]) if right else (end[0] - far[0])
    if beyond <= 0 or not -3 * line.height < gap < 0.7 * line.height:
        return False
    slack = 0.25 * line.height
    top, bottom = end[1] - line.up[0] - slack, end[1] + line.down[0] + slack
    y = float(piece.centre[:, 1].mean())
    return bool(
        top <= y - piece.up[0] and y + piece.down[0] <= bottom and piece.height < 0.75 * line.height
    )


def _uncovered(lines: list[LineShape]) -> list[LineShape]:
    """Without the parts of a line (a numerator, a script) that lie in the strip of a larger one."""
    kept: list[tuple[np.ndarray, LineShape]] = []
    for line in sorted(lines, key=lambda line: -line.length * line.height):
        strip = np.array(polygon(line), np.float32)
        area = cv2.contourArea(strip)
        if all(cv2.intersectConvexConvex(strip, other)[0] < 0.6 * area for other, _ in kept):
            kept.append((strip, line))
    return [line for _, line in kept]
