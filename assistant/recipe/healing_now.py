"""How far the weld has healed by now: the model of `healing` along the run as it has been so far."""

from __future__ import annotations

from assistant.bench.job import Job
from assistant.recipe.during import Timeline
from assistant.recipe.healing import Healing, healing_of
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.outcome import Recipe
from assistant.recipe.platen import cool_down
from assistant.recipe.recipe import case_of, settings_of


def healing_now(job: Job, recipe: Recipe, timeline: Timeline, t_s: float) -> Healing:
    """Of the worst belt point at `t_s`, session seconds, by the predicted curve from a cold press.

    The ramp is taken as predicted, however long it was; the dwell and the cooling begin when they did.
    Raises: NotComputable for a cycle that was cut short, or before the heat went on.
    """
    if t_s < timeline.heat_on_s:
        raise NotComputable("The heat is not on yet: nothing has healed.")
    if timeline.cuts or timeline.counts_from_s is not None:
        raise NotComputable(
            "The cycle was cut short, and the model is not followed through that: time above fusion counts."
        )
    settings = settings_of(recipe)
    case = case_of(job, settings)
    set_s, run = case.set_s or 0.0, case.heated.run
    if timeline.at_set_s is None:
        return healing_of(run, min(t_s - timeline.heat_on_s, set_s))
    held_until_s = t_s if timeline.cool_on_s is None else min(t_s, timeline.cool_on_s)
    at_s = set_s + held_until_s - timeline.at_set_s
    if timeline.cool_on_s is not None and t_s > timeline.cool_on_s:
        run = cool_down(case.press, run, at_s)
        at_s += t_s - timeline.cool_on_s
    return healing_of(run, at_s)
