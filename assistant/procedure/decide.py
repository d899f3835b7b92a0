"""One input, the events it causes. Pure: the time is given, nothing is read or written here."""

from __future__ import annotations

from dataclasses import replace

from assistant.procedure import events as e
from assistant.procedure import interrupted
from assistant.procedure.answers import answer
from assistant.procedure.at_act import at_act, heard_well
from assistant.procedure.back import go_back
from assistant.procedure.events import Value
from assistant.procedure.gates import answer_gate, needs_changed, rearm, refuse_skip
from assistant.procedure.left_behind import when_stopped
from assistant.procedure.not_meant import not_meant
from assistant.procedure.prompt import prompt
from assistant.procedure.reconnected import reconnect
from assistant.procedure.rules import Rules, current
from assistant.procedure.run import tick_timers
from assistant.procedure.settle import settle
from assistant.procedure.state import Inquiry, State
from assistant.procedure.turn import Turn
from assistant.procedure.untimed import untime
from assistant.procedure.values import confirm, meaning_value, offer, scratch, taken_back
from assistant.procedure.wording import minutes
from intents.meaning import AskBack, Heard, Meaning, NotForUs, Understood
from intents.quoted import quoted

OWN_STOP = (
    "Use the press's own stop now. Isolate it if that is safe and on your way. Get away from heat and smoke, and call "
    "for help. I cannot stop the press."
)
SEEN_AFTER_S = 0.7  # sooner than that nobody has read a step and done it
DANGER = f"{OWN_STOP} Timers go on."
IN_DANGER = frozenset(
    {"repeat", "louder", "quieter", "slower", "faster", "what_heard", "stop_session", "confirm", "no"}
)
"""What is taken while held for danger: who could not hear the alarm can turn it up, and the session can be ended."""


def begin(rules: Rules, opened: e.Opened, sheet: dict[str, Value], now_s: float) -> Turn:
    """The first turn of a session: the opening line, the values of a job file, the first question."""
    turn = Turn(rules, State(), now_s)
    turn.emit(opened)
    for slot, value in sheet.items():
        turn.emit(e.ValueTaken(slot=slot, value=value, said="job file", way="file"))
    if opened.simulated:
        turn.tell(
            "SIMULATED: the press is a model, time is accelerated, and nothing here is a joint.", "prompt"
        )
    return _finish(turn, "")


def resume(
    rules: Rules, state: State, gap_s: float, note: str, now_s: float, *, unchecked: bool = False
) -> Turn:
    """Taking up a session again: gates whose hazard is still there are open again, timers go on.

    unchecked: nothing vouches for the gap, the computer was restarted; then no dwell ends by it.
    """
    turn = Turn(rules, state, now_s)
    turn.emit(e.Resumed(gap_s=gap_s, note=note, unchecked=unchecked))
    opened = rearm(turn, "resume", "the session was taken up again")
    turn.tell(f"Taken up again after {minutes(gap_s)}. {note}".strip(), "prompt")
    if unchecked:
        turn.tell(untime(turn))
    interrupted.ask_meanwhile(turn, gap_s, unchecked=unchecked)
    if opened:
        turn.tell("What may have changed meanwhile is asked again.")
    tick_timers(turn)
    turn.prompt_again = True
    return _finish(turn, "")


def question_put(rules: Rules, state: State, key: str, now_s: float) -> Turn:
    turn = Turn(rules, state, now_s)
    turn.emit(e.QuestionPut(question=key))
    return turn


def tick(rules: Rules, state: State, now_s: float) -> Turn:
    """Time has passed."""
    turn = Turn(rules, state, now_s)
    before = prompt(rules, state, now_s).key
    tick_timers(turn)
    if not turn.events and not needs_changed(turn):
        return turn
    return _finish(turn, before)


def hear(
    rules: Rules, state: State, heard: Heard, understood: Understood, now_s: float, wall: str = ""
) -> Turn:
    """One utterance, typed line or press of the key. wall: ISO 8601, for whoever asks the time."""
    turn = Turn(rules, state, now_s, wall)
    before = prompt(rules, state, now_s).key
    turn.emit(_heard_event(heard, understood))
    match understood:
        case NotForUs(reason="not sayable", nearest=nearest):
            _not_understood(turn, heard, nearest)
        case NotForUs():
            return turn  # the mark on the screen is the answer
        case AskBack(question=question, options=options):
            meant = tuple(e.Option(intent=o.intent, slot=o.slot, value=o.value, said=o.said) for o in options)
            turn.emit(e.AskedBack(question=question, options=meant))
            turn.prompt_again = True
        case Meaning():
            _act_on(turn, heard if understood.place == 0 else _less_likely(heard), understood)
    turn.prompt_again |= not turn.say  # nothing stays without an answer
    return _finish(turn, before)


def _unput(turn: Turn) -> bool:
    """A safety question or a readback that was not said to its end before something else happened."""
    gate, put = turn.state.gate, turn.state.put
    if gate is not None:
        return gate.said_s is None and not gate.not_yet
    return turn.state.offered is not None and put is not None and put.said_s is None


