"""Questions that can be asked at any moment. They are answered; nothing moves."""

from __future__ import annotations

from assistant.bench.job import Job
from assistant.procedure import events as e
from assistant.procedure.asked import ASKED, asked_for
from assistant.procedure.cold import cold_reasons, inside_upper
from assistant.procedure.fill import fill
from assistant.procedure.grounds import grounds, why_value
from assistant.procedure.model import Act
from assistant.procedure.prompt import described, prompt, sheet_text
from assistant.procedure.rules import (
    applies,
    current,
    job_of,
    recipe_of,
    sheet_slots,
    timeline_of,
    traits_of,
)
from assistant.procedure.run_answers import of_the_run
from assistant.procedure.sayable import can_say
from assistant.procedure.slots import SLOTS
from assistant.procedure.trainee import cautions, how_to_find, last_heard, meant, what_there_is
from assistant.procedure.turn import Turn
from assistant.procedure.unchecked import cooling_seen
from assistant.procedure.want import want_of
from assistant.procedure.what_if import what_if
from assistant.procedure.wording import degrees, minutes, shown, time_of_day
from intents.meaning import Heard, Meaning
from intents.quantities import speak_digits
from intents.quoted import quoted

COMPUTED = {"measured_length": "cut_length", "marks_distance": "belt_pull"}
"""Not measured yet, a question after it is about what it should be."""


def answer(turn: Turn, meaning: Meaning, heard: Heard) -> str | None:
    """The reply to a question; None where the utterance is none."""
    match meaning.intent:
        case "repeat":
            return prompt(turn.rules, turn.state, turn.now_s).text or turn.state.last_said
        case "slower" | "faster" | "louder" | "quieter":
            return f"{meaning.intent.capitalize()}."
        case "silence":
            return "Quiet."
        case "not_known":
            return how_to_find(turn)
        case "choices":
            return what_there_is(turn, heard.text)
        case "meant":
            return meant(turn)
        case "cautions":
            return cautions(turn, heard.text)
        case "what_heard":
            return quoted(last_heard(turn), turn.rules.callsign) + "."
        case "why":
            return _why(turn)
        case "how":
            return _how(turn)
        case "where":
            return _where(turn)
        case "next":
            return _next(turn)
        case "left":
            return _left(turn)
        case "until_cold":
            return _until_cold(turn)
        case "recipe":
            return recipe_text(turn)
        case "job":
            return sheet_text(turn.rules, turn.state)
        case "help":
            return f"Hurt? Say 'I am hurt'. Otherwise: {_can_say(turn)}"
        case "what_can_i_say":
            return _can_say(turn)
        case "time":
            return _time(turn)
        case "supervisor":
            return "Call the supervisor. To stop here say 'stop the session'; what was done so far is in the record."
        case "what_now" | "if_power_fails" | "should_read" | "readings_why":
            return of_the_run(turn, meaning.intent)
        case "ask_value":
            return _value(turn, str(meaning.slot))
        case "what_if" | "what_if_by" | "what_if_off" | "what_if_times" | "what_if_other":
            _settled(turn)
            return what_if(turn, meaning)
        case "why_value":
            _settled(turn)
            return why_value(turn, str(meaning.slot))
        case "physics" | "binding" | "how_sure" | "exact" | "healed":
            return grounds(turn, meaning.intent)
    return None


def _settled(turn: Turn) -> None:
    """Which one was meant need not be asked any more."""
    if turn.state.asking is not None:
        turn.emit(e.AskedBack(question=""))
        turn.prompt_again = True


def _here(turn: Turn) -> Act | None:
    here = current(turn.rules, turn.state)
    return here[1] if here else None


def _why(turn: Turn) -> str:
    act = _here(turn)
    if act is None:
        return "There is nothing left to do."
    want = want_of(turn.rules, turn.state, act)
    if act.kind == "gate":
        gate = turn.rules.gate(act)
        return f"{act.why} The hazard: {gate.hazard}. {' '.join(gate.cautions)}".strip()
    if act.kind in ("agree", "set"):
        return f"{act.why} {why_value(turn, act.slot or '')}".strip()
    if want is not None and want.why:
        return want.why
    return act.why or "The step after this one needs it."


def _how(turn: Turn) -> str:
    act = _here(turn)
    if act is None:
        return "There is nothing left to do."
    cautions = f" Mind: {' '.join(act.cautions)}" if act.cautions else ""
    return f"{fill(turn.rules, turn.state, act.how or act.say)}{cautions} Follow the press manual and the belt's data sheet."


def _where(turn: Turn) -> str:
    here = current(turn.rules, turn.state)
    if here is None:
        return "At the end."
    stage, act = here
    known = traits_of(turn.rules, turn.state)
    acts = [a for a in stage.acts if applies(a, known)]
    place = next((i for i, a in enumerate(acts, 1) if a.id == act.id), 1)
    held = f" Held: {turn.state.held}." if turn.state.held else ""
    return f"{stage.title}, step {place} of {len(acts)}: {act.title.lower()}.{held}"


