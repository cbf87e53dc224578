"""Pieces of lines that the page network found apart are put together to whole lines."""

from __future__ import annotations

import cv2
import numpy as np

from checker.reading.shape import LineShape, polygon

_THIN = 6  # pixels, height of what is no line


def put_together(pieces: list[LineShape], drawings: list[LineShape]) -> list[LineShape]:
    """Whole lines of writing, and the drawings (role "aside"), from a level page's pieces."""
    lines = [line for line in _joined(pieces) if line.height > _THIN]
    return _uncovered(_absorbed(lines)) + drawings


def _joined(lines: list[LineShape]) -> list[LineShape]:
    """Lines whose band was broken, end to start, are one line."""
    lines = sorted(lines, key=lambda line: float(line.centre[0, 0]))
    at = 0
    while at < len(lines):
        after = next((k for k in range(at + 1, len(lines)) if _follows(lines[at], lines[k])), None)
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


def _follows(one: LineShape, two: LineShape) -> bool:
    small, large = sorted((one.height, two.height))
    gap = two.centre[0, 0] - one.centre[-1, 0]
    step = abs(two.centre[0, 1] - one.centre[-1, 1])
    return bool(-0.2 * small < gap < 1.2 * large and step < 0.2 * large and large < 2.5 * small)


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
