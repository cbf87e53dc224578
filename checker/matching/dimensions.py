"""Dimensions of the quantities, as powers of farad and volt."""

from __future__ import annotations

from checker.matching.circuit import Kind

Dims = tuple[int, int]  # powers of farad and volt: C = F·V, J = F·V²
KIND_DIMS: dict[Kind, Dims] = {"C": (1, 0), "V": (0, 1), "Q": (1, 1), "U": (1, 2)}
UNIT_DIMS: dict[str, Dims] = {
    "capacitance": (1, 0), "voltage": (0, 1), "charge": (1, 1), "energy": (1, 2)
}  # fmt: skip
KIND_OF_UNIT: dict[str, Kind] = {
    "capacitance": "C", "voltage": "V", "charge": "Q", "energy": "U"
}  # fmt: skip
