"""Readings told by the technician: judged against the predicted curve, never taken on trust."""

from __future__ import annotations

from assistant.bench.job import Job
from assistant.procedure import events as e
from assistant.procedure.amiss import TEMPERATURES, cycle_off, watch_run
from assistant.procedure.events import Value
from assistant.procedure.gates import watch_readings
from assistant.procedure.rules import job_of, recipe_of, timeline_of
from assistant.procedure.slots import SLOTS
from assistant.procedure.turn import Turn
from assistant.procedure.wording import shown


def take_reading(turn: Turn, slot: str, value: Value) -> None:
    if not isinstance(value, float):
        return
    plausible, sentence = _judge(turn, slot, value)
    heat = turn.state.heat_on_s
    turn.emit(
        e.ReadingTaken(
            slot=slot, value=value, since_heat_s=None if heat is None else turn.now_s - heat,
            plausible=plausible, sentence=sentence,
        )
    )  # fmt: skip
    watch_run(turn, slot)
    turn.tell(f"{SLOTS[slot].label.capitalize()} {shown(value, SLOTS[slot].quantity)}. {sentence}".strip())
    watch_readings(turn)


def _judge(turn: Turn, slot: str, value: float) -> tuple[bool, str]:
    from assistant.recipe.during import judge_reading
    from assistant.recipe.outcome import Recipe

    state = turn.state
    if slot == "pressure_reading":
        agreed = state.values.get("pressure")
        if isinstance(agreed, float) and abs(value - agreed) > 0.15e5:
            return (
                False,
                f"Agreed is {shown(agreed, 'pressure')}: set the regulator, then read the gauge again.",
            )
        return True, ""
    if slot == "cycle_time":
        off = cycle_off(turn, value)
        return not off, off
    if slot not in TEMPERATURES:
        return True, ""
    job, recipe, timeline = job_of(turn.rules, state), recipe_of(turn.rules, state), timeline_of(state)
    if timeline is None or not isinstance(job, Job) or not isinstance(recipe, Recipe):
        return False, "Heat is not on: a reading now does not count for the cycle."
    judged = judge_reading(job, recipe, timeline, slot, value, turn.now_s, state.readings)
    return judged.plausible, judged.sentence
