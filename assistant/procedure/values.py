"""Values: offered, read back, confirmed, corrected, taken back."""

from __future__ import annotations

from assistant.bench.job import Job
from assistant.bench.refuse import refusal
from assistant.procedure import events as e
from assistant.procedure.causes import likely_causes
from assistant.procedure.compute import recipe_values
from assistant.procedure.events import Value
from assistant.procedure.facts import facts_of
from assistant.procedure.gates import rearm, rearm_act
from assistant.procedure.inspect_act import judge_item
from assistant.procedure.readings import take_reading
from assistant.procedure.rules import RECIPE_SLOTS, SHEET_SLOTS, current, job_of, recipe_of
from assistant.procedure.slots import READING_SLOTS, SLOTS
from assistant.procedure.turn import Turn
from assistant.procedure.want import want_of
from assistant.procedure.wording import shown
from intents.meaning import Heard, Meaning

# A change of these means other cuts, plates or connections: everything after the job sheet is done again.
FUNDAMENTAL = frozenset(
    {"job_kind", "belt", "belt_material", "belt_plies", "belt_guide", "notch_pitch", "belt_width", "press", "punch",
     "template", "endless_length", "elongation", "new_pair"}
)  # fmt: skip
STANDS_STILL: dict[tuple[str, Value], str] = {
    (
        "vent_heard",
        "no",
    ): "Then it is not empty for sure. Open the valve wide, wait, listen, and tell me when you have heard it.",
    (
        "trial_result",
        "none",
    ): "A new pair is not joined without a trial: make the trial joint first, or stop the session.",
}
OWN_WAY = frozenset({"hand_over", "stop_session", "outcome", "keep_name"})


def offer(turn: Turn, slot: str, value: Value, said: str, heard: Heard) -> None:
    """Takes a value up, or refuses it with the reason. What steers anything is read back before it counts."""
    why_not = _refuse(turn, slot, value)
    if why_not:
        turn.emit(e.ValueRefused(slot=slot, value=value, said=said, reason=why_not))
        turn.tell(why_not)
        turn.prompt_again = True
        return
    turn.emit(e.ValueOffered(slot=slot, value=value, said=said, way=heard.way))
    here = current(turn.rules, turn.state)
    want = want_of(turn.rules, turn.state, here[1]) if here else None
    matches_display = slot.startswith("shown_") and (heard.way != "voice" or heard.verified)
    if matches_display or (want is not None and want.slot == slot and not want.steering):
        confirm(turn)


def _refuse(turn: Turn, slot: str, value: Value) -> str:
    state, rules = turn.state, turn.rules
    if slot in OWN_WAY:
        return ""
    if slot in SHEET_SLOTS:
        if state.heat_on_s is not None and slot != "technician":
            return (
                "The press is running on that: it can't be changed now. Make a note, or record a deviation."
            )
        return refusal(slot, value, state.values, rules.catalogue) or ""
    if slot in RECIPE_SLOTS:
        return _refuse_recipe(turn, slot, value)
    if slot.startswith("shown_"):
        return _refuse_shown(turn, slot.removeprefix("shown_"), value)
    if (slot, value) in STANDS_STILL:
        return STANDS_STILL[(slot, value)]
    known = SLOTS.get(slot)
    if known is not None and isinstance(value, float) and not known.low <= value <= known.high:
        return f"{known.label.capitalize()} {shown(value, known.quantity)} can't be."
    return ""


def _refuse_recipe(turn: Turn, slot: str, value: Value) -> str:
    from assistant.recipe.outcome import Given, Infeasible
    from assistant.recipe.recipe import compute_recipe

    state = turn.state
    if state.heat_on_s is not None:
        return "The press is running on that: it can't be changed now. Make a note, or record a deviation."
    job = job_of(turn.rules, state)
    if not isinstance(job, Job) or not isinstance(value, float):
        return "There is no recipe yet."
    given = {k: float(state.values[k]) for k in state.overruled if k in state.values and k != slot}
    found = compute_recipe(job, Given(**{**given, slot: value}))
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


def confirm(turn: Turn) -> None:
    """The offered value counts from now on, and so does what follows from it."""
    offered = turn.state.offered
    if offered is None:
        return
    slot, value = offered.slot, offered.value
    here = current(turn.rules, turn.state)
    act = here[1] if here else None
    if slot == "hand_over":
        hand_over(turn, str(value))
    elif slot == "stop_session":
        turn.emit(e.ValueTaken(slot=slot, value=value, said=offered.said, way=offered.way))
        turn.finish = "stopped"
    elif slot == "outcome":
        if act is not None and act.kind == "decide":
            decide_outcome(turn, str(value), act.id)
    elif slot == "keep_name":
        if act is not None and act.kind == "keep":
            turn.emit(e.Kept(name=str(value)))
            turn.emit(e.ActDone(act=act.id, by=offered.way))
    elif slot in READING_SLOTS and slot not in ("measured_length", "marks_distance"):
        take_reading(turn, slot, value)
        if act is not None and act.kind == "reading" and act.slot == slot:
            turn.emit(e.ActDone(act=act.id, by=offered.way))
    elif act is not None and act.kind in ("look", "measure") and act.slot == slot:
        judge_item(turn, act, value)
        turn.emit(e.ActDone(act=act.id, by=offered.way))
    else:
        take(turn, slot, value)


