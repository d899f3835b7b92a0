"""Learning a press: heating power, losses and cooling of both platens from the readings of past cycles.

Least squares on the recipe's own model. Beside the six constants, each sensor's error and the lay-up's contact
and conductivity are fitted too, within what they may be off by: what they leave open widens the intervals.
Readings of the hold are left out: there the controller shows its set temperature, whatever the press is like.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assistant.bench.job import Job
from assistant.recipe.case import CONTACT_FACTOR
from assistant.recipe.displays import PLATENS, Circumstances, Clock, Displays
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.platen import Settings
from assistant.recipe.setting import SURE_95
from assistant.recipe.spans import CONDUCTIVITY

if TYPE_CHECKING:
    from assistant.recipe.conduction import Floats

FACTORS = ("upper_power", "lower_power", "upper_loss", "lower_loss", "upper_cooling", "lower_cooling")
WORDS = {
    "upper_power": "the upper heater's power", "lower_power": "the lower heater's power",
    "upper_loss": "the upper platen's losses", "lower_loss": "the lower platen's losses",
    "upper_cooling": "the upper platen's cooling", "lower_cooling": "the lower platen's cooling",
}  # fmt: skip
PRIOR_SIGMA = 0.5  # of the logarithm of a factor: hardly held to the planning value; judgement
DISPLAY_K, NOTED_S = 0.6, 3.0  # rounding and restlessness of a display; seconds between reading and noting
FEWEST = 6  # readings beside the hold, in all
TWO_SIDED_95 = 1.959964


@dataclass(frozen=True)
class PastReading:
    slot: str
    value: float
    t_s: float


@dataclass(frozen=True)
class PastRun:
    """One cycle as the record has it: s since heat on, K. date: ISO, for the words only."""

    job: Job
    settings: Settings
    readings: tuple[PastReading, ...]
    cool_on_s: float | None
    at_set_s: float | None
    date: str = ""

    @property
    def telling(self) -> tuple[PastReading, ...]:
        """Those of platens, outside the hold."""
        held_s = math.inf if self.at_set_s is None else self.at_set_s
        cool_s = math.inf if self.cool_on_s is None else self.cool_on_s
        return tuple(
            reading
            for reading in self.readings
            if reading.slot in PLATENS and (0 <= reading.t_s < held_s or reading.t_s > cool_s)
        )


@dataclass(frozen=True)
class Factor:
    """A constant of the press over its planning value, with its 95 % interval."""

    value: float
    low: float
    high: float

    @property
    def sigma(self) -> float:
        """Of its logarithm."""
        return math.log(self.high / self.low) / (2 * TWO_SIDED_95)


@dataclass(frozen=True)
class Learned:
    """factors by name as in `FACTORS`; residual_K: root mean square of what is left; drift: sentences."""

    factors: dict[str, Factor]
    sessions: int
    readings: int
    residual_K: float
    drift: tuple[str, ...]


def learn(runs: Sequence[PastRun]) -> Learned:
    """The constants of one press from past cycles, oldest first; the drift of the latest against those before it.

    Raises: NotComputable with too few readings to say anything.
    """
    used = [run for run in runs if run.telling]
    readings = sum(len(run.telling) for run in used)
    if readings < FEWEST:
        raise NotComputable(
            f"There are only {readings} readings of platens on their way up or down; {FEWEST} are needed. "
            "Read both displays a few times in the ramp and in cooling."
        )
    factors, residual_K = _fit(used)
    return Learned(factors, len(used), readings, residual_K, drift_of(used))


def drift_of(runs: Sequence[PastRun]) -> tuple[str, ...]:
    """What the latest cycle, oldest first, differs in from all earlier ones by more than both intervals leave open.

    One sentence a constant; none with fewer than two cycles or too few readings in the latest.
    """
    runs = [run for run in runs if run.telling]
    if len(runs) < 2 or len(runs[-1].telling) < FEWEST:
        return ()
    before, latest = _fit(runs[:-1])[0], _fit(runs[-1:])[0]
    told = []
    for name in FACTORS:
        old, new = before[name], latest[name]
        change = math.log(new.value / old.value)
        if abs(change) > TWO_SIDED_95 * math.hypot(old.sigma, new.sigma):
            word = "more" if change > 0 else "less"
            told.append(
                f"In the latest session {WORDS[name]} was {abs(math.expm1(change)) * 100:.0f} % {word} than before: "
                f"{_check(name, change)}."
            )
    return tuple(told)


def _check(name: str, change: float) -> str:
    if name.endswith("power"):
        return "check heater, lead and supply" if change < 0 else "check the supply and the sensor"
    if name.endswith("loss"):
        return "check insulation and covers, and the shop's temperature"
    return "check the cooling" if change < 0 else "check the coolant's temperature"


def _fit(runs: Sequence[PastRun]) -> tuple[dict[str, Factor], float]:
    import numpy as np
    from scipy.optimize import least_squares

    displays = [Displays(run.job, run.settings, Clock(0.0, run.cool_on_s)) for run in runs]
    told = [run.telling for run in runs]
    slots = [[reading.slot for reading in readings] for readings in told]
    times = [[reading.t_s for reading in readings] for readings in told]
    measured = np.array([reading.value for readings in told for reading in readings])
    press = runs[0].job.press
    prior = np.array(
        [PRIOR_SIGMA] * len(FACTORS)
        + [press.upper.sensor_error_K, press.lower.sensor_error_K]
        + [math.log(CONTACT_FACTOR) / SURE_95, -math.log(CONDUCTIVITY.low) / SURE_95]
    )

    def shown(x: Floats, later_s: float = 0.0) -> Floats:
        given = _circumstances(x)
        return np.concatenate(
            [
                display.show(slots[i], [t + later_s for t in times[i]], given)
                for i, display in enumerate(displays)
            ]
        )

    start = np.zeros(len(prior))
    slope = shown(start, 1.0) - shown(start)
    noise = np.hypot(DISPLAY_K, NOTED_S * slope)

    def left(x: Floats) -> Floats:
        return np.concatenate(((shown(x) - measured) / noise, x / prior))

    bounds = (np.array([-2.5] * 6 + [-30.0] * 2 + [-1.5] * 2), np.array([2.5] * 6 + [30.0] * 2 + [1.5] * 2))
    found = least_squares(
        left,
        start,
        bounds=bounds,
        loss="soft_l1",
        f_scale=3.0,
        diff_step=[1e-3] * len(prior),
        x_scale=prior,
        xtol=1e-6,
        ftol=1e-6,
    )
    jacobian = _slopes(left, found.x, prior)
    data = left(found.x)[: len(measured)]
    freedom = max(1, len(measured) - len(FACTORS))
    scale = max(1.0, float(data @ data) / freedom) ** 0.5  # more scatter than expected widens the intervals
    sigma = scale * np.sqrt(np.diag(np.linalg.inv(jacobian.T @ jacobian)))
    factors = {
        name: Factor(
            math.exp(found.x[i]),
            math.exp(found.x[i] - TWO_SIDED_95 * sigma[i]),
            math.exp(found.x[i] + TWO_SIDED_95 * sigma[i]),
        )
        for i, name in enumerate(FACTORS)
    }
    return factors, float(np.sqrt(np.mean((data * noise) ** 2)))


def _circumstances(x: Floats) -> Circumstances:
    power, loss, cooling = (tuple(math.exp(v) for v in x[i : i + 2]) for i in (0, 2, 4))
    return Circumstances(
        power=(power[0], power[1]),
        loss=(loss[0], loss[1]),
        cooling=(cooling[0], cooling[1]),
        reads_K=(float(x[6]), float(x[7])),
        contact=math.exp(x[8]),
        conductivity=math.exp(x[9]),
    )


def _slopes(left: object, x: Floats, prior: Floats) -> Floats:
    """Jacobian by central differences of a hundredth of each prior's spread, without the softening of the loss."""
    import numpy as np

    assert callable(left)
    columns = []
    for i, spread in enumerate(prior):
        step = np.zeros(len(x))
        step[i] = 0.02 * spread
        columns.append((left(x + step) - left(x - step)) / (2 * step[i]))
    return np.array(columns).T
