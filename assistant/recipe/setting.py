"""Set temperatures: the shortest expected time, counting the risk of having to make the joint twice.

Colder, the ramp and the cooling are shorter but the edges may not fuse; hotter, the core fuses sooner but
the surface comes near its damage. Both margins are counted after colder edges and overshoot. What a platen
sensor and the fusion temperature itself may be off by makes a margin a probability, and a joint that has to
be cut out and redone costs hours: so a few seconds of cycle are never bought with a thin margin.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot, inf
from statistics import NormalDist
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
FUSION_SPREAD_K = 5.0  # one deviation of fusion and damage themselves; judgement: published ranges are +-10 K
REDO_S = 2 * 3600.0  # to cut out a joint and make it again; engineering judgement
LOOK_K = 5.0  # how far to either side it is told what would be gained and lost
SHORTER_S = 1.0  # of a cycle: less is no difference
ASSUMED = (
    f"The set temperatures are chosen by expected time: the cycle, and {REDO_S / 3600:g} h for each joint made twice, where fusion "
    f"and damage are known to ±{FUSION_SPREAD_K:g} K (both judgement, not computed); then rounded to {ROUND_K:g} K where the "
    "margins allow."
)


def deviations(sure: float) -> float:
    """Standard deviations of a normal spread that cover a share `sure`, one-sided."""
    return NormalDist().inv_cdf(sure)


@dataclass(frozen=True)
class Window:
    """The set temperatures chosen, and the margins they leave [K] beyond edges and overshoot."""

    upper_K: float
    lower_K: float
    above_fusion_K: float
    below_damage_K: float
    sensor_K: float  # what each margin has to cover of the sensor's error
    deviation_K: float  # of either margin: sensor, and fusion or damage themselves

    @property
    def redo_s(self) -> float:
        """Expected time lost to joints that have to be made twice."""
        normal = NormalDist(0.0, self.deviation_K)
        return REDO_S * (normal.cdf(-self.above_fusion_K) + normal.cdf(-self.below_damage_K))

    @property
    def wide_enough(self) -> bool:
        return min(self.above_fusion_K, self.below_damage_K) >= self.sensor_K


def overshoot_K(platen: PlatenModel, lag_s: float, set_K: float, lay_up_J_m2K: float) -> float:
    """How far a platen runs past its set temperature before its sensor tells: heating rate times lag."""
    net = platen.power_W_m2 - platen.loss_W_m2K * (set_K - platen.around_K)
    return max(0.0, net / (platen.capacity_J_m2K + lay_up_J_m2K / 2) * lag_s)


class Margins:
    """Margins of a job's belt at any pair of set temperatures, once everything has settled."""

    def __init__(self, job: Job, body: Conduction, press: PressModel, sure: float = 0.95) -> None:
        self._press, self._job = press, job
        self._body, self._lay_up_J_m2K = body, body.stack.heat_per_K_J_m2K
        belt = body.belt(body.steady(1.0, 0.0))
        self._share: Floats = belt  # of the upper platen's temperature in each belt point
        self.fusion_K, self.damage_K = float(body.fusion_K.max()), float(body.damage_K.min())
        error_K = max(job.press.upper.sensor_error_K, job.press.lower.sensor_error_K)
        self.sensor_K = deviations(sure) * error_K
        self.deviation_K = hypot(error_K, FUSION_SPREAD_K)

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
            self.deviation_K,
        )


def limits_K(job: Job) -> tuple[float, str]:
    """The hottest setting allowed, and by what: press or data sheet."""
    limit, by = job.press.max_degC, f"the {job.press.name} goes no higher than {job.press.max_degC:g} °C"
    if job.belt.sheet.max_degC is not None and job.belt.sheet.max_degC < limit:
        limit = job.belt.sheet.max_degC
        by = f"the data sheet of the {job.belt.name} allows no more than {limit:g} °C"
    return limit + ZERO_C_K, by


@dataclass(frozen=True)
class Chosen:
    """The best window there is, not always good enough (see `Window.wide_enough`), and what binds it.

    shortest: where the cycle is the shortest that the limits allow, joints made twice not counted; saves_s: by how much.
    None: the platens are set apart, or no temperature clears the limits.
    """

    window: Window
    binding: str
    shortest: Window | None = None
    saves_s: float = 0.0


