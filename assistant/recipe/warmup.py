"""One platen as one lump: how long it takes to warm up, what it takes to hold. A quick second opinion."""

from __future__ import annotations

import math
from dataclasses import dataclass

from assistant.recipe.not_computable import NotComputable


@dataclass(frozen=True)
class WarmUp:
    """time_s to the end temperature; energy_J taken until then; holding_W to stay there."""

    time_s: float
    energy_J: float
    holding_W: float


def warm_up(
    capacity_J_K: float, power_W: float, loss_W_K: float, *, start_K: float, end_K: float, around_K: float
) -> WarmUp:
    """Lumped platen: C dT/dt = P - UA (T - T_around).

    Raises: NotComputable when the losses at the end temperature eat all the power, or for values
    that cannot be.
    """
    if not (capacity_J_K > 0 and power_W > 0 and loss_W_K >= 0 and end_K >= start_K):
        raise NotComputable(
            "Heat capacity and power must be greater than zero, and the end not below the start."
        )
    holding = loss_W_K * (end_K - around_K)
    if power_W <= holding:
        raise NotComputable(
            f"At {end_K - 273.15:g} °C the platen would lose {holding:.0f} W and the heater gives {power_W:g} W: "
            "it never gets there."
        )
    if loss_W_K == 0:
        time = capacity_J_K * (end_K - start_K) / power_W
    else:
        gained = loss_W_K * (end_K - start_K) / (power_W - loss_W_K * (start_K - around_K))
        time = -capacity_J_K / loss_W_K * math.log1p(-gained)
    return WarmUp(time, power_W * time, holding)
