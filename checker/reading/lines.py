"""Finds the lines of writing on an evened, flattened, upright page by classical image processing.

Ink becomes connected pieces; pieces that belong to one symbol (=, ÷, i) are joined; a fraction bar
takes up what stands right above and below it; then neighbours along the reading direction join,
nearest first, as long as they do not stack.  What is drawn with long strokes is set aside.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from checker.reading.drawings import find_drawings
from checker.reading.pieces import Pieces, find_pieces
from checker.reading.rules import remove_rules
from checker.reading.shape import LineShape

_STACK_GAP = 0.75  # numerator and denominator stand this close to their bar, in glyph heights
_JOIN_GAP = 2.2  # neighbours on a line, in glyph heights
_WIDE_GAP = 9.0  # two things on one line, in glyph heights
_LONG_BAR = 4.0  # a bar this long that is no fraction's is no writing
_OFFSET = 0.62  # how far apart the centres of neighbours on one line may be


def find_lines(evened: np.ndarray) -> list[LineShape]:
    """Lines from top to bottom, in pixels of ``evened`` (grey uint8, about 1600 pixels tall).

    Printed rules are removed first.  Drawings come as shapes with role "aside".
    """
    cleaned, _ = remove_rules(evened)
    pieces = find_pieces(cleaned)
    if pieces is None:
        return []
    drawings, no_writing = find_drawings(pieces)
    groups = _grow(pieces, np.flatnonzero(~no_writing))
    boxes = [_extent(pieces, drawing) for drawing in drawings]
    groups = [group for group in groups if not _is_label(pieces, group, boxes)]
    shapes = [_shape(pieces, group) for group in groups if _is_writing(pieces, group)]
    shapes += [_aside(pieces, drawing) for drawing in drawings]
    return sorted(shapes, key=lambda shape: float(shape.centre[:, 1].mean()))


@dataclass
class _Group:
    """Pieces that belong together; ``axis`` are those whose middle shows the writing direction."""

    members: list[int]
    axis: list[int]


def _grow(pieces: Pieces, free: np.ndarray) -> list[_Group]:
    owner = {int(k): _Group([int(k)], [int(k)]) for k in free}
    _take_fractions(pieces, owner)
    for k in [k for k in owner if pieces.is_bar[k] and pieces.width[k] > _LONG_BAR * pieces.size]:
        if len(owner[k].members) == 1:
            del owner[k]  # an underline or what is left of a rule
    _join_neighbours(pieces, owner, _JOIN_GAP, None)
    _take_marks(pieces, owner)
    _take_nested(pieces, owner)
    _join_neighbours(pieces, owner, _WIDE_GAP, _gutter(pieces, _distinct(owner)))
    _take_nested(pieces, owner)
    return _distinct(owner)


def _distinct(owner: dict[int, _Group]) -> list[_Group]:
    return list({id(group): group for group in owner.values()}.values())


def _merge(owner: dict[int, _Group], first: _Group, second: _Group) -> None:
    if first is second:
        return
    first.members += second.members
    first.axis += second.axis
    for k in second.members:
        owner[k] = first


def _take_fractions(pieces: Pieces, owner: dict[int, _Group]) -> None:
    """Join every fraction bar with its numerator and denominator, innermost (shortest) first."""
    size = pieces.size
    bars = [k for k in owner if pieces.is_bar[k] and pieces.width[k] > 0.7 * size]
    everyone = np.array(sorted(owner))
    solid = everyone[~pieces.is_mark[everyone]]
    for bar in sorted(bars, key=lambda k: float(pieces.width[k])):
        inside = solid[
            (pieces.cx[solid] > pieces.left[bar] - 0.35 * size)
            & (pieces.cx[solid] < pieces.right[bar] + 0.35 * size)
            & (solid != bar)
        ]
        above = pieces.cy[bar] - pieces.bottom[inside]
        below = pieces.top[inside] - pieces.cy[bar]
        numerator = inside[(above > -0.3 * size) & (above < _STACK_GAP * size) & (below < 0)]
        denominator = inside[(below > -0.3 * size) & (below < _STACK_GAP * size) & (above < 0)]
        if not _holds_glyph(pieces, numerator) or not _holds_glyph(pieces, denominator):
            continue
        group = owner[bar]
        for k in (*numerator, *denominator):
            part = owner[int(k)]
            _merge(owner, group, part)
        group.axis = [bar]


def _holds_glyph(pieces: Pieces, some: np.ndarray) -> bool:
    return bool((~pieces.is_bar[some]).any())


def _join_neighbours(
    pieces: Pieces, owner: dict[int, _Group], reach: float, gutter: float | None
) -> None:
    """Join pieces side by side, cheapest link first, unless their groups would stack."""
    size = pieces.size
    some = np.array(sorted(k for k in owner if not pieces.is_mark[k]), dtype=int)
    if len(some) < 2:
        return
    gap = pieces.left[some][None] - pieces.right[some][:, None]
    offset = np.abs(pieces.cy[some][None] - pieces.cy[some][:, None])
    right = pieces.cx[some][None] > pieces.cx[some][:, None]
    near = right & (gap < reach * size) & (offset < 1.6 * size)
    if gutter is not None:
        near &= (pieces.cx[some][None] < gutter) == (pieces.cx[some][:, None] < gutter)
    first, second = np.nonzero(near)
    cost = np.maximum(gap[first, second], 0) + 2.0 * offset[first, second]
    for at in np.argsort(cost):
        one, two = owner[int(some[first[at]])], owner[int(some[second[at]])]
        if one is not two and _fits(pieces, one, two, reach):
            _merge(owner, one, two)


def _fits(pieces: Pieces, one: _Group, two: _Group, reach: float) -> bool:
    """Whether two groups stand side by side on one line."""
    size = pieces.size
    a, b = np.array(one.members), np.array(two.members)
    left, right = (one, two) if pieces.left[a].min() < pieces.left[b].min() else (two, one)
    end = float(pieces.right[np.array(left.members)].max())
    start = float(pieces.left[np.array(right.members)].min())
    narrow = min(np.ptp(_span(pieces, a)), np.ptp(_span(pieces, b)))
    if end - start > max(0.35 * size, 0.3 * narrow) or start - end > reach * size:
        return False
    joint = (end + start) / 2
    return abs(_level(pieces, left, joint) - _level(pieces, right, joint)) < _OFFSET * size


def _span(pieces: Pieces, some: np.ndarray) -> np.ndarray:
    return np.array([pieces.left[some].min(), pieces.right[some].max()])


def _level(pieces: Pieces, group: _Group, x: float) -> float:
    """Where the middle of a group's line is at ``x``: near pieces count more, tall ones too."""
    axis = np.array(group.axis)
    size = pieces.size
    centre = pieces.cy[axis]
    weight = np.minimum(pieces.height[axis], size) + 0.3 * size * pieces.is_bar[axis]
    far = np.minimum(np.abs(pieces.left[axis] - x), np.abs(pieces.right[axis] - x)) / size
    weight = weight * np.exp(-far / 3.0) + 1e-9
    level = float(np.average(centre, weights=weight))
    if np.ptp(pieces.cx[axis]) > 5 * size and len(axis) > 4:
        slope = np.polyfit(pieces.cx[axis], centre, 1, w=np.sqrt(weight))[0]
        from_middle = x - np.average(pieces.cx[axis], weights=weight)
        level += float(np.clip(slope, -0.25, 0.25) * from_middle)
    return level


