"""Set temperatures: as far above the fusion of the coldest edge as below the damage of the hottest point.

Both margins are counted in what steers them: colder platen edges and overshoot are taken off first, then
what is left must cover the error of the platen sensor. The middle of the window is where a sensor may be
wrong by most, either way, before the joint suffers; going hotter would save only seconds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assistant.bench.job import Job
from assistant.recipe.conduction import Conduction
from assistant.recipe.platen import PlatenModel, PressModel
from assistant.recipe.stack import ZERO_C_K, belt_materials

if TYPE_CHECKING:
    from assistant.recipe.conduction import Floats

SURE_95 = 1.645  # one-sided 95 % of a normal spread, in standard deviations
ROUND_K = 5.0  # a set temperature people can read back; only if both margins still hold
WORTH_SPLITTING_K = 2.0  # margin gained before two different temperatures are worth the trouble


@dataclass(frozen=True)
class Window:
    """The set temperatures chosen, and the margins they leave [K] beyond edges and overshoot."""

    upper_K: float
    lower_K: float
    above_fusion_K: float
    below_damage_K: float
    sensor_K: float  # what each margin has to cover: 95 % of the sensor's error

    @property
    def wide_enough(self) -> bool:
        return min(self.above_fusion_K, self.below_damage_K) >= self.sensor_K


def overshoot_K(platen: PlatenModel, lag_s: float, set_K: float, lay_up_J_m2K: float) -> float:
    """How far a platen runs past its set temperature before its sensor tells: heating rate times lag."""
    net = platen.power_W_m2 - platen.loss_W_m2K * (set_K - platen.around_K)
    return max(0.0, net / (platen.capacity_J_m2K + lay_up_J_m2K / 2) * lag_s)


class Margins:
    """Margins of a job's belt at any pair of set temperatures, once everything has settled."""

    def __init__(self, job: Job, body: Conduction, press: PressModel) -> None:
        self._press, self._job = press, job
        self._body, self._lay_up_J_m2K = body, body.stack.heat_per_K_J_m2K
        belt = body.belt(body.steady(1.0, 0.0))
        self._share: Floats = belt  # of the upper platen's temperature in each belt point
        self.fusion_K, self.damage_K = float(body.fusion_K.max()), float(body.damage_K.min())
        self.sensor_K = SURE_95 * max(job.press.upper.sensor_error_K, job.press.lower.sensor_error_K)

    def at(self, upper_K: float, lower_K: float) -> Window:
        share = self._share
        settled = share * upper_K + (1 - share) * lower_K
        edge = (
            share * self._job.press.upper.edge_deficit_K + (1 - share) * self._job.press.lower.edge_deficit_K
        )
        lay_up = self._lay_up_J_m2K
        over = share * overshoot_K(self._press.upper, self._job.press.upper.sensor_lag_s, upper_K, lay_up) + (
            1 - share
        ) * overshoot_K(self._press.lower, self._job.press.lower.sensor_lag_s, lower_K, lay_up)
        return Window(
            upper_K,
            lower_K,
            float((settled - edge - self._body.fusion_K).min()),
            float((self._body.damage_K - over - settled).min()),
            self.sensor_K,
        )


def limits_K(job: Job) -> tuple[float, str]:
    """The hottest setting allowed, and by what: press or data sheet."""
    limit, by = job.press.max_degC, f"the {job.press.name} goes no higher than {job.press.max_degC:g} °C"
    if job.belt.sheet.max_degC is not None and job.belt.sheet.max_degC < limit:
        limit = job.belt.sheet.max_degC
        by = f"the data sheet of the {job.belt.name} allows no more than {limit:g} °C"
    return limit + ZERO_C_K, by


def choose(job: Job, margins: Margins) -> Window:
    """The best pair of set temperatures within press, data sheet and usual window of the materials.

    It is the best there is, not always good enough: see `Window.wide_enough`.
    """
    highest_K, _ = limits_K(job)
    windows = [material.window_degC for material in belt_materials(job) if material.window_degC is not None]
    low = round(max((window[0] for window in windows), default=100.0))
    high = round(min([*(window[1] for window in windows), highest_K - ZERO_C_K]))
    low = min(low, high)
    step = max(1, round(job.press.temperature_step_K))
    candidates = [degC + ZERO_C_K for degC in range(low, high + 1, step)]

    def worth(window: Window) -> float:
        return min(window.above_fusion_K, window.below_damage_K)

    alike = max((margins.at(both, both) for both in candidates), key=worth)
    best = max(
        (margins.at(upper, lower) for upper in candidates[::5] for lower in candidates[::5]), key=worth
    )
    if worth(best) > worth(alike) + WORTH_SPLITTING_K:
        return best
    rounded_K = ROUND_K * round((alike.upper_K - ZERO_C_K) / ROUND_K) + ZERO_C_K
    if low <= rounded_K - ZERO_C_K <= high:
        rounded = margins.at(rounded_K, rounded_K)
        if rounded.wide_enough:
            return rounded
    return alike
