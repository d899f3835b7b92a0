"""How far what is computed with may be off: from the data's own ranges, by planning values where they have none.

The ends of a range are taken as what one in twenty lies beyond, on that side. A range that ends at the value
itself says nothing about that side: there the planning value stands.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from assistant.bench.material import Material
from assistant.bench.press import Platen, Press
from assistant.bench.sourced import Range


@dataclass(frozen=True)
class Span:
    """Factors on a value, below and above 1: what one in twenty falls short of, and what one in twenty exceeds."""

    low: float
    high: float

    def at(self, deviations: float) -> float:
        """The factor `deviations` times as far out as the one in twenty; below zero towards `low`."""
        return float(self.high**deviations if deviations >= 0 else self.low**-deviations)


# Planning values, engineering judgement where no measurement is known.
CONDUCTIVITY = Span(0.85, 1 / 0.85)
CAPACITY = Span(1 / 1.2, 1.2)  # of density times heat capacity
LATENT = Span(0.7, 1.3)
PRESS = Span(0.7, 1.3)  # of power, losses and cooling of a press that is still in order


def conductivity_span(material: Material) -> Span:
    """Of the conductivity across the sheet."""
    return _span(material.conductivity_W_mK, material.ranges.conductivity_W_mK, CONDUCTIVITY)


def capacity_span(material: Material) -> Span:
    """Of the heat taken up per volume and kelvin: heat capacity, and density where its range is known, as squares."""
    heat = _span(material.heat_capacity_J_kgK, material.ranges.heat_capacity_J_kgK, None)
    dense = _span(material.density_kg_m3, material.ranges.density_kg_m3, Span(1.0, 1.0))
    return Span(
        CAPACITY.low if heat.low == 1 else math.exp(-math.hypot(math.log(heat.low), math.log(dense.low))),
        CAPACITY.high if heat.high == 1 else math.exp(math.hypot(math.log(heat.high), math.log(dense.high))),
    )


def latent_span(material: Material) -> Span:
    """Of the heat of melting; without meaning where there is none."""
    return _span(material.latent_heat_J_kg or 1.0, material.ranges.latent_heat_J_kg, LATENT)


def platen_span(
    press: Press, platen: Platen, name: Literal["power_W_m2", "loss_W_m2K", "cooling_W_m2K"]
) -> Span:
    """Of a constant of the press: from its file, or as past sessions taught, else the planning value."""
    value, given = getattr(platen, name), platen.ranges.get(name)
    if name == "cooling_W_m2K" and value is None:
        value = press.cooling.coefficient_W_m2K
        given = given or press.cooling.ranges.get("coefficient_W_m2K")
    return _span(value, given, PRESS) if value else Span(1.0, 1.0)


def told_spans(materials: Iterable[Material]) -> str:
    """In a sentence where the spread of each belt material comes from, on the side that makes the dwell longer."""
    by_data, by_planning = [], []
    for material in materials:
        for what, value, given in (
            ("conductivity", material.conductivity_W_mK, material.ranges.conductivity_W_mK),
            ("heat capacity", material.heat_capacity_J_kgK, material.ranges.heat_capacity_J_kgK),
        ):
            slow = None if given is None else given[0] if what == "conductivity" else given[1]
            if slow is None or slow == value:
                by_planning.append(f"{what} of {material.name}")
            else:
                by_data.append(f"{what} of {material.name} (to {slow:g})")
    data = f"from the ranges in its data for {', '.join(by_data)}; " if by_data else ""
    planned = (
        f"by planning values ({100 * (1 - CONDUCTIVITY.low):.0f} % less conductivity, {100 * (CAPACITY.high - 1):.0f} % more heat capacity) "
        f"for {', '.join(by_planning)}; "
        if by_planning
        else ""
    )
    return (
        f"How far the belt may be off is taken {data}{planned}by planning values for thickness, contact and platen "
        "sensors; the layers are off together."
    )


def _span(value: float, given: Range | None, without: Span | None) -> Span:
    """without: the planning value for a side that the range does not speak of; None: 1 there."""
    low, high = (value, value) if given is None else given
    return Span(
        low / value if low < value or without is None else without.low,
        high / value if high > value or without is None else without.high,
    )
