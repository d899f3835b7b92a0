"""What the displays of a press show under given circumstances: the recipe's own model, with sensors and faults.

The controller acts on what its display shows, so a sensor that reads low makes the platen hotter than it says.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from assistant.bench.job import Job
from assistant.recipe.broken import Cut, since_heat_on, upto, with_cuts
from assistant.recipe.conduction import Conduction
from assistant.recipe.platen import Heated, PlatenModel, PressModel, Settings, cool_down, heat_up, press_model
from assistant.recipe.run import Run
from assistant.recipe.stack import ZERO_C_K, Stack, stack_of

if TYPE_CHECKING:
    from assistant.recipe.conduction import Floats

UPPER, LOWER = "upper_reading", "lower_reading"
PLATENS = (UPPER, LOWER)
EDGE = "edge_reading"
# What a thermometer at the belt's open edge shows of the belt's rise over the shop: between nearly all of it and,
# at 185 °C, the 60 K less that are still plausible; engineering judgement.
EDGE_SHARE, EDGE_SHARE_SIGMA = 0.85, 0.09
FRESHNESS = 8  # points of the past that a lagging sensor is taken from
FINENESS = 0.5
MOST_KEPT = 128  # cycles and lay-ups kept for the next question

Pair = tuple[float, float]  # upper, lower


@dataclass(frozen=True)
class Circumstances:
    """What is otherwise than assumed; factors on the press, kelvins on temperatures, seconds on times.

    sees: share of the platen's excess over the shop that a sensor shows; reads_K: what it shows too much.
    set_K: how much higher the set temperature is than agreed. warm_K: how much warmer than the shop the platens
    were when the heat went on. late_s: how much later than noted that was. lag: factor on the sensors' lag.
    edge: share of the belt's excess over the shop that its open edge shows.
    """

    power: Pair = (1.0, 1.0)
    loss: Pair = (1.0, 1.0)
    cooling: Pair = (1.0, 1.0)
    sees: Pair = (1.0, 1.0)
    reads_K: Pair = (0.0, 0.0)
    lag: Pair = (1.0, 1.0)
    set_K: Pair = (0.0, 0.0)
    shop_K: float = 0.0
    warm_K: float = 0.0
    late_s: float = 0.0
    plate: bool = True
    contact: float = 1.0
    conductivity: float = 1.0
    edge: float = EDGE_SHARE


NOTHING = Circumstances()


@dataclass(frozen=True)
class Clock:
    """When heat and cooling went on; cool_on_s None: not yet. cuts: times without heat before it cooled."""

    heat_on_s: float
    cool_on_s: float | None = None
    cuts: tuple[Cut, ...] = ()


class Displays:
    """The displays of one job's press at given settings. Lay-ups are divided into cells once."""

    def __init__(self, job: Job, settings: Settings, clock: Clock) -> None:
        self.job, self.settings, self.clock = job, settings, clock
        self._stack, self._press = stack_of(job), press_model(job)
        self._bodies: dict[tuple[bool, float, float], Conduction] = {}
        self._heated: dict[Circumstances, Heated] = {}

    def show(self, slots: Sequence[str], times_s: Sequence[float], given: Circumstances = NOTHING) -> Floats:
        """What the displays show [K], shape (readings,): `slots[i]` of `PLATENS` or `EDGE` at `times_s[i]`.

        Raises: KeyError for another slot; NotComputable for circumstances that cannot be.
        """
        import numpy as np

        run, _ = self._cycle(given)
        shop_K = self.job.shop_degC + ZERO_C_K + given.shop_K
        t = np.asarray(times_s, dtype=float) - self.clock.heat_on_s - given.late_s
        out = np.empty(len(t))
        lags = (self.job.press.upper.sensor_lag_s, self.job.press.lower.sensor_lag_s)
        known = (*PLATENS, EDGE)
        which = np.array([known.index(slot) if slot in known else -1 for slot in slots])
        if (which < 0).any():
            raise KeyError(slots[int(np.argmin(which))])
        at_edge = which == known.index(EDGE)
        if at_edge.any():
            out[at_edge] = shop_K + given.edge * (run.belt(t[at_edge]).mean(axis=0) - shop_K)
        freshness = np.log((np.arange(FRESHNESS) + 0.5) / FRESHNESS)
        for side, row in ((0, 0), (1, -1)):
            chosen = which == side
            if not chosen.any():
                continue
            past = t[chosen][:, None] + lags[side] * given.lag[side] * freshness
            platen = run.nodes(past.ravel())[row].reshape(past.shape).mean(axis=1)
            out[chosen] = shop_K + given.sees[side] * (platen - shop_K) + given.reads_K[side]
        return out

    def arrival_s(self, given: Circumstances = NOTHING) -> float | None:
        """When both displays are at their set temperatures, on the clock of the readings; None: never."""
        _, heated = self._cycle(given)
        if heated.both_s is None:
            return None
        lag_s = max(
            self.job.press.upper.sensor_lag_s * given.lag[0], self.job.press.lower.sensor_lag_s * given.lag[1]
        )
        return self.clock.heat_on_s + given.late_s + heated.both_s + lag_s

    def _cycle(self, given: Circumstances) -> tuple[Run, Heated]:
        """Times from the true heat on."""
        warming = replace(given, edge=NOTHING.edge)
        if not self.clock.cuts:  # in which it may have been cooled
            warming = replace(warming, cooling=NOTHING.cooling, late_s=0.0)
        if warming not in self._heated:
            if len(self._heated) >= MOST_KEPT:
                self._heated.clear()
            self._heated[warming] = self._warm(warming)
        heated, press = self._heated[warming], self._scaled(given)
        if self.clock.cool_on_s is None:
            return heated.run, heated
        start_s = max(self.clock.cool_on_s - self.clock.heat_on_s - given.late_s, 0.0)
        return cool_down(press, upto(heated.run, start_s), start_s), heated

    def _warm(self, given: Circumstances) -> Heated:
        import numpy as np

        body, press = self._body(given), self._scaled(given)
        shop_K = self.job.shop_degC + ZERO_C_K + given.shop_K
        nodes = body.uniform(shop_K)
        nodes[[0, -1]] += given.warm_K
        upper_K, lower_K = (
            shop_K + (agreed_K + given.set_K[side] - given.reads_K[side] - shop_K) / given.sees[side]
            for side, agreed_K in enumerate((self.settings.upper_K, self.settings.lower_K))
        )
        run, now_s = Run(body), 0.0
        if self.settings.preheat_K is not None:
            first = heat_up(press, run, nodes, 0.0, self.settings.preheat_K, self.settings.preheat_K)
            if first.both_s is None:
                return self._broken_off(first, press, (upper_K, lower_K))
            run, now_s = first.run, first.both_s + self.settings.preheat_s
            nodes = np.array(run.now(now_s))
        heated = heat_up(press, run, nodes, now_s, upper_K, lower_K)
        return self._broken_off(heated, press, (upper_K, lower_K))

    def _broken_off(self, heated: Heated, press: PressModel, set_K: Pair) -> Heated:
        return with_cuts(heated, press, set_K, since_heat_on(self.clock.cuts, self.clock.heat_on_s))

    def _body(self, given: Circumstances) -> Conduction:
        key = (given.plate, given.contact, given.conductivity)
        if key not in self._bodies:
            if len(self._bodies) >= MOST_KEPT:
                self._bodies.clear()
            stack = (
                self._stack if given.plate else Stack(self._stack.layers[1:], self._stack.contacts_m2K_W[1:])
            )
            changed = stack.changed(contact_factor=given.contact, conductivity_factor=given.conductivity)
            self._bodies[key] = Conduction(changed, FINENESS)
        return self._bodies[key]

    def _scaled(self, given: Circumstances) -> PressModel:
        def one(model: PlatenModel, side: int) -> PlatenModel:
            scaled = model.scaled(power=given.power[side], loss=given.loss[side], cooling=given.cooling[side])
            by_shop = self.job.press.cooling.kind in ("none", "fan")
            return replace(
                scaled,
                around_K=scaled.around_K + given.shop_K,
                coolant_K=scaled.coolant_K + (given.shop_K if by_shop else 0.0),
            )

        return PressModel(one(self._press.upper, 0), one(self._press.lower, 1))
