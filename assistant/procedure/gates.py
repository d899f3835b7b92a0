"""The safety gates: the one place where a gate is closed, and everything that opens it again."""

from __future__ import annotations

from collections.abc import Callable

from assistant.procedure import events as e
from assistant.procedure.cold import GAUGE_ZERO_Pa, cold_facts, cold_reasons, dead_facts, needs_open
from assistant.procedure.gate_wording import asked_now, asked_so_far, next_wording
from assistant.procedure.model import STAGE_ORDER, Act, Gate, Rearm, Stage_id
from assistant.procedure.rules import applies, current, stage_index, traits_of
from assistant.procedure.turn import Turn
from intents.hypotheses import has_not_run_in, turned_round
from intents.meaning import Heard
from intents.quoted import quoted

SKIPS_BEFORE_SUPERVISOR = 3
READ_AFTER_S = 0.7  # sooner than that nobody has read a safety question: it was typed ahead, or pasted
QUIET_dB = 30.0  # speech over noise; with less, what was heard wrongly once may be the noise's doing


def answer_gate(turn: Turn, heard: Heard, said: str | None, *, is_command: bool = False) -> None:
    """An answer while a gate is asked. Closes it only for its own sentence, heard well, begun after the question.

    said: the gate's wording that the answer is, word for word; None: it is none. is_command: something else was
    understood, so that it was no try at the sentence.
    """
    question = turn.state.gate
    here = current(turn.rules, turn.state)
    if question is None or here is None or here[1].id != question.act:
        return
    gate = turn.rules.gate(here[1])
    put_s = question.said_s if heard.way == "voice" else question.shown_s
    is_sentence = said in asked_so_far(turn.rules, turn.state, here[1])
    if reason := _why_not(turn, gate, heard, is_sentence, put_s):
        ask_next = "" if is_command else _ask_next(turn, here[1], heard, put_s)
        turn.emit(e.GateRefused(gate=gate.id, heard=heard.text, reason=reason, ask_next=ask_next))
        turn.tell(reason)
        turn.prompt_again = True
        return
    facts = _facts(turn, gate)
    turn.emit(
        e.GateClosed(
            gate=gate.id, act=question.act, sentence=str(said), way="voice" if heard.way == "voice" else "typed",
            heard=heard.text, sureness=heard.sureness, engine=heard.engine, person=turn.state.technician, facts=facts,
        )
    )  # fmt: skip
    turn.tell("Noted.")


def _why_not(turn: Turn, gate: Gate, heard: Heard, is_sentence: bool, put_s: float | None) -> str:
    if heard.way == "key":
        return "The key does not answer a safety question."
    if not is_sentence:
        return "That is not the sentence."
    if reasons := needs_open(turn.rules, turn.state, gate, turn.now_s):
        return " ".join(reasons)
    if put_s is None or heard.began_s <= put_s:
        return "That came before the question had been put."
    if heard.way == "typed" and heard.began_s < put_s + READ_AFTER_S:
        return "That came before anybody can have read the question. Read it, then type the sentence."
    if heard.way == "voice" and not (heard.verified and heard.gate_grade):
        return f"I did not hear that well enough for a safety question ({heard.why_not or 'not clear'}). Say it again, or type it."
    if heard.way == "voice" and has_not_run_in(heard):
        return "The 'not' ran into the word before it. Say 'not' as a word of its own, or type the sentence."
    if heard.way == "voice" and (other := turned_round(heard)):
        return f"It may have been '{quoted(other, turn.rules.callsign)}'. Say it again, or type it."
    return ""


def _ask_next(turn: Turn, act: Act, heard: Heard, put_s: float | None) -> str:
    """The gate's next wording where the ear got other words clearly; '' to ask in the same words again.

    Against noise the same words do better, so there the wording changes only where the same words were missed once
    more; typing has no slips of the ear. What came before the question, while something must stand first, or while a
    value is read back, tells nothing of the wording.
    """
    gate = turn.rules.gate(act)
    clear = heard.way == "voice" and heard.verified and heard.gate_grade
    after = put_s is not None and heard.began_s > put_s
    if not clear or not after or turn.state.offered is not None:
        return ""
    if needs_open(turn.rules, turn.state, gate, turn.now_s):
        return ""
    if heard.snr_db is not None and heard.snr_db < QUIET_dB and turn.state.misses < 2:
        return ""
    return next_wording(gate, asked_now(turn.rules, turn.state, act))


