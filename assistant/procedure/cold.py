"""Is the joint cold inside, is the press dead and empty: what still stands against it, in sentences.

A platen that reads cold proves little: with water cooling both can read 60 °C while a thick belt is
still at 90 °C inside. So the readings and the computed inside must both be cold.
"""

from __future__ import annotations

from assistant.bench.job import Job
from assistant.procedure.model import Gate
from assistant.procedure.rules import Rules, job_of, recipe_of, timeline_of
from assistant.procedure.state import Reading, State
from assistant.procedure.unchecked import cooling_seen, reads_since_s
from assistant.procedure.wording import degrees, shown

GAUGE_ZERO_Pa = 0.02e5  # smallest division of an ordinary gauge
_NAMES = {"upper_reading": "upper platen", "lower_reading": "lower platen", "edge_reading": "belt's edge"}


def needs_open(rules: Rules, state: State, gate: Gate, now_s: float) -> tuple[str, ...]:
    """What must stand before the gate's sentence may be said, in sentences; empty when all of it stands."""
    reasons: tuple[str, ...] = ()
    if "cold_inside" in gate.needs:
        reasons += cold_reasons(rules, state, now_s)
    if "dead_and_empty" in gate.needs:
        reasons += dead_reasons(state)
    return reasons


def cold_reasons(rules: Rules, state: State, now_s: float) -> tuple[str, ...]:
    """Why the pressure may not go yet; empty when it may. Readings first, then the computed inside."""
    release = state.values.get("release_temperature")
    if state.heat_on_s is None or state.cool_on_s is None:
        return ("Cooling has not begun: pressure stays on.",)
    if not isinstance(release, float):
        return ("There is no release temperature.",)
    reasons: list[str] = []
    used: list[Reading] = []
    for slot, name in _NAMES.items():
        reading = state.last_reading(slot, since_s=reads_since_s(state))
        if reading is None:
            if slot != "edge_reading":
                reasons.append(f"Read the {name} to me.")
        elif not reading.plausible:
            reasons.append(f"{reading.sentence} Read the {name} again, with a second thermometer if you can.")
        elif reading.value > release + 1e-6:
            reasons.append(
                f"The {name} was at {shown(reading.value, 'temperature')}, and pressure stays on until "
                f"{shown(release, 'temperature')}. Wait, then read it again."
            )
        else:
            used.append(reading)
    if reasons:
        return tuple(reasons)
    hottest = inside_upper(rules, state, now_s)
    if hottest is None:
        return ("The inside of the belt cannot be computed: keep the pressure on and ask the supervisor.",)
    if hottest > release + 1e-6:
        return (
            f"The platens are cold, but inside the belt may still be {degrees(hottest)}, above "
            f"{shown(release, 'temperature')}. Keep the pressure on: I say when it is cold, and a new reading helps.",
        )
    return ()


def inside_upper(rules: Rules, state: State, now_s: float) -> float | None:
    """Upper end of the band of the hottest point inside the belt [K]; None where there is nothing to compute from."""
    from assistant.recipe.during import inside_now
    from assistant.recipe.outcome import Recipe

    job, recipe, timeline = job_of(rules, state), recipe_of(rules, state), timeline_of(state)
    if not isinstance(job, Job) or not isinstance(recipe, Recipe) or timeline is None:
        return None
    cooling, readings, t_s = cooling_seen(state, timeline, now_s)
    return inside_now(job, recipe, cooling, readings, t_s).hottest_upper_K


def cold_facts(rules: Rules, state: State, now_s: float) -> tuple[str, ...]:
    """What a closed gate rests on, for the log."""
    facts = []
    for slot, name in _NAMES.items():
        reading = state.last_reading(slot, since_s=reads_since_s(state))
        if reading is not None:
            facts.append(f"{name} {shown(reading.value, 'temperature')}")
    hottest = inside_upper(rules, state, now_s)
    if hottest is not None:
        facts.append(f"computed hottest point inside, upper end of its band, {degrees(hottest)}")
    return tuple(facts)


def dead_reasons(state: State) -> tuple[str, ...]:
    """Why nothing may be unfastened yet; empty when it may."""
    if state.vented_s is None:
        return ("The pressure has not been let out.",)
    if state.values.get("vent_heard") != "yes":
        return ("Nobody has heard the air go out: a gauge can stick. Open the valve wide and listen.",)
    gauge = state.last_reading("gauge_reading", since_s=state.vented_s)
    if gauge is None:
        return ("Read the pressure gauge to me.",)
    if gauge.value > GAUGE_ZERO_Pa:
        return (f"The gauge was at {shown(gauge.value, 'pressure')}: vent it, then read the gauge again.",)
    return ()


def dead_facts(state: State) -> tuple[str, ...]:
    gauge = state.last_reading("gauge_reading", since_s=state.vented_s)
    return () if gauge is None else (f"gauge {shown(gauge.value, 'pressure')}",)
