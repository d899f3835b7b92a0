"""The pressure to set at the gauge, so that the belt under the plate gets what its material asks for."""

from __future__ import annotations

import math

from assistant.bench.job import Job
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.overrule import Values, bar
from assistant.recipe.pressure import belt_pressure, line_pressure
from assistant.recipe.refused import Refused
from assistant.recipe.stack import belt_materials

COMMON_PRESSURE_BAR = 2.0  # on the belt, where its materials say nothing; common practice
PRESSURE_STEP_PA = 5000.0
LEAST_PART = 0.25  # of the usual pressure; with less nothing holds the ends together while they melt


def take_pressure(job: Job, values: Values) -> float:
    """Gauge pressure [Pa] for the target on the belt, or as overruled, noted in `values`.

    A data sheet's pressure is taken as that on the belt. Raises: Refused beyond press or belt.
    """
    template, sheet = job.template, job.belt.sheet
    length_m = template.plate_length_mm / 1e3
    belt_m2 = length_m * job.belt.width_mm / 1e3
    plate_m2 = length_m * max(template.channel_width_mm, job.belt.width_mm) / 1e3
    bag_m2 = job.press.bag_area_mm2 / 1e6
    limits = {
        "press_limit_Pa": job.press.max_pressure_bar * 1e5,
        "belt_limit_Pa": math.inf if sheet.max_pressure_bar is None else sheet.max_pressure_bar * 1e5,
    }
    known = [
        material.target_pressure_bar
        for material in belt_materials(job)
        if material.target_pressure_bar is not None
    ]
    target_Pa = max(known, default=COMMON_PRESSURE_BAR) * 1e5

    def gauge(on_belt_Pa: float) -> float:
        line_Pa = line_pressure(on_belt_Pa, bag_m2, belt_m2, plate_m2).line_Pa
        return PRESSURE_STEP_PA * max(1, round(line_Pa / PRESSURE_STEP_PA))

    on_sheet = None if sheet.pressure_bar is None else gauge(sheet.pressure_bar * 1e5)
    why = (
        f"The bag of {bag_m2 * 1e4:.0f} cm² presses on {belt_m2 * 1e4:.0f} cm² of belt under the plate, "
        f"so that the gauge shows {_relation(bag_m2, belt_m2)} the pressure on the belt, about {bar(target_Pa)}."
    )
    line_Pa = values.take("pressure", "pressure", gauge(target_Pa), on_sheet, why, bar)
    try:
        pressed = belt_pressure(line_Pa, bag_m2, belt_m2, plate_m2, **limits)
    except NotComputable as refusal:
        least_Pa = min(limits["press_limit_Pa"], limits["belt_limit_Pa"] * belt_m2 / bag_m2)
        raise Refused(
            str(refusal), f"Set {bar(least_Pa)} or less at the gauge, or take a template that suits the bag."
        ) from None
    if pressed.belt_Pa < LEAST_PART * target_Pa:
        raise Refused(
            f"{bar(line_Pa)} at the gauge would press only {bar(pressed.belt_Pa)} on the belt; about {bar(target_Pa)} is usual.",
            f"Set about {bar(gauge(target_Pa))} at the gauge.",
        )
    if pressed.belt_Pa < 0.5 * target_Pa:
        values.warnings.append(
            f"Only {bar(pressed.belt_Pa)} would press on the belt; about {bar(target_Pa)} is usual."
        )
    return line_Pa


def _relation(bag_m2: float, belt_m2: float) -> str:
    """How the gauge compares with the pressure on the belt, in words."""
    ratio = belt_m2 / bag_m2
    return "the same as" if abs(ratio - 1) < 0.02 else f"{ratio:.2f} times"
