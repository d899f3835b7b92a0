"""The question that stands now: what is said, and under which key the log notes that it has been put."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.bench.sheet import slots_for, with_defaults
from assistant.procedure.cold import needs_open
from assistant.procedure.compute import recipe_values, refusals
from assistant.procedure.fill import fill
from assistant.procedure.gate_wording import asked_so_far
from assistant.procedure.interrupted import question
from assistant.procedure.kept import kept_beside, kept_sentence
from assistant.procedure.left_behind import before_stopping
from assistant.procedure.model import Act
from assistant.procedure.rules import Rules, current, recipe_of, sheet_slots
from assistant.procedure.slots import SLOTS
from assistant.procedure.state import State
from assistant.procedure.unchecked import vouched_since
from assistant.procedure.untimed import is_untimed
from assistant.procedure.want import want_of
from assistant.procedure.wording import capital, first_sentence, minutes, readback, shown
from intents.meaning import Expected
from intents.quantities import speak_digits


@dataclass(frozen=True)
class Prompt:
    """again: said instead of `text` when the question is put again and nothing has changed; '' for the same."""

    key: str
    text: str
    again: str = ""


def prompt(rules: Rules, state: State, now_s: float) -> Prompt:
    """What the bench asks in `state`. The key changes when the question does."""
    if state.closed is not None:
        return Prompt("closed", "")
    stopping = state.offered is not None and state.offered.slot == "stop_session"
    if state.danger and not stopping:
        return Prompt(
            "danger",
            "If nothing is wrong, say 'false alarm'. To end it here, say 'stop the session'.",
            "Say 'false alarm', or 'stop the session'.",
        )
    if state.held and not stopping:
        return Prompt(
            "held",
            f"Held: {state.held}. Say 'we can go on' when it is right to go on.",
            "Held. Say 'we can go on'.",
        )
    if state.asking is not None:
        return Prompt(f"asked:{state.asking}", state.asking)
    if state.offered is not None:
        return Prompt(
            f"offered:{state.offered.slot}:{state.offered.value}",
            _offered(rules, state),
            _offered_again(rules, state),
        )
    if state.inquiry is not None:
        return Prompt(*question(state, now_s))
    here = current(rules, state)
    if here is None:
        return Prompt("end", "")
    _, act = here
    return _act_prompt(rules, state, act, now_s)


def _offered(rules: Rules, state: State) -> str:
    offered = state.offered
    assert offered is not None
    fixed = {
        "hand_over": f"Hand over to {offered.value}: every lock and gate that is still needed is asked again. Say 'that is correct'.",
        "stop_session": " ".join(
            filter(
                None,
                ("Stop the session here.", before_stopping(rules, state), "Say 'that is correct', or 'no'."),
            )
        ),
        "outcome": f"{str(offered.value).capitalize()}. Say 'that is correct', or 'no'.",
        "keep_name": f"Keep the recipe as {offered.value}. Say 'that is correct', or the right name.",
    }
    if offered.slot in fixed:
        return fixed[offered.slot]
    label, expected = described(rules, state, offered.slot)
    return readback(label, offered.value, expected)


def _offered_again(rules: Rules, state: State) -> str:
    offered = state.offered
    assert offered is not None
    match offered.slot:
        case "hand_over":
            return f"Hand over to {offered.value}? Say 'that is correct', or 'no'."
        case "stop_session":
            return "Stop here? Say 'that is correct', or 'no'."
        case "outcome" | "keep_name":
            return ""
    label, expected = described(rules, state, offered.slot)
    value = shown(offered.value, expected.quantity, expected.choices, expected.unit)
    colon = "" if isinstance(offered.value, float) else ":"
    return f"{capital(label)}{colon} {value}. Say 'that is correct'."


def _act_prompt(rules: Rules, state: State, act: Act, now_s: float) -> Prompt:
    say = fill(rules, state, act.say)
    if act.kind == "gate":
        return _gate(rules, state, act, now_s)
    if act.kind == "tell":
        return _tell(rules, state, act)
    if act.kind == "agree":
        recipe = recipe_of(rules, state)
        value = recipe_values(recipe).get(act.slot or "")
        slot = SLOTS[act.slot or ""]
        if value is None or slot.quantity is None:
            return Prompt(act.id, say)
        return _agree(
            rules, state, act, value, shown(value, slot.quantity), speak_digits(value, slot.quantity)
        )
    if act.kind == "set":
        slot = SLOTS[act.slot or ""]
        agreed = state.values.get(slot.slot)
        if isinstance(agreed, float) and slot.quantity is not None:
            say = (
                f"Set the {slot.label} to {shown(agreed, slot.quantity)}, then read it to me from the press."
            )
            return Prompt(act.id, say, f"Set {shown(agreed, slot.quantity)}, then read it to me.")
        return Prompt(act.id, say)
    if act.kind == "timer":
        timer = state.timer(act.timer or "")
        if is_untimed(state, act.timer):
            return Prompt(
                f"{act.id}:untimed",
                f"{say} How long it has been is not known to me: the press's own timer and your readings count. "
                "When it has been long enough by them, say 'i have done that'.",
                "When it has been long enough, say 'i have done that'.",
            )
        left = (
            ""
            if timer is None or timer.deadline_s is None
            else f" {minutes(timer.deadline_s - now_s)} to go."
        )
        return Prompt(act.id, say + left, left.strip())
    if act.slot == "cycle_time" and state.heat_on_s is not None:
        say += (
            f" By my clock it is {minutes(now_s - state.heat_on_s)} since the heat went on."
            if vouched_since(state, state.heat_on_s)
            else " My clock cannot tell it, the computer was restarted meanwhile: take it from the press or a watch."
        )
    if act.kind == "step":
        how = f" {fill(rules, state, act.how)}" if state.manner == "full" and act.how else ""
        cautions = f" Mind: {' '.join(act.cautions)}" if act.cautions else ""
        return Prompt(act.id, f"{say}{how}{cautions} Done?", f"{say} Done?")
    return Prompt(act.id, say)


def _agree(rules: Rules, state: State, act: Act, value: float, figure: str, digits: str) -> Prompt:
    """A value of the recipe, short: its whole reason stands beside it on the screen, and is told at 'why'."""
    slot = SLOTS[act.slot or ""]
    kept = kept_beside(rules, state, slot.slot, value)
    named = f"{slot.label.capitalize()} {figure}"
    again = f"{named}. Say 'that is correct', or the value."
    if state.manner == "brief":
        return Prompt(
            f"{act.id}:{value}", f"{named}: {digits}.{kept} Say 'that is correct', or the value.", again
        )
    why = f" {first_sentence(act.why)}" if act.why else ""
    text = f"{named}: {digits}.{why}{kept} Say 'that is correct', or the value to use."
    return Prompt(f"{act.id}:{value}", text, again)


def _tell(rules: Rules, state: State, act: Act) -> Prompt:
    want = want_of(rules, state, act)
    if want is not None:
        return Prompt(f"{act.id}:{want.slot}", want.question)
    results = state.computed.get(act.topic or "", {})
    refused = refusals(results)
    if refused:
        return Prompt(
            f"{act.id}:refused",
            f"This cannot be: {' '.join(refused)} Change a value, or stop the session.",
            "This cannot be. Change a value, or stop the session.",
        )
    said = " ".join(results.get("said", ()))
    if act.topic == "job":
        said = sheet_text(rules, state)
    elif act.topic == "recipe":
        said = f"{said} {kept_sentence(rules, state)}".strip()
    text = f"{capital(fill(rules, state, act.say))} {capital(said)} Say 'that is correct', or change a value."
    again = f"{capital(fill(rules, state, act.say))} Say 'that is correct', or change a value."
    if act.topic == "job":
        again = "Is the job sheet right? Say 'that is correct', or for instance 'change the template to ...'."
    return Prompt(f"{act.id}:told", text, again)


def sheet_text(rules: Rules, state: State) -> str:
    """The whole job sheet in one sentence a value."""
    parts = []
    values, _ = with_defaults(state.values, rules.catalogue)
    for info in slots_for(values, rules.catalogue):
        value = values.get(info.slot)
        if value is not None:
            parts.append(f"{info.label}: {shown(value, info.quantity, info.choices, info.unit)}")
    return "; ".join(parts) + "."


def _gate(rules: Rules, state: State, act: Act, now_s: float) -> Prompt:
    """The gate's question; while something must stand first, what that is, under a key that puts no question.

    The key is the same for every wording: an answer counts from when the wording asked now was put.
    """
    gate = rules.gate(act)
    if not_yet := needs_open(rules, state, gate, now_s):
        return Prompt(
            f"gate:{act.id}:not yet",
            f"Not yet. {' '.join(not_yet)}",
            f"Not yet. {first_sentence(not_yet[0])}",
        )
    cautions = "" if state.manner == "brief" else f" {' '.join(gate.cautions)}"
    *before, now = asked_so_far(rules, state, act)
    text = f"Safety question: {gate.hazard}.{cautions} When it is so, say: '{now}'."
    return Prompt(
        f"gate:{act.id}",
        text,
        f"{'Say it in other words' if before else 'Safety question again. When it is so, say'}: '{now}'.",
    )


def described(rules: Rules, state: State, slot: str) -> tuple[str, Expected]:
    """Label and form of any slot that has a value."""
    name = slot.removeprefix("shown_")
    for info in sheet_slots(rules, state):
        if info.slot == name:
            return info.label, Expected(
                name, info.kind, info.quantity, info.low, info.high, info.choices, info.usual, info.unit
            )
    if name in SLOTS:
        found = SLOTS[name]
        label = f"{found.label} on the press" if slot.startswith("shown_") else found.label
        return label, Expected(name, found.kind, found.quantity, found.low, found.high, found.choices)
    here = current(rules, state)
    want = want_of(rules, state, here[1]) if here else None
    if want is not None and want.slot == slot:
        return want.label, want.expected
    return name.replace("_", " "), Expected(name, "text")
