"""A gate asked again in its other approved wordings: when, which of them close it, and when it begins anew."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace
from pathlib import Path

import at_the_press as press
import pytest
from at_the_press import SlowMouth, Talk
from near_sentences import ALIKE, NEARLY, NEARLY_OTHER

from assistant.procedure import events as e
from assistant.procedure.events import parse_event
from assistant.procedure.evolve import evolve
from assistant.procedure.gate_table import RULES
from assistant.procedure.gate_wording import asked_now, asked_so_far, next_wording, wordings
from assistant.procedure.gates import answer_gate
from assistant.procedure.prompt import prompt
from assistant.procedure.sayable import can_say, sayable
from assistant.procedure.state import State
from assistant.procedure.turn import Turn
from assistant.record.read import read_log
from assistant.review.deviations import departures
from intents.match import understand
from intents.meaning import Heard, Meaning

FIRST = "the press is locked together and my hands are out of the way"
SECOND = "the press is closed and my hands are clear"
THIRD = "every fastener is closed and my hands are clear"
SLIP = "the press is blocked together and my hands are out of the way"
GATE = "gate_closed"


def at_gate(path: Path, act: str = GATE, mouth: SlowMouth | None = None) -> Talk:
    return press.at_gate(path, act, mouth=mouth)


def now(talk: Talk) -> str:
    act = talk.session.rules.act(talk.act)
    assert act is not None
    return asked_now(talk.session.rules, talk.state, act)


def test_other_words_heard_well_bring_the_next_wording_and_round_again(tmp_path: Path) -> None:
    talk = at_gate(tmp_path)
    said = talk.speak(SLIP)
    assert said == f"That is not the sentence. Say it in other words: '{SECOND}'."
    assert now(talk) == SECOND
    assert talk.speak("every fastening is closed and my hands are clear").endswith(f"'{THIRD}'.")
    assert talk.speak("banana").endswith(f"Say it in other words: '{FIRST}'.")
    assert [event["ask_next"] for event in talk.events("gate_refused")] == [SECOND, THIRD, FIRST]
    talk.speak(FIRST)
    assert talk.act == "gate_leads_sound"


def test_everything_shows_the_wording_that_is_asked_now(tmp_path: Path) -> None:
    talk = at_gate(tmp_path)
    talk.speak(SLIP)
    view = talk.session.view()
    assert view.gate is not None
    assert view.gate.sentence == SECOND
    assert SECOND in view.act_say
    assert SECOND in view.can_say
    assert FIRST not in view.can_say
    assert SECOND in talk.type("say again")
    assert f"'{SECOND}'" in talk.type("what can i say")
    told = departures(read_log(talk.session.writer.path))
    assert any(f"Asked in other words: '{SECOND}'" in departure.sentence for departure in told)


@pytest.mark.parametrize("sentence", [FIRST, SECOND])
def test_what_was_asked_before_closes_as_well_and_the_record_holds_what_was_said(
    sentence: str, tmp_path: Path
) -> None:
    talk = at_gate(tmp_path)
    talk.speak(SLIP)
    talk.speak(sentence)
    assert talk.act == "gate_leads_sound"
    assert talk.events("gate_closed")[-1]["sentence"] == sentence


@pytest.mark.parametrize("aloud", [True, False])
@pytest.mark.parametrize("sentence", [SECOND, THIRD])
def test_a_wording_that_was_not_asked_closes_nothing(sentence: str, aloud: bool, tmp_path: Path) -> None:
    talk = at_gate(tmp_path)
    said = talk.speak(sentence) if aloud else talk.type(sentence)
    assert "That is not the sentence." in said
    assert talk.act == GATE
    assert now(talk) == (SECOND if aloud else FIRST)
    if sentence == THIRD and aloud:
        talk.speak(THIRD)  # the second is asked now, the third not yet
        assert talk.act == GATE
        assert now(talk) == THIRD


def test_noise_typing_commands_skips_and_the_key_leave_the_wording(tmp_path: Path) -> None:
    talk = at_gate(tmp_path)
    refusals = len(talk.events("gate_refused"))
    talk.speak(FIRST, gate_grade=False)
    talk.speak(SLIP, gate_grade=False)
    talk.speak(SLIP, verified=False, gate_grade=False)
    talk.type(SLIP, "banana", "we will lift this part together")
    for command in ("done", "yes", "that is correct", "skip", "why", "what can i say"):
        talk.speak(command)
    talk.key()
    assert len(talk.events("gate_refused")) > refusals + 5
    assert {event["ask_next"] for event in talk.events("gate_refused")} == {""}
    assert now(talk) == FIRST
    assert "Safety question" in talk.type(SLIP)  # in the same words, as before


def test_in_noise_the_wording_changes_only_where_the_same_words_were_missed_once_more(tmp_path: Path) -> None:
    talk = at_gate(tmp_path)

    def say(text: str, snr_db: float | None) -> None:
        talk.clock.advance(5)
        now_s = talk.clock.t_s
        talk.session.hear(Heard(text, "voice", now_s - 1, now_s, sureness=-0.2, engine="test", snr_db=snr_db))

    say(SLIP, 20.0)
    assert now(talk) == FIRST
    say(SLIP, 20.0)
    assert now(talk) == SECOND
    say("every fastening is closed and my hands are clear", 60.0)
    assert now(talk) == THIRD
    say("banana", None)
    assert now(talk) == FIRST


def test_another_gates_sentence_and_a_sentence_turned_round_bring_the_next_wording(tmp_path: Path) -> None:
    talk = at_gate(tmp_path)
    talk.speak("we will lift this part together")
    assert now(talk) == SECOND
    talk.clock.advance(5)
    turned = SECOND.replace("is closed", "is not closed")
    now_s = talk.clock.t_s
    talk.session.hear(Heard(SECOND, "voice", now_s - 0.5, now_s, True, True, -0.25, (turned,), (-0.3,)))
    assert talk.act == GATE
    assert (
        talk.events("gate_refused")[-1]["reason"] == f"It may have been '{turned}'. Say it again, or type it."
    )
    assert now(talk) == THIRD


def test_an_answer_before_the_question_was_said_to_its_end_leaves_the_wording(tmp_path: Path) -> None:
    mouth = SlowMouth()
    talk = at_gate(tmp_path, mouth=mouth)
    mouth.waiting.clear()  # cut short: the question is not said
    talk.type("banana")
    talk.speak(SLIP)
    assert now(talk) == FIRST
    mouth.end()
    talk.speak(SLIP)
    assert now(talk) == SECOND
    talk.speak(SECOND)  # the second wording has not been said to its end
    assert talk.act == GATE
    talk.speak(FIRST)  # and what was asked before must come after it as well
    assert talk.act == GATE
    assert now(talk) == SECOND
    mouth.end()
    talk.speak(SECOND)
    assert talk.act == "gate_leads_sound"


def test_while_something_must_stand_first_or_a_value_is_read_back_the_wording_stays(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "gate_dead_and_empty")
    talk.type("the gauge is 0.6 bar")
    talk.speak("banana")
    assert talk.state.offered is not None
    assert talk.events("gate_refused")[-1]["ask_next"] == ""
    talk.type("that is correct")
    talk.speak("banana")
    assert talk.events("gate_refused")[-1]["ask_next"] == ""
    assert "gauge was at" in talk.speak("the plug is in my hand and the pressure is zero")
    assert talk.events("gate_refused")[-1]["ask_next"] == ""


def test_what_had_to_stand_first_and_stands_again_begins_with_the_first_wording(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "gate_dead_and_empty")
    first = now(talk)
    talk.speak("banana")
    other = now(talk)
    assert other != first
    moved = e.ReadingTaken(
        slot="gauge_reading", value=6e4, since_heat_s=None, plausible=True, sentence="0.6 bar"
    )
    turn = Turn(talk.session.rules, evolve(talk.state, moved, talk.clock.t_s), talk.clock.t_s + 2)
    answer_gate(turn, Heard(other, "voice", talk.clock.t_s + 1, talk.clock.t_s + 2), other)
    assert turn.events[-1].ask_next == ""  # type: ignore[union-attr]
    talk.type("the gauge is 0.6 bar", "that is correct", "the gauge is zero bar", "that is correct")
    assert now(talk) == first
    talk.type(other)
    assert talk.act == "gate_dead_and_empty"


def test_taking_up_again_handing_over_and_going_back_begin_with_the_first_wording(tmp_path: Path) -> None:
    talk = at_gate(tmp_path)
    talk.speak(SLIP)
    talk.type("hand over to martin", "that is correct")
    press.close_open_gates(talk, GATE)
    assert now(talk) == FIRST
    talk.speak(SECOND)  # asked of the one before, not of this one
    assert talk.act == GATE
    talk.session.writer.close()
    again = press.reopened(talk.session.writer.path)
    press.close_open_gates(again, GATE)
    assert now(again) == FIRST
    again.speak(THIRD)
    assert now(again) == SECOND
    again.type("go back")
    assert again.act != GATE
    press.close_open_gates(again, "fasten")
    again.type("done")
    press.close_open_gates(again, GATE)
    assert now(again) == FIRST


def test_the_log_alone_tells_which_wording_is_asked(tmp_path: Path) -> None:
    talk = at_gate(tmp_path)
    talk.speak(SLIP)
    state = State()
    for line in read_log(talk.session.writer.path):
        state = evolve(state, parse_event(dict(line.event)), line.stamp.t_s)
    assert state == talk.state
    assert state.gate is not None
    assert state.gate.wordings == (FIRST, SECOND)


def test_a_refusal_in_an_older_log_leaves_the_wording() -> None:
    older = {
        "kind": "gate_refused",
        "gate": "closed",
        "heard": "banana",
        "reason": "That is not the sentence.",
    }
    asked = e.GateAsked(gate="closed", act=GATE, hazard="The press closes", sentence=FIRST)
    state = evolve(evolve(State(), asked, 1.0), parse_event(older), 2.0)
    assert state.gate is not None
    assert state.gate.wordings == (FIRST,)


@pytest.mark.parametrize("forged", ["yes", "banana", "both hands are safely behind the blade"])
def test_words_that_are_not_approved_for_the_gate_close_nothing_whatever_the_state_says(
    forged: str, tmp_path: Path
) -> None:
    talk = at_gate(tmp_path)
    rules, act = talk.session.rules, talk.session.rules.act(GATE)
    assert act is not None
    state = evolve(
        talk.state, e.GateRefused(gate="closed", heard="", reason="", ask_next=forged), talk.clock.t_s
    )
    state = evolve(state, e.QuestionPut(question=f"gate:{GATE}"), talk.clock.t_s)
    assert asked_so_far(rules, state, act) == (FIRST,)
    assert forged not in prompt(rules, state, talk.clock.t_s).text
    assert forged not in can_say(rules, state)
    began_s = talk.clock.t_s + 1
    turn = Turn(rules, state, began_s + 1)
    answer_gate(turn, Heard(forged, "voice", began_s, began_s + 1), forged)
    assert not any(isinstance(event, e.GateClosed) for event in turn.events)


def test_the_practice_technician_says_the_wording_that_is_asked_now(tmp_path: Path) -> None:
    talk = at_gate(tmp_path)
    hand = press.technician("demo")
    talk.speak(SLIP)
    hand.follow(talk.state)
    wish = hand.next(talk.state, talk.clock.t_s)
    assert wish is not None
    assert wish == replace(wish, words=SECOND)  # type: ignore[call-arg]


def test_the_wordings_go_round_from_the_one_that_the_procedure_has_chosen() -> None:
    for rule in RULES:
        packaged = press.bench().rules.procedure.gate(rule.id)
        for n, chosen in enumerate(rule.sentences):
            gate = packaged.model_copy(update={"sentence": chosen})
            assert wordings(gate) == rule.sentences[n:] + rule.sentences[:n]
            assert next_wording(gate, chosen) == rule.sentences[(n + 1) % len(rule.sentences)]


def asked_in_every_wording() -> dict[str, State]:
    """By gate, a recorded job that asks them all, at the moment when it has been put, as if in all its wordings."""
    found: dict[str, State] = {}
    state = State()
    for raw, kind, _ in press.recorded("guided"):
        line = json.loads(raw)
        state = evolve(state, parse_event(line["event"]), float(line["t"]))
        asked = state.gate
        if kind == "question_put" and asked is not None and not asked.not_yet and asked.said_s is not None:
            every = BY_GATE[asked.gate]
            found.setdefault(asked.gate, replace(state, gate=replace(asked, wordings=every)))
    return found


BY_GATE = {rule.id: rule.sentences for rule in RULES}


def test_no_near_miss_as_clear_text_closes_any_gate_in_any_wording() -> None:
    states, bench = asked_in_every_wording(), press.bench()
    assert set(states) == set(BY_GATE)
    every = tuple(sentence for sentences in BY_GATE.values() for sentence in sentences)
    for gate, state in states.items():
        now_s = state.t_s + 5
        can = sayable(bench.rules, state, now_s)
        assert {can.sentence, *can.sentences_before} == set(BY_GATE[gate])
        assert set(can.sentences_elsewhere) == set(every) - set(BY_GATE[gate])
        for sentence in BY_GATE[gate]:
            meant = understand(Heard(sentence, "voice", now_s - 1, now_s), can, bench.book)
            assert meant == Meaning("sentence", value=sentence, said=sentence)
    open_all = replace(can, sentence=every[0], sentences_before=every[1:], sentences_elsewhere=())
    for text, way in itertools.product((*NEARLY, *NEARLY_OTHER, *ALIKE), ("voice", "typed")):
        meant = understand(Heard(text, way, now_s - 1, now_s), open_all, bench.book)  # type: ignore[arg-type]
        assert not (isinstance(meant, Meaning) and meant.intent == "sentence"), text
