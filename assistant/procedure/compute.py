"""What a 'tell' act computes, as an event with inputs and results for the log."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from assistant.procedure import events as e
from assistant.procedure.rules import SHEET_SLOTS, Rules, job_of, recipe_of
from assistant.procedure.state import State
from assistant.procedure.told import told
from assistant.recipe.outcome import Infeasible, Recipe

CURVE_POINTS = 120  # enough for a screen and a page


def recipe_values(recipe: Recipe | Infeasible | None) -> dict[str, float]:
    """Slot to SI value; empty where there is no recipe."""
    return {v.slot: v.value_si for v in recipe.values} if isinstance(recipe, Recipe) else {}


def compute_topic(rules: Rules, state: State, topic: str) -> e.Computed:
    """The event for `topic`. 'refused' in its results: sentences why the job cannot go on as it is."""
    inputs: dict[str, Any] = {k: v for k, v in state.values.items() if k in SHEET_SLOTS}
    job = job_of(rules, state)
    if isinstance(job, tuple):
        return e.Computed(topic=topic, inputs=inputs, results={"refused": list(job)})
    if topic == "recipe":
        inputs |= {f"given_{k}": state.values[k] for k in sorted(state.overruled) if k in state.values}
        return e.Computed(topic=topic, inputs=inputs, results=_recipe_results(recipe_of(rules, state)))
    return e.Computed(topic=topic, inputs=inputs, results=told(topic, job))


def _recipe_results(recipe: Recipe | Infeasible | None) -> dict[str, Any]:
    """Plain JSON of a recipe: SI with units in the keys; the curve in °C for people."""
    if not isinstance(recipe, Recipe):
        return {
            "refused": [recipe.reason, recipe.nearest_change] if recipe else ["The job sheet is not whole."]
        }
    step = max(1, len(recipe.curve) // CURVE_POINTS)
    points = [*recipe.curve[:-1:step], recipe.curve[-1]]
    return {
        "values": {v.slot: v.value_si for v in recipe.values},
        "computed": {v.slot: v.computed_si for v in recipe.values},
        "sources": {v.slot: v.source for v in recipe.values},
        "reasons": {v.slot: v.reason for v in recipe.values},
        "dwell_items": [[i.label, round(i.seconds, 2), i.reason] for i in recipe.items],
        "ramp_s": recipe.ramp_s, "dwell_s": recipe.dwell_s, "cooling_s": recipe.cooling_s, "cycle_s": recipe.cycle_s,
        "cooling_expected_s": recipe.cooling_expected_s, "shortest_K": recipe.shortest_K, "shorter_by_s": recipe.shorter_by_s,
        "account": [[i.label, round(i.seconds, 2), i.reason] for i in recipe.account],
        "binding": recipe.binding, "sure": recipe.sure, "covered": recipe.covered, "near_damage_s": recipe.near_damage_s,
        "sensitivity": [asdict(change) for change in recipe.sensitivity],
        "healing": asdict(recipe.healing), "healing_laid_hot": asdict(recipe.healing_laid_hot),
        "needed_dwell_s": recipe.needed_dwell_s, "peak_K": recipe.peak_K, "heat_J": recipe.heat_J,
        "current_A": recipe.current_A, "numerical_error": recipe.numerical_error,
        "assumptions": list(recipe.assumptions), "warnings": list(recipe.warnings),
        "curve": [
            [round(x, 2) for x in (p.t_s, p.upper_K - 273.15, p.lower_K - 273.15, p.coldest_K - 273.15, p.hottest_K - 273.15)]
            for p in points
        ],
        "said": _said(recipe),
    }  # fmt: skip


def _said(recipe: Recipe) -> list[str]:
    from assistant.procedure.wording import minutes

    return [
        f"Expected: {minutes(recipe.ramp_s)} heating, {minutes(recipe.dwell_s)} dwell, {minutes(recipe.cooling_expected_s)} cooling, "
        f"{minutes(recipe.cooling_s)} until it is surely cold inside.",
        *recipe.warnings,
    ]


def refusals(results: Mapping[str, Any]) -> tuple[str, ...]:
    return tuple(results.get("refused", ()))