def _take_marks(pieces: Pieces, owner: dict[int, _Group]) -> None:
    """Give decimal points, primes and other specks to the group they stand beside."""
    size = pieces.size
    marks = [k for k in owner if pieces.is_mark[k]]
    solid = np.array(sorted(k for k in owner if not pieces.is_mark[k]), dtype=int)
    for k in marks:
        if not len(solid):
            return
        left, top, right, bottom = pieces.boxes(solid)
        aside = np.maximum(left - pieces.right[k], pieces.left[k] - right)
        over = np.maximum(top - pieces.bottom[k], pieces.top[k] - bottom)
        distance = np.maximum(aside, 0) + 2.0 * np.maximum(over, 0)
        best = int(np.argmin(distance))
        if distance[best] < 1.0 * size:
            group = owner[int(solid[best])]
            group.members.append(k)
            owner[k] = group


def _take_nested(pieces: Pieces, owner: dict[int, _Group]) -> None:
    """Join a group that lies within the reach of a wider one: scripts, parts of fractions."""
    size = pieces.size
    groups = sorted(_distinct(owner), key=lambda group: -_width(pieces, group))
    for at, small in enumerate(groups):
        left, top, right, bottom = _extent(pieces, small.members)
        best, most = None, 0.5
        for large in groups[:at]:
            if owner.get(large.members[0]) is not large:
                continue
            l0, _, r0, _ = _extent(pieces, large.members)
            room = 3.0 * size if right - left < 2.5 * size else 0.5 * size
            if left < l0 - room or right > r0 + room:
                continue
            members = np.array(large.members)
            beside = members[
                (pieces.right[members] > left - 1.5 * size)
                & (pieces.left[members] < right + 1.5 * size)
            ]
            if not len(beside):
                continue
            _, t0, _, b0 = _extent(pieces, beside)
            shared = (min(bottom, b0) - max(top, t0)) / max(bottom - top, 1.0)
            if shared > most:
                best, most = large, shared
        if best is not None:
            axis = best.axis
            _merge(owner, best, small)
            best.axis = axis


