"""Values: offered, read back, confirmed, corrected, taken back."""

from __future__ import annotations

from assistant.procedure import events as e
from assistant.procedure.amiss import back_to_ramp, too_cold
from assistant.procedure.causes import likely_causes
from assistant.procedure.compute import compute_topic, recipe_values
from assistant.procedure.events import Value, Way
from assistant.procedure.facts import facts_of
from assistant.procedure.gates import rearm, rearm_act
from assistant.procedure.inspect_act import judge_again, judge_item
from assistant.procedure.interrupted import take_answer
from assistant.procedure.model import Act
from assistant.procedure.readings import take_reading
from assistant.procedure.refused import LENGTHS, STANDS_STILL, act_asking, refused
from assistant.procedure.rules import RECIPE_SLOTS, SHEET_SLOTS, current, recipe_of
from assistant.procedure.slots import INQUIRY_SLOTS, READING_SLOTS
from assistant.procedure.turn import Turn
from assistant.procedure.want import want_of
from intents.meaning import Heard, Meaning

# A change of these means other cuts, plates or connections: everything after the job sheet is done again.
FUNDAMENTAL = frozenset(
    {"job_kind", "belt", "belt_material", "belt_plies", "belt_guide", "notch_pitch", "belt_width", "press", "punch",
     "template", "endless_length", "elongation", "new_pair"}
)  # fmt: skip


def offer(turn: Turn, slot: str, value: Value, said: str, heard: Heard) -> None:
    """Takes a value up, or refuses it with the reason. What steers anything is read back before it counts."""
    if slot == "technician" and any(
        a.topic == "job" and a.id in turn.state.done for _, a in turn.rules.acts()
    ):
        slot = "hand_over"  # another person at the press, by whatever words
    why_not = refused(turn, slot, value)
    if why_not and why_not == STANDS_STILL.get((slot, value)):
        _take_back(turn, slot)
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


def _take_back(turn: Turn, slot: str) -> None:
    """An answer that was given turns out not to be so: it is asked again, and so is the gate that rests on it."""
    act = act_asking(turn, slot)
    if act is None or act.id not in turn.state.done:
        return
    turn.emit(e.ValueDropped(slot=slot))
    turn.emit(e.WentBack(acts=(act.id,), why="change"))
    if slot == "vent_heard":
        rearm_act(turn, lambda a: "dead_and_empty" in turn.rules.gate(a).needs, "the vent was not heard")


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
    elif slot in INQUIRY_SLOTS:
        take_answer(turn, slot, value)
    elif slot in READING_SLOTS and slot not in LENGTHS:
        _take_reading(turn, slot, value, act, offered.way)
    elif (item := act_asking(turn, slot)) is not None and item.kind in ("look", "measure"):
        judge_item(turn, item, value)
        if act is not None and act.id == item.id:
            turn.emit(e.ActDone(act=item.id, by=offered.way))
        else:
            judge_again(turn, slot)
    else:
        take(turn, slot, value)


def _take_reading(turn: Turn, slot: str, value: Value, act: Act | None, way: Way) -> None:
    """A reading that shows that the step before it is not so leads back to it."""
    take_reading(turn, slot, value)
    if act is None or act.kind != "reading" or act.slot != slot:
        return
    if (now := current(turn.rules, turn.state)) is None or now[1].id != act.id:
        return  # it opened a gate again, which stands before this act
    last = turn.state.last_reading(slot)
    if slot == "pressure_reading" and last is not None and not last.plausible:
        return  # the regulator is set, and the gauge read again
    if turn.state.cool_on_s is None and too_cold(turn, slot):
        back_to_ramp(turn)
        turn.tell("Then it is not at its set temperature yet, and the dwell does not count.")
        return
    turn.emit(e.ActDone(act=act.id, by=way))


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


def agree(turn: Turn, act: Act, heard: Heard) -> None:
    """The value of the recipe as it was just told counts from now on."""
    slot = act.slot or ""
    value = recipe_values(recipe_of(turn.rules, turn.state)).get(slot)
    if value is None:
        return
    turn.emit(e.ValueTaken(slot=slot, value=value, said=heard.text, way=heard.way))
    turn.emit(e.ActDone(act=act.id, by=heard.way))
    _recipe_changed(turn, slot)


