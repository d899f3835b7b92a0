"""One lay-up on one press in one shop at given settings: the times that make a recipe, each computed once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from assistant.bench.job import Job
from assistant.recipe.conduction import Conduction
from assistant.recipe.platen import (
    Heated,
    PressModel,
    Settings,
    cold_time,
    cool_down,
    fusion_time,
    heat_up,
    hot_fusion_time,
    press_model,
    warm_up,
)
from assistant.recipe.run import Run
from assistant.recipe.stack import ZERO_C_K, Stack, stack_of

# What the worst one in twenty may be off by; engineering judgement where no measurement is known.
THICKER_M = 0.2e-3
CONTACT_FACTOR = 2.0
COARSE = 0.5  # fineness of the grid for differences
NEAR_DAMAGE_K = 10.0
PREHEATED_WITHIN_K = 5.0  # how near the core comes to the preheat temperature before the preheat ends


@dataclass(frozen=True)
class Case:
    """Times are None where the event never comes."""

    body: Conduction
    press: PressModel
    settings: Settings
    start_K: float

    @cached_property
    def quick(self) -> Case:
        """For differences and expectations: where something melts, which is slow, on a coarse grid; else itself."""
        return replace(self, body=Conduction(self.body.stack, COARSE)) if self.body.melts else self

    @cached_property
    def laid_in_K(self) -> float:
        """How cold the belt is, at most, when the heat to fuse it begins: as the shop, or warmed through."""
        preheat_K = self.settings.preheat_K
        if preheat_K is None:
            return self.start_K
        cold = self.body.uniform(self.start_K)
        warmed = heat_up(self.press, Run(self.body), cold, 0.0, preheat_K, preheat_K)
        end_s = (warmed.both_s or 0.0) + self.settings.preheat_s
        return min(preheat_K - PREHEATED_WITHIN_K, float(warmed.run.coldest_K(end_s)[0]))

    @cached_property
    def hot_fusion_s(self) -> float | None:
        """Fusion of the coldest point of a belt laid in so cold between platens at set temperature."""
        return hot_fusion_time(self.body, self.laid_in_K, self.settings.upper_K, self.settings.lower_K)

    @cached_property
    def heated(self) -> Heated:
        return warm_up(self.body, self.press, self.settings, self.start_K)

    @cached_property
    def set_s(self) -> float | None:
        return self.heated.both_s

    @cached_property
    def fused_s(self) -> float | None:
        return fusion_time(self.heated.run, 0.0, self.settings.upper_K, self.settings.lower_K)

    @cached_property
    def cooling_s(self) -> float | None:
        """From the settled hold to the hottest belt point at release temperature."""
        return self.cooling_to(self.settings.release_K)

    def cooling_to(self, release_K: float) -> float | None:
        if self.set_s is None:
            return None
        start_s = self.set_s + self.settings.dwell_s
        cold_s = cold_time(cool_down(self.press, self.heated.run, start_s), start_s, release_K)
        return None if cold_s is None else cold_s - start_s

    def near_damage_s(self, stop_s: float) -> float:
        """Longest that any belt point is within `NEAR_DAMAGE_K` of its damage temperature, from cold to `stop_s`
        and down again."""
        import numpy as np

        run = cool_down(self.press, self.heated.run, stop_s)
        times = np.linspace(0.0, 1.5 * stop_s + 60.0, 400)
        near = run.belt(times) > self.body.damage_K[:, None] - NEAR_DAMAGE_K
        return float(near.sum(axis=1).max() * (times[1] - times[0]))

    def with_stack(self, stack: Stack) -> Case:
        return Case(self.body.like(stack), self.press, self.settings, self.start_K)

    def with_platens(self, upper_K: float, lower_K: float) -> Case:
        """The same with other true platen temperatures than the display says."""
        settings = replace(
            self.settings, upper_K=self.settings.upper_K + upper_K, lower_K=self.settings.lower_K + lower_K
        )
        return Case(self.body, self.press, settings, self.start_K)

    def at_edges(self, upper_less_K: float, lower_less_K: float) -> Case:
        """Under the platens' edges, so much colder than their middles at set temperature."""
        press, settings = self.press.at_edges(self.settings, upper_less_K, lower_less_K)
        return Case(self.body, press, settings, self.start_K)

    def slow_to_change(self) -> Case:
        """The same with a belt that conducts badly, holds much heat and touches badly, all at once."""
        return self.with_stack(
            self.body.stack.changed(contact_factor=CONTACT_FACTOR).off(conductivity=1.0, capacity=1.0)
        )


def case_of(job: Job, settings: Settings, fineness: float = 1.0) -> Case:
    """The job's lay-up on its press in its shop, at these settings. Raises: NotComputable."""
    return Case(Conduction(stack_of(job), fineness), press_model(job), settings, job.shop_degC + ZERO_C_K)