def needs_changed(turn: Turn) -> bool:
    """Whether what must stand before the gate that is asked stands now and did not, or the other way round."""
    question, here = turn.state.gate, current(turn.rules, turn.state)
    if question is None or here is None or here[1].id != question.act or turn.state.held:
        return False
    return question.not_yet != bool(needs_open(turn.rules, turn.state, turn.rules.gate(here[1]), turn.now_s))


def _facts(turn: Turn, gate: Gate) -> tuple[str, ...]:
    facts: tuple[str, ...] = ()
    if "cold_inside" in gate.needs:
        facts += cold_facts(turn.rules, turn.state, turn.now_s)
    if "dead_and_empty" in gate.needs:
        facts += dead_facts(turn.state)
    return facts


def refuse_skip(turn: Turn, heard: Heard) -> None:
    """'Skip', 'just do it': refused, counted, and after the third time the supervisor is offered."""
    here = current(turn.rules, turn.state)
    where = here[1].id if here else ""
    count = turn.state.skips + 1
    turn.emit(e.SkipRefused(words=heard.text, count=count, at=where))
    text = "I do not leave anything out, and it is in the record that this was asked for."
    if count >= SKIPS_BEFORE_SUPERVISOR:
        text += " Shall we stop and call the supervisor? Say 'stop the session', or go on with this step."
    turn.tell(text)
    turn.prompt_again = True


def rearm(turn: Turn, reason: Rearm, because: str) -> list[Gate]:
    """Opens again every closed gate that `reason` re-arms and whose hazard is still there.

    Whoever takes over, and whatever was switched off, also opens a gate whose act has not been done yet.
    """
    if current(turn.rules, turn.state) is None:
        return []
    known = traits_of(turn.rules, turn.state)
    pairs = [(s, a) for s, a in turn.rules.acts() if applies(a, known)]
    # How far the job has come: a gate that was opened again stands before that, and tells nothing of it.
    to_do = next((s for s, a in pairs if a.gate is None and a.id not in turn.state.done), pairs[-1][0])
    opened: list[Gate] = []
    for place, (_stage, act) in enumerate(pairs):
        if act.gate is None or act.id not in turn.state.done:
            continue
        gate = turn.rules.gate(act)
        ahead = next((a for _, a in pairs[place + 1 :] if a.gate is None), None)
        unused = ahead is not None and ahead.id not in turn.state.done
        still_there = stage_index(to_do) <= _until(gate.until)
        if gate.until_hazard is not None and any(
            gate.until_hazard in a.hazards and a.id in turn.state.done for _, a in pairs
        ):
            still_there = False  # asking about a hazard that is gone would train answers by rote
        if (reason in gate.rearm and still_there) or (unused and reason in ("person", "resume")):
            turn.emit(e.GateRearmed(gate=gate.id, act=act.id, reason=because))
            opened.append(gate)
    return opened


def _until(stage_id: Stage_id) -> int:
    return STAGE_ORDER.index(stage_id)


def rearm_act(turn: Turn, pick: Callable[[Act], bool], because: str) -> None:
    """Opens the closed gates among the acts that `pick` names."""
    for _, act in turn.rules.acts():
        if act.gate is not None and act.id in turn.state.done and pick(act):
            turn.emit(e.GateRearmed(gate=act.gate, act=act.id, reason=because))


def watch_readings(turn: Turn) -> None:
    """A hotter reading or a gauge that moves opens the gate that rested on it, until its act is done."""
    state = turn.state
    if state.cool_on_s is not None and state.vented_s is None and cold_reasons(turn.rules, state, turn.now_s):
        rearm_act(
            turn, lambda act: "cold_inside" in turn.rules.gate(act).needs, "a reading is not cold any more"
        )
    gauge = state.last_reading("gauge_reading", since_s=state.vented_s)
    stage_now = current(turn.rules, state)
    unfastened = stage_now is not None and stage_index(stage_now[0]) > _until("unfasten")
    if state.vented_s is not None and gauge is not None and gauge.value > GAUGE_ZERO_Pa and not unfastened:
        rearm_act(
            turn, lambda act: "dead_and_empty" in turn.rules.gate(act).needs, "the gauge shows pressure again"
        )