def choose(job: Job, margins: Margins, cycle_s: Callable[[float], float]) -> Chosen:
    """The pair of set temperatures within press, data sheet and usual window of the materials.

    Args: cycle_s: time of a cycle with both platens at a temperature, K; infinite where nothing fuses.
    """
    highest_K, highest_by = limits_K(job)
    windows = [material.window_degC for material in belt_materials(job) if material.window_degC is not None]
    low = round(max((window[0] for window in windows), default=100.0))
    high = round(min([*(window[1] for window in windows), highest_K - ZERO_C_K]))
    low = min(low, high)
    step = max(1, round(job.press.temperature_step_K))
    candidates = [degC + ZERO_C_K for degC in range(low, high + 1, step)]

    def worth(window: Window) -> float:
        return min(window.above_fusion_K, window.below_damage_K)

    alike = [margins.at(both, both) for both in candidates]
    widest = max(alike, key=worth)
    apart = max(
        (margins.at(upper, lower) for upper in candidates[::5] for lower in candidates[::5]), key=worth
    )
    if worth(apart) > worth(widest) + WORTH_SPLITTING_K:
        return Chosen(
            apart, "Fusion on one side and damage on the other bind: the covers want different temperatures."
        )
    safe = [window for window in alike if window.wide_enough]
    if not safe:
        return Chosen(
            widest,
            "Fusion of the coldest edge and damage of the hottest point bind together: no temperature clears both.",
        )

    def cost_s(window: Window) -> float:
        return cycle_s(window.upper_K) + window.redo_s

    best = min(safe, key=cost_s)
    rounded_K = ROUND_K * round((best.upper_K - ZERO_C_K) / ROUND_K) + ZERO_C_K
    if low <= rounded_K - ZERO_C_K <= high:
        rounded = margins.at(rounded_K, rounded_K)
        if rounded.wide_enough:
            best = rounded
    top_by = (
        highest_by
        if high >= highest_K - ZERO_C_K - 0.5
        else f"the usual window of the material ends at {high} °C"
    )
    ends = (f"the usual window of the material begins at {low} °C", top_by)
    shortest = min(safe, key=lambda window: cycle_s(window.upper_K))
    saves_s = cycle_s(best.upper_K) - cycle_s(shortest.upper_K)
    if saves_s < SHORTER_S:
        shortest, saves_s = best, 0.0
    binding = _binding(best, margins, cycle_s, (candidates[0], candidates[-1]), ends)
    by_limits = (
        f" The shortest cycle that the limits allow is at {shortest.upper_K - ZERO_C_K:.0f} °C, {saves_s:.0f} s shorter."
        if shortest is not best
        else " No shorter cycle is allowed."
    )
    return Chosen(best, binding + by_limits, shortest, saves_s)


def _binding(
    best: Window,
    margins: Margins,
    cycle_s: Callable[[float], float],
    range_K: tuple[float, float],
    ends: tuple[str, str],
) -> str:
    """What would be gained and lost a little colder and a little hotter."""
    here_s = cycle_s(best.upper_K)
    told: list[str] = []
    for sign, way, limit, end, by in (
        (-1, "colder", "whose edges do not fuse", range_K[0], ends[0]),
        (1, "hotter", "that are damaged", range_K[1], ends[1]),
    ):
        there_K = best.upper_K + sign * LOOK_K
        gain_s = here_s - cycle_s(there_K)
        risk_s = margins.at(there_K, there_K).redo_s - best.redo_s
        if gain_s == -inf or gain_s <= 0:
            continue
        if (there_K - end) * sign > 0:
            told.append(f"{LOOK_K:g} K {way} would save {gain_s:.0f} s, but {by}")
        else:
            told.append(
                f"{LOOK_K:g} K {way} would save {gain_s:.0f} s of the cycle and cost {risk_s:+.0f} s in joints {limit}"
            )
    chosen = (
        f"Expected time binds, joints made twice counted in: {REDO_S / 3600:g} h each, with fusion and damage known to "
        f"±{FUSION_SPREAD_K:g} K (judgement)"
    )
    if not told:
        return f"{chosen}: {LOOK_K:g} K either way makes the cycle longer."
    return f"{chosen}: {'; '.join(told)}."
