"""A simulated press for practice and the demo: the same physics, other constants than the ones assumed.

It answers for any moment from the commands given so far and keeps no clock, so session time may run as
fast as anyone likes. Its constants are hidden: heating power, losses, contact and conductivity are each at
least 15 % off, the upper platen otherwise than the lower.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from assistant.bench.job import Job
from assistant.recipe.conduction import Conduction
from assistant.recipe.platen import PlatenModel, PressModel, cool_down, heat_up, press_model
from assistant.recipe.run import Run
from assistant.recipe.stack import ZERO_C_K, stack_of

if TYPE_CHECKING:
    from assistant.recipe.conduction import Floats

RESOLUTION_K = 1.0  # of the display
EDGE_SHARE = 0.95  # of the belt's rise over the shop that its open edge shows


@dataclass(frozen=True)
class Hidden:
    """Factors on what is assumed; sensor offsets are added to what the displays show."""

    upper_power: float
    lower_power: float
    upper_loss: float
    lower_loss: float
    contact: float
    conductivity: float
    upper_sensor_K: float
    lower_sensor_K: float


def hidden(seed: int) -> Hidden:
    """A set of hidden factors, each 15 to 22 % off one way or the other; sensors up to 1.5 K."""
    draw = random.Random(seed)

    def off() -> float:
        return 1 + draw.choice((-1, 1)) * draw.uniform(0.15, 0.22)

    return Hidden(off(), off(), off(), off(), off(), off(), draw.uniform(-1.5, 1.5), draw.uniform(-1.5, 1.5))


@dataclass(frozen=True)
class _Leg:
    """A run that holds from `start_s` of the session on."""

    start_s: float
    run: Run


class SimulatedPress:
    """Commands in order of time, then readings at any time; all times are session seconds.

    Raises: ValueError when heat is switched on before both temperatures are set, or a command comes
    before the last one.
    """

    def __init__(self, job: Job, seed: int = 1, secret: Hidden | None = None) -> None:
        self._job = job
        self._secret = secret or hidden(seed)
        self._shop_K = job.shop_degC + ZERO_C_K
        self._body = Conduction(
            stack_of(job).changed(
                contact_factor=self._secret.contact, conductivity_factor=self._secret.conductivity
            )
        )
        model = press_model(job)
        self._press = PressModel(
            _other(model.upper, self._secret.upper_power, self._secret.upper_loss),
            _other(model.lower, self._secret.lower_power, self._secret.lower_loss),
        )
        self._set: dict[str, float] = {}
        self._gauge: list[tuple[float, float]] = [(float("-inf"), 0.0)]
        self._legs: list[_Leg] = []
        self._arrivals: tuple[float | None, float | None] = (None, None)

    def enter(self, slot: str, value_si: float) -> None:
        """Set a value of the recipe: both temperatures [K], perhaps preheat temperature [K] and time [s]."""
        self._set[slot] = value_si

    def set_temperature_K(self, slot: str) -> float:
        """What the display shows as set. Raises: KeyError when nothing was set."""
        return self._set[slot]

    def pressure_on(self, t_s: float, gauge_Pa: float) -> None:
        self._gauge.append((t_s, gauge_Pa))

    def vent(self, t_s: float) -> None:
        self._gauge.append((t_s, 0.0))

    def heat_on(self, t_s: float) -> None:
        """Full power, through the preheat if one is set, to both set temperatures, from whatever the press has now."""
        if not {"upper_temperature", "lower_temperature"} <= self._set.keys():
            raise ValueError("The simulated press has no set temperatures yet: enter both first.")
        run, nodes, now_s = Run(self._body), self._nodes(t_s), t_s
        if "preheat_temperature" in self._set:
            preheat_K = self._set["preheat_temperature"]
            warmed = heat_up(self._press, run, nodes, now_s, preheat_K, preheat_K)
            if warmed.both_s is not None:
                run, now_s = warmed.run, warmed.both_s + self._set.get("preheat_time", 0.0)
                nodes = run.now(now_s)
        heated = heat_up(
            self._press, run, nodes, now_s, self._set["upper_temperature"], self._set["lower_temperature"]
        )
        self._arrivals = (heated.upper_s, heated.lower_s)
        self._begin(t_s, heated.run)

    def cool_on(self, t_s: float) -> None:
        """Heaters off, cooling on."""
        if not self._legs:
            return
        self._begin(t_s, cool_down(self._press, self._legs[-1].run, t_s))

    def at_set(self, t_s: float) -> bool:
        """Whether both displays have arrived at their set temperatures."""
        upper_s, lower_s = self._arrivals
        lag_s = max(self._job.press.upper.sensor_lag_s, self._job.press.lower.sensor_lag_s)
        return upper_s is not None and lower_s is not None and t_s >= max(upper_s, lower_s) + lag_s

    def read(self, slot: str, t_s: float) -> float:
        """What the display, the thermometer or the gauge shows: K in whole kelvins, Pa.

        slot: 'upper_reading', 'lower_reading', 'edge_reading', 'pressure_reading', 'gauge_reading'.
        Raises: KeyError for another.
        """
        if slot in ("pressure_reading", "gauge_reading"):
            return next(gauge for begin_s, gauge in reversed(self._gauge) if begin_s <= t_s)
        if slot == "edge_reading":
            warm_K = float(self._body.belt(self._nodes(t_s)).mean())
            return _shown(self._shop_K + EDGE_SHARE * (warm_K - self._shop_K))
        row, lag_s, offset_K = {
            "upper_reading": (0, self._job.press.upper.sensor_lag_s, self._secret.upper_sensor_K),
            "lower_reading": (-1, self._job.press.lower.sensor_lag_s, self._secret.lower_sensor_K),
        }[slot]
        return _shown(self._lagged(row, lag_s, t_s) + offset_K)

    def inside_hottest(self, t_s: float) -> float:
        """The truth that no sensor shows: the hottest belt point, K."""
        return float(self._body.belt(self._nodes(t_s)).max())

    def inside_coldest(self, t_s: float) -> float:
        return float(self._body.belt(self._nodes(t_s)).min())

    def _begin(self, t_s: float, run: Run) -> None:
        if self._legs and t_s < self._legs[-1].start_s:
            raise ValueError("The simulated press was told something about the past.")
        self._legs.append(_Leg(t_s, run))

    def _nodes(self, t_s: float) -> Floats:
        for leg in reversed(self._legs):
            if leg.start_s <= t_s:
                return leg.run.now(t_s)
        return self._body.uniform(self._shop_K)

    def _lagged(self, row: int, lag_s: float, t_s: float) -> float:
        """A sensor follows its platen with a time constant: the past, weighted by how fresh it is."""
        import numpy as np

        if lag_s <= 0:
            return float(self._nodes(t_s)[row])
        freshness = (np.arange(32) + 0.5) / 32
        past = [float(self._nodes(t_s + lag_s * float(np.log(share)))[row]) for share in freshness]
        return float(np.mean(past))


def _other(platen: PlatenModel, power: float, loss: float) -> PlatenModel:
    return replace(platen.scaled(power=power, loss=loss), cooling_W_m2K=platen.cooling_W_m2K * loss)


def _shown(kelvin: float) -> float:
    """As a display of whole degrees Celsius shows it."""
    return RESOLUTION_K * round((kelvin - ZERO_C_K) / RESOLUTION_K) + ZERO_C_K
