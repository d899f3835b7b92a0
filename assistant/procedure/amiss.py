"""What goes amiss while the press runs, and what follows: heat that the belt does not bear, platens or pressure that fall.

Said as an alarm at once. What the joint must be judged with in mind is put among its findings, so that it
is not accepted unmentioned.
"""

from __future__ import annotations

from typing import Literal

from assistant.bench.job import Job
from assistant.procedure import events as e
from assistant.procedure.cold import cold_reasons
from assistant.procedure.inspection import NOTHING
from assistant.procedure.rules import current, job_of, recipe_of, timeline_of
from assistant.procedure.slots import SLOTS
from assistant.procedure.turn import Turn
from assistant.procedure.wording import degrees, minutes, shown

TEMPERATURES = frozenset({"upper_reading", "lower_reading", "edge_reading"})
PRESSURE_KEPT = 0.8  # of the agreed pressure; less and the joint is not pressed together. Judgement
CYCLE_OFF_S, CYCLE_OFF = 180.0, 0.2  # a press's own timer may begin a little earlier or later


def not_at_set(turn: Turn) -> str:
    """Why the dwell can't begin yet, whatever is said of the platens; empty where it can."""
    return _too_early(turn) or _unpressed(turn)


def _too_early(turn: Turn) -> str:
    """Why both platens can't be at their set temperatures yet; empty where they can."""
    from assistant.recipe.arrival import on_again, soonest_at_set_s
    from assistant.recipe.outcome import Recipe

    heat_on_s, recipe = turn.state.heat_on_s, recipe_of(turn.rules, turn.state)
    if heat_on_s is None or not isinstance(recipe, Recipe):
        return ""
    job, timeline = job_of(turn.rules, turn.state), timeline_of(turn.state)
    again = on_again(job, recipe, timeline) if isinstance(job, Job) and timeline is not None else None
    soonest_s = soonest_at_set_s(recipe, heat_on_s, turn.state.readings, again)
    if turn.now_s >= soonest_s:
        return ""
    return (
        f"{minutes(turn.now_s - heat_on_s)} after the heat went on it can't be: the quickest I expect is "
        f"{minutes(soonest_s - heat_on_s)}. Read the display again, and tell me what both platens read."
    )


def _unpressed(turn: Turn) -> str:
    """That the pressure was gone when it was read last; empty where it was not."""
    agreed, gauge = turn.state.values.get("pressure"), turn.state.last_reading("pressure_reading")
    if not isinstance(agreed, float) or gauge is None or gauge.value >= PRESSURE_KEPT * agreed:
        return ""
    return (
        f"The pressure was {shown(gauge.value, 'pressure')} when you read it last: bring it back to "
        f"{shown(agreed, 'pressure')} and read the gauge to me. No dwell counts without it."
    )


def cycle_off(turn: Turn, told_s: float) -> str:
    """How the told cycle time differs from the bench's own clock; empty where it does not by much."""
    if turn.state.heat_on_s is None:
        return ""
    own_s = turn.now_s - turn.state.heat_on_s
    if abs(told_s - own_s) <= max(CYCLE_OFF_S, CYCLE_OFF * own_s):
        return ""
    return f"You say {minutes(told_s)}; by my clock the heat went on {minutes(own_s)} ago. Both are in the record."


def too_cold(turn: Turn, slot: str) -> bool:
    """Whether the platen that was said to be at its set temperature reads less than it can there."""
    last = turn.state.last_reading(slot)
    wanted = turn.state.values.get(slot.replace("_reading", "_temperature"))
    return last is not None and not last.plausible and isinstance(wanted, float) and last.value < wanted


def back_to_ramp(turn: Turn, why: Literal["change", "interrupted"] = "change") -> None:
    """The platens are to be told at set again, and the dwell is counted anew."""
    if turn.state.timer("dwell") is not None:
        turn.emit(e.TimerEnded(name="dwell"))
    again = tuple(
        a.id
        for _, a in turn.rules.acts()
        if a.id in turn.state.done
        and (a.timer in ("ramp", "dwell") or (a.kind == "reading" and a.slot in TEMPERATURES))
    )
    turn.emit(e.WentBack(acts=again, why=why))