def drop_value(turn: Turn, slot: str) -> None:
    """Takes back a value that counted, with all that follows from it."""
    turn.emit(e.ValueDropped(slot=slot))
    if slot in SHEET_SLOTS:
        _sheet_changed(turn, slot)
    elif slot in RECIPE_SLOTS:
        _recipe_changed(turn, slot)
    elif slot.startswith("shown_"):
        _value_changed(turn)


def _sheet_changed(turn: Turn, slot: str) -> None:
    """Another sheet: what was computed, agreed and set on it; where the belt or the press is another one, all of it."""
    again = []
    beyond = False
    for stage, act in turn.rules.acts():
        beyond = beyond or stage.id == "joint"
        if not beyond or act.id not in turn.state.done:
            continue
        if slot in FUNDAMENTAL or act.kind in ("tell", "agree", "set") or _rearms_on_change(turn, act):
            again.append(act.id)
    asked = {a.slot for _, a in turn.rules.acts() if a.kind == "ask" and a.id in again and a.slot is not None}
    _drop(turn, RECIPE_SLOTS | {f"shown_{s}" for s in RECIPE_SLOTS} | (asked - SHEET_SLOTS))
    if again:
        turn.emit(e.WentBack(acts=tuple(again), why="change"))
        turn.tell("That changes what was worked out on it: I go through it again.")


def _rearms_on_change(turn: Turn, act: Act) -> bool:
    return act.gate is not None and "value_changed" in turn.rules.gate(act).rearm


def _value_changed(turn: Turn) -> None:
    """A value that the press works by is another one: whoever compared them compares them again."""
    rearm_act(turn, lambda act: _rearms_on_change(turn, act), "a value was changed")


def _recipe_changed(turn: Turn, slot: str) -> None:
    """Another value may move the others: those that did are agreed and set again."""
    told = turn.state.computed.get("recipe")
    computed = compute_topic(turn.rules, turn.state, "recipe")
    if told is not None and dict(told) != computed.results:
        turn.emit(computed)
    new = recipe_values(recipe_of(turn.rules, turn.state))
    stale = {
        s for s in RECIPE_SLOTS & set(turn.state.values)
        if s in new and abs(float(turn.state.values[s]) - new[s]) > 1e-6 and s != slot
    }  # fmt: skip
    unset = {
        a.slot for _, a in turn.rules.acts() if a.kind == "set" and a.id in turn.state.done
    } - turn.state.shown
    _drop(turn, stale)
    unagreed = RECIPE_SLOTS - turn.state.agreed
    again = tuple(
        a.id for _, a in turn.rules.acts()
        if a.id in turn.state.done
        and ((a.kind == "agree" and a.slot in unagreed and a.slot in new) or (a.kind == "set" and a.slot in stale | unset))
    )  # fmt: skip
    if again:
        turn.emit(e.WentBack(acts=again, why="change"))
    _value_changed(turn)


def _drop(turn: Turn, slots: set[str] | frozenset[str]) -> None:
    for slot in sorted(slots & set(turn.state.values)):
        turn.emit(e.ValueDropped(slot=slot))


def scratch(turn: Turn) -> None:
    """'Scratch that': the offered value, else the value taken last, else the step done last."""
    offered, last = turn.state.offered, turn.state.last_taken
    if offered is not None:
        taken_back(turn)
        turn.tell("Scratched.")
        return
    if (
        last is not None
        and last in turn.state.values
        and last in SHEET_SLOTS | RECIPE_SLOTS
        and turn.state.heat_on_s is None
    ):
        label = last.replace("_", " ")
        drop_value(turn, last)
        acts = tuple(
            a.id for _, a in turn.rules.acts()
            if a.id in turn.state.done and (a.slot == last or (last in SHEET_SLOTS and a.topic == "job"))
        )  # fmt: skip
        if acts:
            turn.emit(e.WentBack(acts=acts, why="change"))
        turn.tell(f"The {label} is open again.")
        return
    turn.tell("There is no value to take back. Say 'go back' for the step before.")


def taken_back(turn: Turn) -> None:
    """What was offered does not count; what stood before it stands."""
    offered = turn.state.offered
    if offered is not None:
        turn.emit(
            e.ValueRefused(slot=offered.slot, value=offered.value, said=offered.said, reason="taken back")
        )


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