def _next(turn: Turn) -> str:
    known = traits_of(turn.rules, turn.state)
    open_acts = [a for _, a in turn.rules.acts() if a.id not in turn.state.done and applies(a, known)]
    if len(open_acts) < 2:
        return "This is the last step."
    return f"After this: {open_acts[1].title.lower()}."


def _left(turn: Turn) -> str:
    timers = [t for t in turn.state.timers if t.deadline_s is not None]
    if not timers:
        return "No timer is running."
    parts = []
    for timer in timers:
        left = (timer.deadline_s or 0.0) - turn.now_s
        parts.append(
            f"{timer.name}: {minutes(left)}" if left >= 0 else f"{timer.name}: over by {minutes(-left)}"
        )
    return ", ".join(parts).capitalize() + "."


def _until_cold(turn: Turn) -> str:
    from assistant.recipe.during import until_cold
    from assistant.recipe.outcome import Recipe

    state = turn.state
    job, recipe, timeline = job_of(turn.rules, state), recipe_of(turn.rules, state), timeline_of(state)
    if (
        timeline is None
        or state.cool_on_s is None
        or not isinstance(job, Job)
        or not isinstance(recipe, Recipe)
    ):
        if isinstance(recipe, Recipe):
            return (
                f"Cooling has not begun. It takes about {minutes(recipe.cooling_expected_s)}, and {minutes(recipe.cooling_s)} until it "
                "is surely cold inside. The readings decide."
            )
        return "Cooling has not begun."
    hottest = inside_upper(turn.rules, state, turn.now_s)
    inside = f" Inside the belt it may be up to {degrees(hottest)} now." if hottest else ""
    if not cold_reasons(turn.rules, state, turn.now_s):
        return f"It is cold enough, by the readings and by what is computed.{inside}"
    cooling, readings, t_s = cooling_seen(state, timeline, turn.now_s)
    left = until_cold(job, recipe, cooling, readings, t_s)
    about = (
        f"About {minutes(left)} more, by what is computed."
        if left > 0
        else "By what is computed it should be cold."
    )
    return f"{about}{inside} The readings decide."


def recipe_text(turn: Turn) -> str:
    """All values of the recipe, in a line."""
    recipe = recipe_of(turn.rules, turn.state)
    values = getattr(recipe, "values", ())
    if not values:
        return "There is no recipe yet: the job sheet comes first."
    parts = []
    for value in values:
        slot = SLOTS.get(value.slot)
        if slot is not None:
            stands = turn.state.values.get(value.slot, value.value_si)
            parts.append(f"{slot.label} {shown(stands, slot.quantity)}")
    return "The recipe: " + ", ".join(parts) + "."


def _can_say(turn: Turn) -> str:
    call = f"Begin with '{turn.rules.callsign}'. " if turn.rules.callsign else ""
    return f"{call}You can say: " + ", ".join(f"'{s}'" for s in can_say(turn.rules, turn.state)) + "."


def _time(turn: Turn) -> str:
    clock = f"It is {time_of_day(turn.wall)}. " if turn.wall else ""
    if turn.state.heat_on_s is None:
        return f"{clock}{minutes(turn.now_s)} into the session."
    end = turn.state.vented_s if turn.state.vented_s is not None else turn.now_s
    return f"{clock}{minutes(end - turn.state.heat_on_s)} since the heat went on; {minutes(turn.now_s)} into the session."


def _value(turn: Turn, slot: str) -> str:
    state = turn.state
    if slot in ASKED:
        return _computed(turn, slot)
    label, expected = described(turn.rules, state, slot)
    reading = state.last_reading(slot)
    if reading is not None:
        return f"{label.capitalize()}: {shown(reading.value, expected.quantity)}, {minutes(turn.now_s - reading.t_s)} ago."
    value = state.values.get(slot)
    if value is None:
        recipe = recipe_of(turn.rules, state)
        value = next((v.value_si for v in getattr(recipe, "values", ()) if v.slot == slot), None)
    if value is None and slot in COMPUTED:
        return _computed(turn, COMPUTED[slot])
    if value is None:
        known = any(info.slot == slot for info in sheet_slots(turn.rules, turn.state))
        return (
            f"There is no value for the {label} yet." if known or slot in SLOTS else "I have no such value."
        )
    digits = (
        f": {speak_digits(value, expected.quantity, expected.unit)}"
        if isinstance(value, float) and expected.quantity
        else ""
    )
    source = " From the job file." if slot in state.from_file else ""
    return f"{label.capitalize()} {shown(value, expected.quantity, expected.choices, expected.unit)}{digits}.{source}"


def _computed(turn: Turn, name: str) -> str:
    told = {slot: turn.state.last_reading(slot) for slot in ("upper_reading", "lower_reading")}
    readings = {slot: reading.value for slot, reading in told.items() if reading is not None}
    return asked_for(name, job_of(turn.rules, turn.state), recipe_of(turn.rules, turn.state), readings)
