"""Readings told by the technician: judged against the predicted curve, never taken on trust."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assistant.bench.job import Job
from assistant.procedure import events as e
from assistant.procedure.amiss import TEMPERATURES, cycle_off, watch_run
from assistant.procedure.events import Value
from assistant.procedure.gates import watch_readings
from assistant.procedure.rules import job_of, recipe_of, timeline_of
from assistant.procedure.run_answers import record_weighed, speak_up
from assistant.procedure.slots import SLOTS
from assistant.procedure.turn import Turn
from assistant.procedure.wording import shown

if TYPE_CHECKING:
    from assistant.recipe.during import Judgement


def take_reading(turn: Turn, slot: str, value: Value) -> None:
    if not isinstance(value, float):
        return
    judged = _judge(turn, slot, value)
    heat = turn.state.heat_on_s
    turn.emit(
        e.ReadingTaken(
            slot=slot, value=value, since_heat_s=None if heat is None else turn.now_s - heat,
            plausible=judged.plausible, sentence=judged.sentence,
        )
    )  # fmt: skip
    if judged.weighed is not None:
        named = judged.weighed.causes[0].key if judged.weighed.causes else ""
        record_weighed(turn, judged.weighed, judged.sentence, volunteered=named)
    watch_run(turn, slot)
    together = speak_up(turn) if slot in TEMPERATURES and judged.plausible else ""
    if together:
        sentence = f"{judged.sentence} {together}"
    else:
        sentence = f"As expected. {judged.sentence}" if _all_as_expected(turn, slot) else judged.sentence
    turn.tell(f"{SLOTS[slot].label.capitalize()} {shown(value, SLOTS[slot].quantity)}. {sentence}".strip())
    watch_readings(turn)


def _all_as_expected(turn: Turn, slot: str) -> bool:
    """Whether this temperature and all of this heat before it lie where they should."""
    heat_on_s = turn.state.heat_on_s
    return (
        slot in TEMPERATURES
        and heat_on_s is not None
        and all(r.plausible for r in turn.state.readings if r.slot in TEMPERATURES and r.t_s >= heat_on_s)
    )


def _judge(turn: Turn, slot: str, value: float) -> Judgement:
    from assistant.recipe.during import Judgement, judge_reading
    from assistant.recipe.outcome import Recipe

    state = turn.state
    if slot == "pressure_reading":
        agreed = state.values.get("pressure")
        if isinstance(agreed, float) and abs(value - agreed) > 0.15e5:
            return Judgement(
                False,
                f"Agreed is {shown(agreed, 'pressure')}: set the regulator, then read the gauge again.",
            )
        return Judgement(True, "")
    if slot == "cycle_time":
        off = cycle_off(turn, value)
        return Judgement(not off, off)
    if slot not in TEMPERATURES:
        return Judgement(True, "")
    job, recipe, timeline = job_of(turn.rules, state), recipe_of(turn.rules, state), timeline_of(state)
    if timeline is None or not isinstance(job, Job) or not isinstance(recipe, Recipe):
        return Judgement(False, "Heat is not on: a reading now does not count for the cycle.")
    return judge_reading(job, recipe, timeline, slot, value, turn.now_s, state.readings)
