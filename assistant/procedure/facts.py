"""What the log knows about the run, under the names by which causes are weighed (`causes.FACTS`)."""

from __future__ import annotations

from assistant.procedure.rules import Rules
from assistant.procedure.state import State


def facts_of(rules: Rules, state: State) -> dict[str, float]:
    """Only what was recorded; the rest is left out. Differences in K and s, or as a fraction."""
    del rules
    facts: dict[str, float] = {}
    recipe = state.computed.get("recipe", {})
    agreed = {
        slot: state.values.get(slot)
        for slot in ("upper_temperature", "lower_temperature", "dwell", "pressure", "release_temperature")
    }
    over: list[float] = []
    for slot, reading_slot in (
        ("upper_temperature", "upper_reading"),
        ("lower_temperature", "lower_reading"),
    ):
        wanted = agreed[slot]
        readings = [r.value for r in state.readings if r.slot == reading_slot and _hot(state, r.t_s)]
        if isinstance(wanted, float) and readings:
            over.append(max(readings) - wanted)
        computed = recipe.get("computed", {}).get(slot)
        if isinstance(wanted, float) and computed is not None:
            facts["set_over_recipe_K"] = max(facts.get("set_over_recipe_K", -1e9), wanted - computed)
    if over:
        facts["over_set_K"], facts["below_set_K"] = max(over), max(0.0, -min(over))
    if len(over) == 2:
        facts["uneven_K"] = abs(over[0] - over[1])
    dwell = agreed["dwell"]
    if isinstance(dwell, float) and state.at_set_s is not None and state.cool_on_s is not None:
        held = state.cool_on_s - state.at_set_s
        facts["dwell_over_s"], facts["dwell_short_s"] = max(0.0, held - dwell), max(0.0, dwell - held)
    pressure, gauges = agreed["pressure"], _pressed(state)
    if isinstance(pressure, float) and gauges:
        facts["pressure_short_fraction"] = max(0.0, 1 - min(gauges) / pressure)
        facts["pressure_over_fraction"] = max(0.0, max(gauges) / pressure - 1)
    release = agreed["release_temperature"]
    cold = [r.value for r in state.readings if state.cool_on_s is not None and r.t_s >= state.cool_on_s and r.slot.endswith("_reading")
            and r.slot not in ("gauge_reading", "pressure_reading") and (state.vented_s is None or r.t_s <= state.vented_s)]  # fmt: skip
    if isinstance(release, float) and cold and state.vented_s is not None:
        facts["release_over_K"] = max(0.0, cold[-1] - release)
    ramp = recipe.get("ramp_s")
    if ramp and state.heat_on_s is not None and state.at_set_s is not None:
        facts["faster_ramp_fraction"] = max(0.0, 1 - (state.at_set_s - state.heat_on_s) / ramp)
    return facts


def _hot(state: State, t_s: float) -> bool:
    """Between set temperature and the start of cooling."""
    return (
        state.at_set_s is not None
        and t_s >= state.at_set_s
        and (state.cool_on_s is None or t_s < state.cool_on_s)
    )


def _pressed(state: State) -> list[float]:
    """What the gauge has shown since it first showed what was agreed; before that, what it showed last."""
    told = [r for r in state.readings if r.slot == "pressure_reading"]
    first = next((i for i, r in enumerate(told) if r.plausible), len(told) - 1)
    return [r.value for r in told[max(first, 0) :]]
