"""The marking scheme a problem file may carry.

[marks]
equivalent_capacitance = 2     # for its value
charge = 1                     # for the charge on each element
voltage = 1                    # for the voltage across each element; also energy
method_step = 0.5              # for each group combined, and walked back, by the right rule
follow_through = true          # optional: values carried forward from a slip keep their points
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from checker.exact import Fraction, rational
from checker.problem.fault import Fault
from checker.quantity import shown

TABLE = "marks"
MOST_POINTS = 100  # for one item
_STEP, _FOLLOW = "method_step", "follow_through"
_QUANTITIES = {
    "equivalent_capacitance": "equivalent capacitance",
    "charge": "charge",
    "voltage": "voltage",
    "energy": "energy",
}


@dataclass(frozen=True)
class MarkingScheme:
    """``points`` for each asked quantity, by its name in ``find``: once for the equivalent
    capacitance, for every element otherwise.  ``method_step``: for every group combined and, where
    charge or voltage earn points, for every group on the way back."""

    points: Mapping[str, Fraction]
    method_step: Fraction = Fraction(0)
    follow_through: bool = True


def marking_scheme(table: object, find: Sequence[str]) -> MarkingScheme:
    """The scheme that the table ``[marks]`` of a problem file describes.

    Raises Fault for whatever makes none.
    """
    if not isinstance(table, dict) or not table:
        raise Fault("[marks] gives no points; write below it a line such as charge = 1.", TABLE)
    points: dict[str, Fraction] = {}
    for key, value in table.items():
        if key == _FOLLOW:
            if not isinstance(value, bool):
                raise Fault(f"{_FOLLOW} is neither true nor false; write one.", TABLE, key)
        elif key == _STEP or key in _QUANTITIES:
            points[key] = _points(key, value)
        else:
            known = ", ".join((*_QUANTITIES, _STEP, _FOLLOW))
            raise Fault(f'"{shown(key)}" earns no points; choose from {known}.', TABLE, key)
        if key in _QUANTITIES and _QUANTITIES[key] not in find:
            raise Fault(
                f"{key} has points but is not asked for; "
                f'add "{_QUANTITIES[key]}" to find or take the line out.',
                *(TABLE, key),
            )
    if not any(points.values()):
        raise Fault("[marks] gives no points; write below it a line such as charge = 1.", TABLE)
    step = points.pop(_STEP, Fraction(0))
    asked = {_QUANTITIES[key]: value for key, value in points.items()}
    return MarkingScheme(asked, step, table.get(_FOLLOW, True))


def scheme_to_toml(scheme: MarkingScheme) -> str:
    """The table of a problem file that reads back as ``scheme``."""
    keys = {name: key for key, name in _QUANTITIES.items()}
    lines = [f"{keys[name]} = {_number(points)}" for name, points in scheme.points.items()]
    lines.append(f"{_STEP} = {_number(scheme.method_step)}")
    lines.append(f"{_FOLLOW} = {'true' if scheme.follow_through else 'false'}")
    return "\n".join([f"[{TABLE}]", *lines]) + "\n"


def _points(key: str, value: object) -> Fraction:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise Fault(
            f"The points for {key} are no number; write them without quotes, like {key} = 1.",
            *(TABLE, key),
        )
    if not 0 <= value <= MOST_POINTS:
        raise Fault(
            f"The points for {key} are out of range; give a number from 0 to {MOST_POINTS}.",
            *(TABLE, key),
        )
    return rational(str(value))  # the decimal as written, not the binary one nearest to it


def _number(points: Fraction) -> str:
    return str(points.numerator) if points.denominator == 1 else repr(float(points))
