"""From the gauge to the belt and back: the bag's force on the belt under the pressure plate."""

from __future__ import annotations

import math
from dataclasses import dataclass

from assistant.recipe.not_computable import NotComputable


@dataclass(frozen=True)
class Pressed:
    """force_N: bag and weight together; belt_Pa: pressure on the belt; line_Pa: at the gauge."""

    force_N: float
    belt_Pa: float
    line_Pa: float


def belt_pressure(
    line_Pa: float,
    bag_area_m2: float,
    belt_area_m2: float,
    plate_area_m2: float,
    *,
    weight_N: float = 0.0,
    press_limit_Pa: float = math.inf,
    belt_limit_Pa: float = math.inf,
) -> Pressed:
    """Pressure on the belt from gauge pressure.

    Args: gauge pressure; the maker's effective bag area; area of belt under the plate (not of the
    plate, when the belt is narrower); area of the plate; weight resting on the belt; limits of
    press (gauge) and belt.
    Raises: NotComputable for a negative (perhaps absolute) line pressure, no belt under the plate,
    more belt than plate, or a limit passed.
    """
    _check_areas(bag_area_m2, belt_area_m2, plate_area_m2)
    if not line_Pa >= 0:
        raise NotComputable(
            f"A line pressure of {line_Pa / 1e5:g} bar is below zero: read the gauge again, it shows pressure over the air outside."
        )
    if line_Pa > press_limit_Pa * (1 + 1e-9):
        raise NotComputable(
            f"{line_Pa / 1e5:.2f} bar at the gauge is more than the press may have, {press_limit_Pa / 1e5:.2f} bar."
        )
    force = line_Pa * bag_area_m2 + weight_N
    on_belt = force / belt_area_m2
    if on_belt > belt_limit_Pa * (1 + 1e-9):
        raise NotComputable(
            f"{on_belt / 1e5:.2f} bar on the belt is more than its data sheet allows, {belt_limit_Pa / 1e5:.2f} bar."
        )
    return Pressed(force, on_belt, line_Pa)


def line_pressure(
    belt_Pa: float,
    bag_area_m2: float,
    belt_area_m2: float,
    plate_area_m2: float,
    *,
    weight_N: float = 0.0,
    press_limit_Pa: float = math.inf,
    belt_limit_Pa: float = math.inf,
) -> Pressed:
    """The gauge pressure that puts `belt_Pa` on the belt. Raises: NotComputable as `belt_pressure`."""
    _check_areas(bag_area_m2, belt_area_m2, plate_area_m2)
    line = (belt_Pa * belt_area_m2 - weight_N) / bag_area_m2
    if line < 0:
        raise NotComputable(f"The weight of the plate alone presses with more than {belt_Pa / 1e5:.2f} bar.")
    return belt_pressure(
        line,
        bag_area_m2,
        belt_area_m2,
        plate_area_m2,
        weight_N=weight_N,
        press_limit_Pa=press_limit_Pa,
        belt_limit_Pa=belt_limit_Pa,
    )


def _check_areas(bag_area_m2: float, belt_area_m2: float, plate_area_m2: float) -> None:
    if not bag_area_m2 > 0:
        raise NotComputable("The bag has no area: its maker states the effective one.")
    if not belt_area_m2 > 0:
        raise NotComputable("There is no belt under the plate.")
    if belt_area_m2 > plate_area_m2 * (1 + 1e-9):
        raise NotComputable("There is more belt than pressure plate: the plate must cover the joint.")