def _gutter(pieces: Pieces, groups: list[_Group]) -> float | None:
    """The left edge of a second column: several groups start there and hardly any runs across."""
    size = pieces.size
    spans = np.array([_extent(pieces, group.members) for group in groups if len(group.members) > 2])
    if len(spans) < 7:
        return None
    left, right = spans[:, 0], spans[:, 2]
    for start in np.sort(left):
        aligned = (left > start - 0.2 * size) & (left < start + 3 * size)
        before = right < start
        level = (spans[:, 1] < spans[aligned, 3].max()) & (spans[:, 3] > spans[aligned, 1].min())
        across = (left < start - size) & (right > start + 1.5 * size) & level
        if (
            aligned.sum() >= 4
            and (before & level).sum() >= 3
            and across.sum() <= 0.12 * (aligned.sum() + (before & level).sum())
        ):
            return float(start) - 0.3 * size
    return None


def _extent(pieces: Pieces, some: list[int] | np.ndarray) -> tuple[float, float, float, float]:
    left, top, right, bottom = pieces.boxes(np.asarray(some))
    return float(left.min()), float(top.min()), float(right.max()), float(bottom.max())


def _width(pieces: Pieces, group: _Group) -> float:
    return float(np.ptp(_span(pieces, np.array(group.members))))


def _is_label(
    pieces: Pieces, group: _Group, drawings: list[tuple[float, float, float, float]]
) -> bool:
    """A few characters right beside a drawing name one of its parts."""
    size = pieces.size
    left, top, right, bottom = _extent(pieces, group.members)
    for l0, t0, r0, b0 in drawings:
        beside = max(left - r0, l0 - right, 0.0)
        apart = max(top - b0, t0 - bottom, 0.0)
        if right - left < 7 * size and beside < 1.5 * size and apart == 0:
            return True
        if right - left < 5 * size and beside == 0 and apart < 0.7 * size:
            return True
    return False


def _is_writing(pieces: Pieces, group: _Group) -> bool:
    """A line holds at least one real glyph; lone specks and lone dashes are no line."""
    some = np.array(group.members)
    glyphs = some[~pieces.is_mark[some] & ~pieces.is_bar[some]]
    glyphs = glyphs[pieces.height[glyphs] > 0.5 * pieces.size]
    _, top, _, bottom = _extent(pieces, some)
    width = _width(pieces, group)
    slender = bottom - top < 0.8 * pieces.size and width > 12 * pieces.size
    return len(glyphs) > 0 and width > 0.9 * pieces.size and not slender


def _shape(pieces: Pieces, group: _Group) -> LineShape:
    """A smooth centre through the middles of the pieces, with the ink's reach up and down."""
    some, axis = np.array(group.members), np.array(group.axis)
    size = pieces.size
    left, right = _span(pieces, some)
    middle, reach = (left + right) / 2, max((right - left) / 2, 1.0)
    curve = _curve((pieces.cx[axis] - middle) / reach, pieces, axis, (right - left) / size)
    xs = np.linspace(left, right, max(2, min(17, int((right - left) / (2 * size)) + 2)))
    ys = np.polyval(curve, (xs - middle) / reach)
    at = np.polyval(curve, (pieces.cx[some] - middle) / reach)
    up = max(float((at - pieces.top[some]).max()), 0.3 * size)
    down = max(float((pieces.bottom[some] - at).max()), 0.3 * size)
    glyphs = int((~pieces.is_mark[some] & ~pieces.is_bar[some]).sum())
    probability = 0.98 if glyphs >= 3 else 0.7 if glyphs == 2 else 0.4
    centre = np.stack([xs, ys], axis=1)
    return LineShape(centre, np.full(len(xs), up), np.full(len(xs), down), probability)


def _curve(at: np.ndarray, pieces: Pieces, axis: np.ndarray, length: float) -> np.ndarray:
    """Polynomial through the middles of pieces: a longer line may bend more; scripts are outliers.

    ``at`` runs from -1 to 1 along a line of ``length`` glyph heights.
    """
    y = pieces.cy[axis]
    weight = np.sqrt(np.minimum(pieces.width[axis], 4 * pieces.size)) * ~pieces.is_mark[axis] + 1e-3
    degree = 0 if length < 3 else 1 if length < 16 else 2
    curve = np.array([np.average(y, weights=weight)])
    for step in range(1, degree + 1):
        far = np.abs(y - np.polyval(curve, at)) > 0.7 * pieces.size
        kept = weight * np.where(far, 0.1, 1.0)
        if len(axis) > step + 1 and np.ptp(at) > 1.2:
            curve = np.polyfit(at, y, step, w=kept)
    return curve


def _aside(pieces: Pieces, drawing: np.ndarray) -> LineShape:
    shape = _box_shape(pieces, drawing)
    return replace(shape, role="aside")


def _box_shape(pieces: Pieces, some: np.ndarray) -> LineShape:
    left, right = _span(pieces, some)
    top, bottom = float(pieces.top[some].min()), float(pieces.bottom[some].max())
    centre = np.array([[left, (top + bottom) / 2], [right, (top + bottom) / 2]])
    reach = np.full(2, (bottom - top) / 2)
    return LineShape(centre, reach, reach, 0.9)
