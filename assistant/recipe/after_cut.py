"""What a press should read once it has been without heat for a while: between left alone and never cut off."""

from __future__ import annotations

from functools import lru_cache

from assistant.bench.job import Job
from assistant.recipe.broken import Cut, left_alone, upto, warm_up_with_cuts
from assistant.recipe.conduction import Conduction
from assistant.recipe.curves import SPREAD
from assistant.recipe.outcome import Recipe
from assistant.recipe.platen import Heated, PressModel, Settings, cool_down, press_model
from assistant.recipe.recipe import settings_of
from assistant.recipe.run import Run
from assistant.recipe.stack import ZERO_C_K, Stack, stack_of

FINENESS = 0.5


def platens_after(
    job: Job, recipe: Recipe, cuts: tuple[Cut, ...], after_s: float
) -> tuple[tuple[float, float], tuple[float, float]]:
    """(mean, least) of the upper and of the lower platen [K], `after_s` after heat on; cuts on that clock.

    Least: no heat since the first cut, with losses as far above the planned ones as the recipe's spread.
    """
    heated, least = _runs(job, recipe, cuts)
    mean, low = heated.run.now(after_s), least.now(after_s)
    upper, lower = ((float(mean[row]), min(float(mean[row]), float(low[row]))) for row in (0, -1))
    return upper, lower


def both_at_set_s(job: Job, recipe: Recipe, cuts: tuple[Cut, ...]) -> float | None:
    """When both platens should be at their set temperatures after the last cut, from heat on; None: never."""
    return _runs(job, recipe, cuts)[0].both_s


def _runs(job: Job, recipe: Recipe, cuts: tuple[Cut, ...]) -> tuple[Heated, Run]:
    return _computed(stack_of(job), press_model(job), settings_of(recipe), job.shop_degC + ZERO_C_K, cuts)


@lru_cache(maxsize=8)
def _computed(
    stack: Stack, press: PressModel, settings: Settings, shop_K: float, cuts: tuple[Cut, ...]
) -> tuple[Heated, Run]:
    heated = warm_up_with_cuts(Conduction(stack, FINENESS), press, settings, shop_K, cuts)
    first_s, losing = cuts[0].off_s, press.scaled(loss=1 + SPREAD, cooling=1 + SPREAD)
    before = upto(heated.run, first_s)
    cooled = any(cut.cooled for cut in cuts)
    return heated, cool_down(losing, before, first_s) if cooled else left_alone(losing, before, first_s)
