"""Readings told by the technician: judged against the predicted curve, never taken on trust."""

from __future__ import annotations

from assistant.bench.job import Job
from assistant.procedure import events as e
from assistant.procedure.events import Value
from assistant.procedure.gates import watch_readings
from assistant.procedure.rules import job_of, recipe_of, timeline_of
from assistant.procedure.slots import SLOTS
from assistant.procedure.turn import Turn
from assistant.procedure.wording import shown

TEMPERATURES = frozenset({"upper_reading", "lower_reading", "edge_reading"})


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
    turn.tell(f"{SLOTS[slot].label.capitalize()} {shown(value, SLOTS[slot].quantity)}. {sentence}".strip())
    watch_readings(turn)


def too_cold(turn: Turn, slot: str) -> bool:
    """Whether the platen that was said to be at its set temperature reads less than it can there."""
    last, wanted = (
        turn.state.last_reading(slot),
        turn.state.values.get(slot.replace("_reading", "_temperature")),
    )
    return last is not None and not last.plausible and isinstance(wanted, float) and last.value < wanted


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
    if slot not in TEMPERATURES:
        return True, ""
    job, recipe, timeline = job_of(turn.rules, state), recipe_of(turn.rules, state), timeline_of(state)
    if timeline is None or not isinstance(job, Job) or not isinstance(recipe, Recipe):
        return False, "Heat is not on: a reading now does not count for the cycle."
    judged = judge_reading(job, recipe, timeline, slot, value, turn.now_s, state.readings)
    return judged.plausible, judged.sentence