def take(turn: Turn, slot: str, value: Value) -> None:
    """A value of the sheet, the recipe or the display. What no longer holds because of it is asked again."""
    state, offered = turn.state, turn.state.offered
    assert offered is not None
    changed = slot in state.values and state.values[slot] != value
    turn.emit(e.ValueTaken(slot=slot, value=value, said=offered.said, way=offered.way))
    here = current(turn.rules, turn.state)
    if (
        here is not None
        and here[1].slot == slot.removeprefix("shown_")
        and here[1].kind in ("ask", "set", "agree")
    ):
        turn.emit(e.ActDone(act=here[1].id, by=offered.way))
    if slot in SHEET_SLOTS and changed:
        _sheet_changed(turn, slot)
    elif slot in RECIPE_SLOTS:
        _recipe_changed(turn, slot)


def _sheet_changed(turn: Turn, slot: str) -> None:
    again = []
    beyond = False
    for stage, act in turn.rules.acts():
        beyond = beyond or stage.id == "joint"
        if not beyond or act.id not in turn.state.done:
            continue
        if slot in FUNDAMENTAL or act.kind in ("tell", "agree", "set") or _rearms_on_change(turn, act.id):
            if (
                act.gate is not None
                and slot in FUNDAMENTAL
                and "back" not in turn.rules.gate(act).rearm
                and not _each(turn, act.id)
            ):
                continue
            again.append(act.id)
    _drop(turn, RECIPE_SLOTS | {f"shown_{s}" for s in RECIPE_SLOTS})
    if again:
        turn.emit(e.WentBack(acts=tuple(again), why="change"))
        turn.tell("That changes what was worked out on it: I go through it again.")


def _each(turn: Turn, act_id: str) -> bool:
    act = turn.rules.act(act_id)
    return act is not None and act.gate is not None and "each" in turn.rules.gate(act).rearm


def _rearms_on_change(turn: Turn, act_id: str) -> bool:
    act = turn.rules.act(act_id)
    return act is not None and act.gate is not None and "value_changed" in turn.rules.gate(act).rearm


def _recipe_changed(turn: Turn, slot: str) -> None:
    """Another value may move the others: those that did are agreed and set again."""
    new = recipe_values(recipe_of(turn.rules, turn.state))
    stale = {
        s for s in RECIPE_SLOTS & set(turn.state.values)
        if s in new and abs(float(turn.state.values[s]) - new[s]) > 1e-6 and s != slot
    }  # fmt: skip
    unset = {
        a.slot for _, a in turn.rules.acts() if a.kind == "set" and a.id in turn.state.done
    } - turn.state.shown
    _drop(turn, stale)
    again = tuple(
        a.id for _, a in turn.rules.acts()
        if a.id in turn.state.done and ((a.kind == "agree" and a.slot in stale) or (a.kind == "set" and a.slot in stale | unset))
    )  # fmt: skip
    if again:
        turn.emit(e.WentBack(acts=again, why="change"))
        rearm_act(turn, lambda act: "value_changed" in turn.rules.gate(act).rearm, "a value was changed")


def _drop(turn: Turn, slots: set[str] | frozenset[str]) -> None:
    for slot in sorted(slots & set(turn.state.values)):
        turn.emit(e.ValueDropped(slot=slot))


def scratch(turn: Turn) -> None:
    """'Scratch that': the offered value, else the value taken last, else the step done last."""
    offered, last = turn.state.offered, turn.state.last_taken
    if offered is not None:
        turn.emit(e.ValueDropped(slot=offered.slot))
        turn.tell("Scratched.")
        return
    if (
        last is not None
        and last in turn.state.values
        and last in SHEET_SLOTS | RECIPE_SLOTS
        and turn.state.heat_on_s is None
    ):
        label = last.replace("_", " ")
        turn.emit(e.ValueDropped(slot=last))
        acts = tuple(a.id for _, a in turn.rules.acts() if a.id in turn.state.done and a.slot == last)
        if last in SHEET_SLOTS:
            acts += tuple(a.id for _, a in turn.rules.acts() if a.id in turn.state.done and a.topic == "job")
            _sheet_changed(turn, last)
        if acts:
            turn.emit(e.WentBack(acts=acts, why="change"))
        turn.tell(f"The {label} is open again.")
        return
    turn.tell("There is no value to take back. Say 'go back' for the step before.")


def hand_over(turn: Turn, taker: str) -> None:
    giver = turn.state.technician
    turn.emit(e.HandedOver(giver=giver, taker=taker))
    opened = rearm(turn, "person", f"{taker} took over from {giver}")
    own = (
        " Put your own lock on before the other comes off."
        if any(g.id == "conveyor_dead" for g in opened)
        else ""
    )
    turn.tell(f"{taker} is at the press now.{own}", "prompt")


def decide_outcome(turn: Turn, outcome: str, act_id: str) -> None:
    found = [f.found for f in turn.state.findings]
    causes = tuple(c.sentence for c in likely_causes(found, facts_of(turn.rules, turn.state)))
    turn.emit(
        e.Decided(
            outcome=outcome, note=" ".join(turn.state.notes[-1:]) if "note" in outcome else "", causes=causes
        )
    )
    turn.emit(e.ActDone(act=act_id, by="voice" if turn.state.offered is None else turn.state.offered.way))
    if causes:
        turn.tell("Likely causes: " + " ".join(causes))
    if outcome == "cut out and redo":
        turn.finish = "cut out and redo"


def meaning_value(meaning: Meaning) -> Value:
    if meaning.value is None:
        raise ValueError(f"'{meaning.intent}' carries no value")
    return meaning.value