def watch_run(turn: Turn, slot: str) -> None:
    """Looks at the reading just taken of `slot`."""
    if turn.state.heat_on_s is None or turn.state.vented_s is not None:
        return
    if slot in TEMPERATURES:
        _watch_heat(turn, slot)
    elif slot == "pressure_reading":
        _watch_pressure(turn)


def _watch_heat(turn: Turn, slot: str) -> None:
    reading, bears_K = turn.state.last_reading(slot), _bears_K(turn)
    assert reading is not None  # just taken
    if bears_K is not None and not reading.plausible and reading.value > bears_K:
        told = shown(reading.value, "temperature")
        turn.tell(
            f"{told} is above what this belt bears, {degrees(bears_K)}: use the press's own stop, heaters off. Keep the "
            "pressure on and the press shut, and stay out of the fumes. Then read the display again.",
            "alarm",
        )
        to_be_judged(
            turn,
            "heat_of_the_run",
            told,
            f"{SLOTS[slot].label.capitalize()} {told} in the run, above the {degrees(bears_K)} that the belt bears.",
        )
    elif too_cold(turn, slot) and _in_dwell(turn, slot):
        wanted = turn.state.values[slot.replace("_reading", "_temperature")]
        back_to_ramp(turn)
        turn.tell(
            f"{shown(reading.value, 'temperature')} is too cold for the dwell, {shown(wanted, 'temperature')} is agreed: the "
            "dwell does not count. Keep the pressure on, see that the heat is on, and tell me when both platens are there.",
            "alarm",
        )


def _watch_pressure(turn: Turn) -> None:
    state, agreed = turn.state, turn.state.values.get("pressure")
    reading = state.last_reading("pressure_reading")
    assert reading is not None  # just taken
    pressed = any(a.slot == "pressure_reading" and a.id in state.done for _, a in turn.rules.acts())
    if not pressed or not isinstance(agreed, float) or reading.value >= PRESSURE_KEPT * agreed:
        return
    told = shown(reading.value, "pressure")
    count = ""
    if _in_dwell(turn, "pressure_reading"):
        back_to_ramp(turn)
        count = " The dwell does not count: it begins anew when pressure and temperature stand."
    turn.tell(
        f"The pressure has fallen to {told}. Bring the pressure back to {shown(agreed, 'pressure')}.{count}",
        "alarm",
    )
    if state.cool_on_s is not None and not cold_reasons(turn.rules, state, turn.now_s):
        return  # cold inside: nothing can swell any more
    if state.cool_on_s is not None and state.inquiry is None:
        good = [r.t_s for r in state.readings if r.slot == "pressure_reading" and r.plausible]
        turn.emit(e.Inquired(cause="pressure", since_s=max([state.heat_on_s or 0.0, *good])))
    turn.tell("If it was gone while hot, the joint must be judged with that in mind: it is in the record.")
    to_be_judged(
        turn,
        "pressure_of_the_run",
        told,
        f"The pressure fell to {told} in the run, {shown(agreed, 'pressure')} is agreed.",
    )


def _in_dwell(turn: Turn, slot: str) -> bool:
    """Whether the dwell is being counted, and `slot` is not what is asked for on the way to it."""
    here = current(turn.rules, turn.state)
    asked = here is not None and here[1].kind == "reading" and here[1].slot == slot
    return turn.state.timer("dwell") is not None and turn.state.cool_on_s is None and not asked


def _bears_K(turn: Turn) -> float | None:
    """The lowest temperature at which a layer of the belt is damaged."""
    from assistant.recipe.stack import ZERO_C_K, belt_materials

    job = job_of(turn.rules, turn.state)
    if not isinstance(job, Job):
        return None
    known = [m.damage_degC + ZERO_C_K for m in belt_materials(job) if m.damage_degC is not None]
    return min(known, default=None)


def to_be_judged(turn: Turn, item: str, told: str, sentence: str, *, failed: bool = False) -> None:
    """Puts among the joint's findings what happened to it; failed: it cannot be accepted any more."""
    severity: Literal["cosmetic", "fail"] = "fail" if failed else "cosmetic"
    turn.emit(e.Inspected(item=item, finding=told, found=NOTHING, severity=severity, sentence=sentence))
