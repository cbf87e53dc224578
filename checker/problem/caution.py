"""A word of caution where the circuit of a problem could hurt someone."""

from __future__ import annotations

from checker.exact import Fraction
from checker.problem.reduction import Reference
from checker.quantity import Quantity, format_quantity

# Published limits, quoted below: live parts from 50 V, alternating or direct, are to be guarded
# (OSHA, 29 CFR 1910.303(g)(2)(i)); a capacitor from 100 V and 10 J is a shock hazard (electrical
# safety table of Lawrence Berkeley National Laboratory, after US DOE practice).
VOLTAGE_LIMIT = Fraction(50)
ENERGY_LIMIT = Fraction(10)


def caution(reference: Reference) -> str | None:
    """One sentence of caution if anything is above 50 V or stores 10 J or more, else None."""
    voltage = max((s.voltage for s in reference.states.values() if s.voltage), default=Fraction(0))
    energy = max((s.energy for s in reference.states.values() if s.energy), default=Fraction(0))
    dangers = []
    if voltage > VOLTAGE_LIMIT:
        shown = format_quantity(Quantity(voltage, "voltage"))
        dangers.append(
            f"{shown} is more than the 50 V from which live parts are to be guarded "
            "(OSHA 29 CFR 1910.303(g)(2)(i))"
        )
    if energy >= ENERGY_LIMIT:
        shown = format_quantity(Quantity(energy, "energy"))
        dangers.append(
            f"{shown} stored is not below the 10 J that, from 100 V, count as a shock hazard of a "
            "capacitor (LBNL electrical safety table)"
        )
    if not dangers:
        return None
    return (
        f"Caution: {' and '.join(dangers)}; capacitors stay charged after the supply is off, this "
        "is a check of work on paper only, and before building or touching such a circuit your "
        "local rules and qualified staff decide."
    )
