"""What is said at the act that stands: its value, 'done', 'that is correct', its outcome. A gate is no such act."""

from __future__ import annotations

from assistant.procedure import events as e
from assistant.procedure.inspection import allowed_outcomes
from assistant.procedure.model import Act
from assistant.procedure.prompt import prompt
from assistant.procedure.rules import current
from assistant.procedure.run import enter_mark, tell_at_set
from assistant.procedure.turn import Turn
from assistant.procedure.untimed import is_untimed
from assistant.procedure.values import agree, meaning_value, offer
from assistant.procedure.want import want_of
from assistant.procedure.works_own import NEEDED_STEPS
from intents.meaning import Heard, Meaning

STEPS_BY_WORD = {"done", "heat_on", "cool_on"}
OUTCOMES = {"accept": "accepted", "accept_note": "accepted with a note", "redo": "cut out and redo"}


def heard_well(turn: Turn, heard: Heard) -> bool:
    """What makes a value count must have been heard clearly, or typed, and begun after its question was put."""
    if not _after_the_question(turn, heard):
        turn.tell("That came before the question had been put.")
    elif heard.way == "voice" and not heard.verified:
        turn.tell(f"I did not hear that well enough ({heard.why_not or 'not clear'}).")
    else:
        return True
    turn.prompt_again = True
    return False


def _after_the_question(turn: Turn, heard: Heard) -> bool:
    """Spoken words count from when the question had been said, typed ones from when it was shown."""
    put = turn.state.put
    if put is None or put.question != prompt(turn.rules, turn.state, turn.now_s).key:
        return False
    put_s = put.said_s if heard.way == "voice" else put.shown_s
    return put_s is not None and heard.began_s > put_s


def _plainly_done(turn: Turn, act: Act, heard: Heard) -> bool:
    """What can hurt, or is relied on from then on, is done only by words heard well, after they were asked for."""
    return not _counts(act) or heard_well(turn, heard)


def _counts(act: Act) -> bool:
    return bool(act.hazards or act.marks) or act.id in NEEDED_STEPS


def _said_well(turn: Turn, heard: Heard) -> bool:
    """What moves the run or passes an act by: typed at any time, spoken only clearly and after the question."""
    return heard.way != "voice" or heard_well(turn, heard)


def at_act(turn: Turn, heard: Heard, meaning: Meaning) -> None:
    """An answer to the act that stands, or why it is none."""
    here = current(turn.rules, turn.state)
    if here is None:
        return
    act, intent = here[1], meaning.intent
    want = want_of(turn.rules, turn.state, act)
    if act.kind == "decide":
        _at_decide(turn, heard, meaning)
    elif intent == "keep_not" and act.kind == "keep":
        if _said_well(turn, heard):
            _at_keep(turn, act, heard)
    elif intent == "fine" and act.kind == "look":
        offer(turn, act.slot or "", "nothing", heard.text, heard)
    elif intent == "value" and want is not None:
        offer(turn, want.slot, meaning_value(meaning), meaning.said, heard)
    elif intent == "value" and act.kind == "agree":
        offer(turn, act.slot or "", meaning_value(meaning), meaning.said, heard)
    elif intent == "confirm" and act.kind == "agree":
        if heard_well(turn, heard):
            agree(turn, act, heard)
    elif act.kind == "tell" and want is None:
        _at_tell(turn, act, heard, intent)
    elif intent == "at_set" or (act.kind == "timer" and act.timer == "ramp" and intent == "done"):
        if _said_well(turn, heard):
            tell_at_set(turn, act, heard)
    elif intent == "cannot" and act.kind == "reading" and act.slot == "edge_reading":
        if _said_well(turn, heard):
            turn.tell("Then the two platens and what is computed must do.")
            turn.emit(e.ActDone(act=act.id, by=heard.way))
    elif act.timer is not None and intent == "done" and is_untimed(turn.state, act.timer):
        if heard_well(turn, heard):
            turn.emit(e.TimerEnded(name=act.timer))
            turn.emit(e.ActDone(act=act.id, by=heard.way))
    elif act.kind == "timer" and act.timer == "cool" and intent == "done":
        if _said_well(turn, heard):
            turn.emit(e.TimerEnded(name="cool"))
            turn.emit(e.ActDone(act=act.id, by=heard.way))
    elif act.kind == "step" and intent in STEPS_BY_WORD:
        if intent in ("heat_on", "cool_on") and act.marks != intent:
            turn.tell("That is not this step.")
        elif _plainly_done(turn, act, heard):
            enter_mark(turn, act)
            turn.emit(e.ActDone(act=act.id, by=heard.way))
    elif act.kind == "step" and intent == "yes":
        _at_yes(turn, act, heard)
    elif act.kind == "timer":
        turn.tell("The time is not over yet." if act.timer == "dwell" else "Tell me when it is so.")
    else:
        turn.tell("That does not answer this.")
        turn.prompt_again = True


def _at_yes(turn: Turn, act: Act, heard: Heard) -> None:
    """'Done?' may be answered with 'yes' where nothing can hurt and no gate relies on it."""
    if _counts(act):
        turn.tell("A plain yes is not enough here: say 'i have done that'.")
        turn.prompt_again = True
    else:
        turn.emit(e.ActDone(act=act.id, by=heard.way))


def _at_tell(turn: Turn, act: Act, heard: Heard, intent: str) -> None:
    refused = turn.state.computed.get(act.topic or "", {}).get("refused")
    if refused:
        turn.tell("It cannot go on like this.")
        turn.prompt_again = True
    elif intent == "no":
        turn.tell("Say which value is wrong: 'change the belt width to ...'.")
    elif intent == "confirm" or (intent == "done" and act.topic not in ("job", "recipe")):
        if heard_well(turn, heard):
            turn.emit(e.ActDone(act=act.id, by=heard.way))
    else:
        turn.tell("A plain yes is not enough here.")
        turn.prompt_again = True


def _at_keep(turn: Turn, act: Act, heard: Heard) -> None:
    turn.emit(e.Kept(name=None))
    turn.emit(e.ActDone(act=act.id, by=heard.way))
    turn.tell("Not kept.")


def _at_decide(turn: Turn, heard: Heard, meaning: Meaning) -> None:
    outcome = OUTCOMES.get(meaning.intent)
    if outcome is None:
        turn.prompt_again = True
        return
    findings = (*turn.state.findings, *turn.state.put_right)
    allowed = allowed_outcomes(findings)
    if outcome not in allowed:
        failed = [f.sentence for f in findings if f.severity != "pass"]
        reason = (
            f"It can't be '{outcome}': {' '.join(failed)}" if failed else f"It can't be '{outcome}' here."
        )
        turn.emit(e.ValueRefused(slot="outcome", value=outcome, said=heard.text, reason=reason))
        turn.tell(f"{reason} Possible: {', '.join(sorted(allowed))}.")
        return
    if meaning.intent == "accept_note":
        note = str(meaning.value or "").strip()
        if not note:
            turn.tell("Say 'accept with a note', and then the note.")
            return
        turn.emit(e.Noted(text=note))
    offer(turn, "outcome", outcome, heard.text, heard)
