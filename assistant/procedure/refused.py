"""Values that are refused, each with its reason: out of limits, at the wrong moment, or not what was agreed."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.bench.job import Job
from assistant.bench.refuse import refusal
from assistant.procedure.events import Value
from assistant.procedure.interrupted import refused_here
from assistant.procedure.model import Act
from assistant.procedure.rules import (
    RECIPE_SLOTS,
    SHEET_SLOTS,
    applies,
    current,
    job_of,
    recipe_with,
    sheet_slots,
    traits_of,
)
from assistant.procedure.slots import INQUIRY_SLOTS, READING_SLOTS, SLOTS
from assistant.procedure.told import MARKS_APART_m
from assistant.procedure.turn import Turn
from assistant.procedure.wording import shown
from intents.person_name import why_no_name

STANDS_STILL: dict[tuple[str, Value], str] = {
    ("vent_heard", "no"): (
        "Then it is not empty for sure. Open the valve wide, wait, listen, and tell me when you have heard it."
    ),
    ("trial_result", "none"): (
        "A new pair is not joined without a trial: make the trial joint first, or stop the session."
    ),
}
"""Answers with which the job does not go on."""
RUNNING = "The press is running on that: it can't be changed now. Make a note, or record a deviation."
LENGTHS = frozenset({"measured_length", "marks_distance"})  # measured, but no reading of the press
OWN_WAY = frozenset({"hand_over", "stop_session", "outcome", "keep_name"})
PERSONS = frozenset({"technician", "hand_over"})
LONGEST_NAME = 80  # letters of a recipe's name
LEAST_OFF_m, OFF_RATIO = 1e-3, 5e-4  # a rule is read to a millimetre; a tenth of the usual stretch


def refused(turn: Turn, slot: str, value: Value) -> str:
    """Why `slot` can't be `value` now, in a sentence; empty where it can."""
    state, rules = turn.state, turn.rules
    if slot in PERSONS and (why_not := why_no_name(str(value), _called(turn))):
        return why_not
    if slot == "keep_name" and len(str(value)) > LONGEST_NAME:
        return f"A recipe needs a shorter name, of at most {LONGEST_NAME} letters."
    if slot in OWN_WAY:
        return ""
    if slot in SHEET_SLOTS:
        if state.heat_on_s is not None:
            return RUNNING
        if any("air_or_heat" in a.hazards and a.id in state.done for _, a in rules.acts()):
            return (
                "There is air in the press: let it out, say 'go back' until it is off, and then change that."
            )
        return refusal(slot, value, state.values, rules.catalogue) or ""
    if slot in RECIPE_SLOTS:
        return _refuse_recipe(turn, slot, value)
    if slot.startswith("shown_"):
        return _refuse_shown(turn, slot.removeprefix("shown_"), value)
    if slot in INQUIRY_SLOTS and (why_not := refused_here(state, slot, value, turn.now_s)):
        return why_not
    if slot in INQUIRY_SLOTS:
        return ""
    if (slot not in READING_SLOTS or slot in LENGTHS) and (why_not := _refuse_moment(turn, slot)):
        return why_not
    if (slot, value) in STANDS_STILL:
        return STANDS_STILL[(slot, value)]
    known = SLOTS.get(slot)
    if known is not None and isinstance(value, float) and not known.low <= value <= known.high:
        return f"{known.label.capitalize()} {shown(value, known.quantity)} can't be."
    if slot in LENGTHS and isinstance(value, float):
        return _refuse_length(turn, slot, value)
    return ""


def _called(turn: Turn) -> Iterator[str]:
    """What belts, presses and all that a sheet can name are called."""
    for info in sheet_slots(turn.rules, turn.state):
        yield from info.sayings
        for choice in info.choices:
            yield from choice.sayings


def _refuse_moment(turn: Turn, slot: str) -> str:
    """An answer counts from its question on, and until something has been built on it."""
    here = current(turn.rules, turn.state)
    asking = act_asking(turn, slot)
    if asking is None or (asking.id not in turn.state.done and (here is None or here[1].id != asking.id)):
        return "That is asked later: it does not count before."
    if turn.state.outcome is not None and asking.kind in ("look", "measure"):
        return "The joint has been judged on that: make a note, or record a deviation."
    if slot == "vent_heard" and any(
        "unfasten" in a.hazards and a.id in turn.state.done for _, a in turn.rules.acts()
    ):
        return "The press is open already: make a note, or record a deviation."
    return ""


def act_asking(turn: Turn, slot: str) -> Act | None:
    """The act that asks for, looks at or measures `slot`, where it applies."""
    known = traits_of(turn.rules, turn.state)
    fitting = (a for _, a in turn.rules.acts() if a.slot == slot and a.kind in ("ask", "look", "measure"))
    return next((a for a in fitting if applies(a, known)), None)


def _refuse_length(turn: Turn, slot: str, value: float) -> str:
    """A mark in the wrong place is found before the cut, and a wrong stretch before the first run."""
    if slot == "measured_length":
        wanted = turn.state.computed.get("cut", {}).get("cut_m")
        if wanted is not None and abs(value - wanted) > max(LEAST_OFF_m, OFF_RATIO * wanted):
            return (
                f"{shown(value, 'length')} is not the cut length, {shown(wanted, 'length')}: mark it again and measure again, "
                "or change the endless length."
            )
    job = job_of(turn.rules, turn.state)
    if slot == "marks_distance" and isinstance(job, Job):
        low, high = (
            MARKS_APART_m * (1 + percent / 100)
            for percent in (job.belt.sheet.elongation_min_percent, job.belt.sheet.elongation_max_percent)
        )
        if not low - 5e-4 <= value <= high + 5e-4:
            return (
                f"{shown(value, 'length')} is outside what the data sheet allows, {shown(low, 'length')} to "
                f"{shown(high, 'length')}: tighten or slacken, and measure again."
            )
    return ""


def _refuse_recipe(turn: Turn, slot: str, value: Value) -> str:
    from assistant.recipe.outcome import Infeasible

    state = turn.state
    if state.heat_on_s is not None:
        return RUNNING
    job = job_of(turn.rules, state)
    if not isinstance(job, Job) or not isinstance(value, float):
        return "There is no recipe yet."
    given = {k: float(state.values[k]) for k in state.overruled if k in state.values and k != slot}
    found = recipe_with(turn.rules, state, {**given, slot: value})
    return f"{found.reason} {found.nearest_change}" if isinstance(found, Infeasible) else ""


def _refuse_shown(turn: Turn, slot: str, value: Value) -> str:
    agreed = turn.state.values.get(slot)
    known = SLOTS[slot]
    if not isinstance(agreed, float) or not isinstance(value, float):
        return f"No {known.label} has been agreed."
    step = {"temperature": 0.6, "pressure": 0.051e5, "duration": 0.6}.get(known.quantity or "", 1e-9)
    if abs(agreed - value) > step:
        return (
            f"The press shows {shown(value, known.quantity)}, agreed is {shown(agreed, known.quantity)}: "
            "set it right, then read it to me again."
        )
    return ""