def _less_likely(heard: Heard) -> Heard:
    """As what was taken from one of the ear's less likely texts counts: nothing rests on it."""
    return replace(heard, verified=False, gate_grade=False, why_not="it was not what I heard first")


def _heard_event(heard: Heard, understood: Understood) -> e.HeardWords:
    match understood:
        case Meaning(intent=intent, slot=slot):
            what = intent if slot is None else f"{intent} {slot}"
        case AskBack():
            what = "asked back"
        case NotForUs(reason=reason):
            what = reason
    return e.HeardWords(
        text=heard.text, way=heard.way, began_s=heard.began_s, ended_s=heard.ended_s, verified=heard.verified,
        gate_grade=heard.gate_grade, sureness=heard.sureness, alternatives=heard.alternatives, scores=heard.scores,
        engine=heard.engine, why_not=heard.why_not, understood=what,
        place=understood.place if isinstance(understood, Meaning) else 0,
    )  # fmt: skip


def _finish(turn: Turn, before: str) -> Turn:
    """Goes on as far as it goes by itself, then puts the question that stands."""
    settle(turn)
    after = prompt(turn.rules, turn.state, turn.now_s)
    if turn.finish is None and turn.state.closed is None and current(turn.rules, turn.state) is None:
        turn.finish = turn.state.outcome or "stopped"
    if turn.finish == "stopped":
        turn.tell(when_stopped(turn.rules, turn.state), "alarm")
    if turn.finish is None and after.text and (after.key != before or turn.prompt_again or _unput(turn)):
        put = turn.state.put
        known = after.key == before and put is not None and put.question == before and put.said_s is not None
        short = known and after.again and not turn.prompt_whole
        turn.tell(after.again if short else after.text, "prompt")
        turn.asked = after.key
    return turn


def _not_understood(turn: Turn, heard: Heard, nearest: tuple[str, ...]) -> None:
    misses, text = turn.state.misses, quoted(heard.text, turn.rules.callsign)
    if turn.state.gate is not None and not turn.state.held and turn.state.asking is None:
        answer_gate(turn, heard, None)
        if misses > 2:
            turn.tell("You can also type it.")
        return
    hint = f" Did you mean: {' or '.join(nearest[:2])}?" if nearest else ""
    if misses <= 1:
        turn.tell(f"I heard '{text}' and can't use it here.{hint}")
    elif misses == 2:
        turn.tell(f"I heard '{text}'. {answer(turn, Meaning('what_can_i_say'), heard)}")
    else:
        way = (
            "Type it, use the key, or come closer to the microphone."
            if heard.way == "voice"
            else "Type 'what can I say' for what fits here; a question names what it is about, as 'what if the shop is 5 degrees'."
        )
        turn.tell(f"I heard '{text}'. {way}{hint}")
    turn.prompt_again = True


def _act_on(turn: Turn, heard: Heard, meaning: Meaning) -> None:
    state = turn.state
    intent = meaning.intent
    if intent == "danger":
        turn.emit(e.Danger(words=heard.text))
        turn.tell(DANGER, "alarm")
    elif intent == "false_alarm" or (intent == "not_meant" and state.danger):
        if state.danger and heard.way == "voice" and not heard.verified:
            turn.tell(
                f"I did not hear that well enough ({heard.why_not or 'not clear'}): say 'false alarm' again.",
                "alarm",
            )
        elif state.danger:
            turn.emit(e.FalseAlarm())
            turn.prompt_again = True
            turn.tell("Good. We go on.")
        else:
            turn.tell("There was no alarm.")
    elif state.danger and intent not in IN_DANGER:
        turn.tell("Held for danger.", "alarm")  # what to do was said when the alarm began
        turn.prompt_again = True
    elif intent == "not_meant":
        not_meant(turn)
    elif intent == "hold":
        turn.emit(e.Held(reason="asked for"))
        turn.tell("Held. Timers and alarms go on.")
    elif intent == "go_on":
        if state.held:
            turn.emit(e.Released())
        turn.tell("Going on." if state.held else "Nothing is held.")
        turn.prompt_again = True
    elif intent == "skip":
        refuse_skip(turn, heard)
    elif (reply := answer(turn, meaning, heard)) is not None:
        turn.tell(reply)
    elif not _manner(turn, meaning):
        _move(turn, heard, meaning)


def _manner(turn: Turn, meaning: Meaning) -> bool:
    """Notes, deviations, how much is said: recorded, and nothing moves."""
    text = str(meaning.value or "").strip()
    match meaning.intent:
        case "brief" | "explain_more":
            manner = "brief" if meaning.intent == "brief" else "full"
            turn.emit(e.MannerSet(manner=manner))
            turn.tell("Short from now on." if manner == "brief" else "With reasons from now on.")
            turn.prompt_again = turn.prompt_whole = manner == "full"
        case "note":
            if text:
                turn.emit(e.Noted(text=text))
            turn.tell(f"Noted: {text}." if text else "Say 'note', and then the words.")
        case "deviation":
            if text:
                turn.emit(e.Deviation(person=turn.state.technician or "unnamed", reason=text))
            turn.tell(
                "Recorded. It opens nothing." if text else "Say 'deviation', then who allows it and why."
            )
        case _:
            return False
    return True


