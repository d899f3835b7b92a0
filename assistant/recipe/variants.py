"""The ways a lay-up may really be, when all that is known are planning values and how far they may be off.

A fixed set of even draws (an additive recurrence with the generalised golden ratio), so that the same
question has the same answer every time.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from assistant.bench.job import Job
from assistant.recipe.case import CONTACT_FACTOR, THICKER_M
from assistant.recipe.conduction import Conduction
from assistant.recipe.curves import SENSOR_DEVIATIONS
from assistant.recipe.platen import PressModel, press_model
from assistant.recipe.press_off import press_off
from assistant.recipe.setting import SURE_95
from assistant.recipe.stack import stack_of

DRAWS = 32
FINENESS = 0.5  # the halved grid: its error is far below the spread looked at
THINNEST = 0.5  # of the belt's thickness, however thin it is


@dataclass(frozen=True)
class Variant:
    """sensor_K: the true platens lie this much above what the displays say, upper and lower."""

    body: Conduction
    press: PressModel
    sensor_K: tuple[float, float]


def as_planned(job: Job) -> Variant:
    """The planning values themselves. Raises: NotComputable."""
    return Variant(Conduction(stack_of(job), FINENESS), press_model(job), (0.0, 0.0))


def variants_of(job: Job, draws: int = DRAWS, *, press_known: bool = False) -> tuple[Variant, ...]:
    """Draws of belt, contact, sensors and, unless the ramp has been seen (`press_known`), of the press.

    The one-in-twenty values of the recipe's spread are taken as 1.645 standard deviations.
    Raises: NotComputable.
    """
    stack, press = stack_of(job), press_model(job)
    sigma_m = min(THICKER_M, (1 - THINNEST) * stack.belt_thickness_m) / SURE_95
    found = []
    for k, c, r, d, power, loss, upper, lower in _normal_draws(draws, 8):
        changed = stack.changed(
            belt_thicker_m=max(d * sigma_m, (THINNEST - 1) * stack.belt_thickness_m),
            contact_factor=CONTACT_FACTOR ** (r / SURE_95),
        ).off(conductivity=k / SURE_95, capacity=c / SURE_95)
        model = press
        if not press_known:
            model = press_off(job, press, power=power / SENSOR_DEVIATIONS, loss=loss / SENSOR_DEVIATIONS)
        off = (upper * job.press.upper.sensor_error_K, lower * job.press.lower.sensor_error_K)
        found.append(Variant(Conduction(changed, FINENESS), model, off))
    return tuple(found)


def _normal_draws(count: int, dimensions: int) -> list[list[float]]:
    """Evenly spread standard normal draws, shape (count, dimensions)."""
    ratio = 2.0
    for _ in range(60):  # root of x^(d+1) = x + 1
        ratio = (1 + ratio) ** (1 / (dimensions + 1))
    steps = [ratio ** -(i + 1) for i in range(dimensions)]
    normal = NormalDist()
    return [
        [normal.inv_cdf(min(max(math.fmod(0.5 + n * step, 1.0), 1e-3), 1 - 1e-3)) for step in steps]
        for n in range(1, count + 1)
    ]