def _move(turn: Turn, heard: Heard, meaning: Meaning) -> None:
    """What moves the job on or changes it. Nothing here passes a gate."""
    state, intent = turn.state, meaning.intent
    stopping = state.offered is not None and state.offered.slot == "stop_session"
    if state.held and intent != "stop_session" and not (stopping and intent in ("confirm", "no")):
        turn.tell(f"Held: {state.held}. That waits.")
        turn.prompt_again = True
        return
    if heard.way == "key" and state.gate is None and not _key_answers(turn):
        turn.tell("The key answers 'done?' and nothing else.")
        turn.prompt_again = True
        return
    if heard.way == "key" and state.gate is None and not _seen(turn, heard):
        turn.tell("That press came too soon to be an answer: press again when it is done.")
        turn.prompt_again = True
        return
    if state.asking is not None:
        turn.emit(e.AskedBack(question=""))
    if state.offered is not None and intent in (
        "confirm",
        "yes",
        "no",
        "value",
        "done",
        "sentence",
        "other_sentence",
    ):
        _answer_offer(turn, heard, meaning)
    elif intent == "undo":
        scratch(turn)
        turn.prompt_again = True
    elif intent in interrupted.COMMANDS:
        offer(turn, "what_happened", interrupted.COMMANDS[intent], meaning.said, heard)
    elif intent == "power_back":
        interrupted.power_back(turn)
    elif intent == "reconnected":
        reconnect(turn)
    elif intent in ("change", "reading"):
        offer(turn, _slot_meant(turn, str(meaning.slot)), meaning_value(meaning), meaning.said, heard)
    elif intent == "hand_over":
        if name := str(meaning.value or "").strip():
            offer(turn, "hand_over", name, meaning.said, heard)
        else:
            turn.tell("Say 'hand over to', and then the name.")
    elif intent == "stop_session":
        offer(turn, "stop_session", "stop", meaning.said, heard)
    elif intent == "back":
        go_back(turn)
    elif state.inquiry is not None:
        _at_inquiry(turn, heard, meaning, state.inquiry)
    elif state.gate is not None:
        said = str(meaning.value) if intent == "sentence" else None
        answer_gate(turn, heard, said, is_command=intent not in ("sentence", "other_sentence"))
    else:
        at_act(turn, heard, meaning)


def _at_inquiry(turn: Turn, heard: Heard, meaning: Meaning, inquiry: Inquiry) -> None:
    """An answer to what happened at the press."""
    slot = interrupted.expects(inquiry)
    if meaning.intent == "value" and slot is not None and meaning.slot == slot:
        offer(turn, slot, meaning_value(meaning), meaning.said, heard)
    elif meaning.intent == "just_now" and slot == "how_long_ago":
        offer(turn, slot, 0.0, meaning.said, heard)
    elif meaning.intent == "not_known" and slot is not None:
        longest_s = interrupted.at_longest_ago_s(turn.state, turn.now_s)
        offer(turn, slot, "unknown" if slot == "what_happened" else longest_s, meaning.said, heard)
    else:
        turn.tell("First tell me about the press.")
        turn.prompt_again = True


def _key_answers(turn: Turn) -> bool:
    """The key is the short way to say 'done' at a step."""
    here, state = current(turn.rules, turn.state), turn.state
    return here is not None and here[1].kind == "step" and state.offered is None and state.inquiry is None


def _seen(turn: Turn, heard: Heard) -> bool:
    """Whether the step stood on the screen for a moment before the key went down: a foot bounces."""
    put = turn.state.put
    if put is None or put.shown_s is None or put.question != prompt(turn.rules, turn.state, turn.now_s).key:
        return False
    return heard.began_s >= put.shown_s + SEEN_AFTER_S


_SAME_THING = ({"upper_temperature", "upper_reading"}, {"lower_temperature", "lower_reading"},
               {"pressure", "pressure_reading", "gauge_reading"})  # fmt: skip


def _slot_meant(turn: Turn, slot: str) -> str:
    """'The pressure is two bar' answers the question that stands: set, read back or read off."""
    here = current(turn.rules, turn.state)
    act = here[1] if here else None
    if slot == "pressure_reading" and turn.state.vented_s is not None:
        return "gauge_reading"
    if act is None or act.slot is None or act.kind not in ("set", "reading"):
        return slot
    if slot != act.slot and not any({slot, act.slot} <= same for same in _SAME_THING):
        return slot
    return f"shown_{act.slot}" if act.kind == "set" else act.slot


def _answer_offer(turn: Turn, heard: Heard, meaning: Meaning) -> None:
    offered = turn.state.offered
    assert offered is not None
    if meaning.intent == "confirm":
        if heard_well(turn, heard):
            confirm(turn)
    elif meaning.intent == "value":
        offer(turn, offered.slot, meaning_value(meaning), meaning.said, heard)
    elif meaning.intent == "no":
        taken_back(turn)
        turn.prompt_again = True
    else:
        turn.tell("A plain yes is not enough here.")
        turn.prompt_again = True
