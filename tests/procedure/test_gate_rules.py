"""The rules of the gates one by one, each at the place that keeps it: what the long walks would find, found at once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import at_the_press as press
import pytest
from at_the_press import SlowMouth, Talk, at_gate

from assistant.procedure import events as e
from assistant.procedure import interrupted
from assistant.procedure.cold import cold_reasons, dead_reasons
from assistant.procedure.evolve import evolve
from assistant.procedure.gates import answer_gate
from assistant.procedure.readings import take_reading
from assistant.procedure.refused import RUNNING, refused
from assistant.procedure.settle import settle
from assistant.procedure.state import GateQuestion, Put, Reading, State
from assistant.procedure.turn import Turn
from assistant.procedure.values import confirm
from assistant.recipe import during
from intents.meaning import Heard


def sentence(talk: Talk) -> str:
    act = talk.session.rules.act(talk.act)
    assert act is not None
    return talk.session.rules.gate(act).sentence


def closes(talk: Talk, heard: Heard, state: State | None = None, *, is_sentence: bool = True) -> bool:
    """Whether the answer closes the gate that is asked, by the rule alone."""
    turn = Turn(talk.session.rules, state or talk.state, talk.clock.t_s)
    answer_gate(turn, heard, sentence(talk) if is_sentence else None)
    return any(isinstance(event, e.GateClosed) for event in turn.events)


def answer(talk: Talk, way: str = "voice", **given: Any) -> Heard:
    began_s = given.pop("began_s", talk.clock.t_s)
    return Heard(sentence(talk), way, began_s, began_s + 1, **given)  # type: ignore[arg-type]


def test_the_answer_must_be_clear_and_begin_after_the_question(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "gate_closed")
    talk.clock.advance(5)
    put_s = talk.state.gate.said_s
    assert closes(talk, answer(talk))
    assert not closes(talk, answer(talk, began_s=put_s))
    assert not closes(talk, answer(talk, began_s=put_s - 1))
    assert not closes(talk, answer(talk, verified=False, gate_grade=True))
    assert not closes(talk, answer(talk, verified=True, gate_grade=False))
    assert not closes(talk, answer(talk, "key"))
    assert not closes(talk, answer(talk), is_sentence=False)


def test_a_not_that_ran_into_the_word_before_it_closes_nothing_by_voice(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "gate_conveyor_dead", "guided")
    talk.clock.advance(5)
    assert "will not" in sentence(talk)
    for short in ("won't", "won’t", "wont"):
        heard = replace(answer(talk), text=sentence(talk).replace("will not", short))
        assert not closes(talk, heard), short
        assert closes(talk, replace(heard, way="typed")), short
    assert closes(talk, answer(talk))


def test_an_answer_to_a_gate_that_is_not_asked_closes_nothing(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "gate_closed")
    talk.clock.advance(5)
    elsewhere = replace(talk.state, done=talk.state.done - {"fasten"})
    assert not closes(talk, answer(talk), elsewhere)


def test_the_sentence_in_another_order_or_with_another_first_word_closes_nothing(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "gate_closed")
    words = sentence(talk).split()
    for said in (words[::-1], words[1:], [words[1], words[0], *words[2:]], ["under", *words[1:]]):
        talk.type(" ".join(said))
        assert talk.act == "gate_closed", said
    talk.type(sentence(talk))
    assert talk.act == "gate_leads_sound"


def test_after_a_refusal_the_question_is_put_again_before_it_can_be_answered(tmp_path: Path) -> None:
    mouth = SlowMouth()
    talk = at_gate(tmp_path, "gate_closed", mouth=mouth)
    mouth.end()
    talk.clock.advance(1)
    talk.speak("yes")
    talk.speak(sentence(talk))
    assert talk.act == "gate_closed"
    mouth.end()
    talk.clock.advance(1)
    talk.speak(sentence(talk))
    assert talk.act == "gate_leads_sound"


def cold(path: Path) -> Talk:
    """At the gate 'cold inside', everything standing."""
    talk = press.at("demo", "upper_cold", path)

    def stands() -> bool:
        reasons = cold_reasons(talk.session.rules, talk.state, talk.clock.t_s)
        return talk.act == "gate_cold_inside" and not reasons

    press.walk(talk.session, talk.clock, press.technician("demo"), stands)
    assert stands()
    return talk


def without(readings: tuple[Reading, ...], slot: str, since_s: float = 0.0) -> tuple[Reading, ...]:
    return tuple(r for r in readings if r.slot != slot or r.t_s < since_s)


@pytest.mark.slow
def test_each_reading_must_stand_since_the_cooling_began_be_possible_and_cold(tmp_path: Path) -> None:
    talk = cold(tmp_path)
    rules, state, now_s = talk.session.rules, talk.state, talk.clock.t_s
    release_K = float(state.values["release_temperature"])
    assert cold_reasons(rules, replace(state, cool_on_s=None), now_s) == (
        "Cooling has not begun: pressure stays on.",
    )
    for slot in ("upper_reading", "lower_reading"):
        name = slot.replace("_reading", " platen")
        rest = without(state.readings, slot, since_s=state.cool_on_s)
        early = Reading(slot, release_K - 5, state.cool_on_s - 1, True, "")
        impossible = Reading(slot, release_K - 5, now_s, False, "That cannot be.")
        hot = Reading(slot, release_K + 2, now_s, True, "")
        assert f"Read the {name} to me." in cold_reasons(rules, replace(state, readings=rest), now_s)
        assert f"Read the {name} to me." in cold_reasons(
            rules, replace(state, readings=(*rest, early)), now_s
        )
        told = cold_reasons(rules, replace(state, readings=(*rest, impossible)), now_s)
        assert "with a second thermometer" in told[0]
        told = cold_reasons(rules, replace(state, readings=(*rest, hot)), now_s)
        assert "Wait, then read it again." in told[0]
        assert not closes(talk, answer(talk), replace(state, readings=rest))


@pytest.mark.slow
def test_the_upper_end_of_what_the_inside_may_be_must_be_cold(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    talk = cold(tmp_path)
    release_K = float(talk.state.values["release_temperature"])
    monkeypatch.setattr(during, "inside_now", lambda *_: during.Inside(release_K - 20, release_K + 0.5))
    assert "inside the belt may still be" in cold_reasons(talk.session.rules, talk.state, talk.clock.t_s)[0]
    talk.clock.advance(5)
    assert not closes(talk, answer(talk))


def test_dead_and_empty_needs_the_vent_heard_and_the_gauge_at_zero_since_then(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "gate_dead_and_empty")
    if dead_reasons(talk.state):
        talk.type("the gauge is zero bar", "that is correct")
    state = talk.state
    assert dead_reasons(state) == ()
    talk.clock.advance(5)
    assert closes(talk, answer(talk))
    unheard = replace(
        state, values=MappingProxyType({k: v for k, v in state.values.items() if k != "vent_heard"})
    )
    before = tuple(
        replace(r, t_s=state.vented_s - 1) if r.slot == "gauge_reading" else r for r in state.readings
    )
    high = Reading("gauge_reading", 0.5e5, talk.clock.t_s, True, "")
    for wrong in (
        replace(state, vented_s=None),
        unheard,
        replace(state, readings=before),
        replace(state, readings=(*state.readings, high)),
    ):
        assert dead_reasons(wrong)
        assert not closes(talk, answer(talk), wrong)


def test_pressure_in_the_gauge_opens_dead_and_empty_again_until_it_is_unfastened(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "gate_hot_unfasten")
    if "gate_dead_and_empty" in talk.state.done:
        talk.type("the gauge is one bar", "that is correct")
    assert "gate_dead_and_empty" not in talk.state.done
    assert talk.act == "gate_dead_and_empty"


def test_what_was_heard_before_the_pressure_went_does_not_count_after() -> None:
    state = State(values=MappingProxyType({"vent_heard": "yes"}))
    assert "vent_heard" not in evolve(state, e.RunMarked(mark="vented"), 10.0).values


def test_while_held_no_gate_is_asked_and_nothing_known_is_passed(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "gate_closed")
    held = replace(talk.state, held="asked for", gate=None, act="")
    turn = Turn(talk.session.rules, held, talk.clock.t_s)
    settle(turn)
    assert turn.events == []


def test_a_gate_whose_act_is_still_ahead_is_asked_anew_whoever_comes(tmp_path: Path) -> None:
    talk = press.at("demo", "cut_first", tmp_path)
    gate = talk.session.rules.act(talk.act)
    assert gate is not None
    assert gate.gate == "blade"
    talk.type(sentence(talk))
    assert talk.act == "cut_first"
    talk.type("hand over to anna", "that is correct")
    assert gate.id not in talk.state.done


def test_heated_again_the_question_of_the_cold_is_open_again(tmp_path: Path) -> None:
    talk = press.at("demo", "cycle_time", tmp_path)
    done = talk.state.done | {"gate_cold_inside"}
    turn = Turn(talk.session.rules, replace(talk.state, done=done), talk.clock.t_s)
    interrupted._to_ramp(turn)
    assert "gate_cold_inside" not in turn.state.done


def test_a_platen_read_before_the_heat_is_kept_as_no_reading_of_the_cycle(tmp_path: Path) -> None:
    talk = press.at("demo", "set_upper", tmp_path)
    turn = Turn(talk.session.rules, talk.state, talk.clock.t_s)
    take_reading(turn, "upper_reading", 293.15)
    assert [r.plausible for r in turn.state.readings if r.slot == "upper_reading"] == [False]


def test_what_was_put_to_one_person_has_not_been_put_to_the_next() -> None:
    asked = State(gate=GateQuestion("closed", "gate_closed", 1.0, 1.0), put=Put("gate:gate_closed", 1.0, 1.0))
    taken_over = evolve(asked, e.HandedOver(giver="Robin", taker="Anna"), 2.0)
    assert taken_over.gate is None
    assert taken_over.put is None


@pytest.mark.parametrize("act", ["fit", "gate_closed"])
def test_the_key_is_no_answer_to_what_is_told_or_to_a_gate_and_leaves_no_word_in_the_record(
    act: str, tmp_path: Path
) -> None:
    talk, _ = asked_for(act, tmp_path)
    heard = len(talk.events("heard"))
    talk.session.key()
    assert len(talk.events("heard")) == heard
    now_s = talk.clock.t_s
    talk.session.hear(Heard("done", "key", now_s, now_s))  # had it come through all the same
    assert talk.act == act


def test_a_value_that_was_compared_and_then_changed_is_compared_again(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "gate_values_agree")
    talk.type(sentence(talk))
    assert "gate_values_agree" in talk.state.done
    turn = Turn(talk.session.rules, talk.state, talk.clock.t_s)
    turn.emit(e.ValueOffered(slot="dwell", value=240.0, said="four minutes", way="typed"))
    confirm(turn)
    assert turn.state.values["dwell"] == 240.0  # class: analytic -- four minutes
    assert not {"gate_values_agree", "set_dwell"} & turn.state.done


def test_in_the_run_no_value_that_it_works_by_is_taken(tmp_path: Path) -> None:
    talk = press.at("demo", "dwell", tmp_path)
    turn = Turn(talk.session.rules, talk.state, talk.clock.t_s)
    for slot in ("dwell", "upper_temperature", "pressure", "release_temperature"):
        assert refused(turn, slot, talk.state.values[slot]) == RUNNING


def test_a_reading_that_opens_a_gate_again_does_not_do_its_own_act_behind_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    talk = press.at("demo", "cycle_time", tmp_path)
    press.close_open_gates(talk, "cycle_time")
    talk.type("71 minutes")
    monkeypatch.setattr("assistant.procedure.gates.cold_reasons", lambda *_: ("It may be warm inside.",))
    talk.type("that is correct")
    assert talk.events("reading")[-1]["slot"] == "cycle_time"
    assert "gate_cold_inside" not in talk.state.done
    assert "cycle_time" not in talk.state.done
    assert talk.act == "gate_cold_inside"


@pytest.mark.parametrize(("after_s", "passes"), [(0.0, False), (0.5, False), (0.7, True), (5.0, True)])
def test_a_typed_sentence_counts_only_once_the_question_can_have_been_read(
    tmp_path: Path, after_s: float, passes: bool
) -> None:
    talk = at_gate(tmp_path, "gate_closed")
    shown_s = talk.state.gate.shown_s
    talk.clock.advance(10)
    assert closes(talk, answer(talk, "typed", began_s=shown_s + after_s)) is passes


def asked_for(act: str, tmp_path: Path) -> tuple[press.Talk, float]:
    """Five seconds after the act was asked for, and when it was."""
    talk = press.at("demo", act, tmp_path)
    press.close_open_gates(talk, act)
    asked_s = talk.clock.t_s
    talk.clock.advance(5)
    return talk, asked_s


@pytest.mark.parametrize("act", ["vent", "heat_on", "air_on", "plug_out", "fasten"])
def test_a_step_that_can_hurt_is_not_done_by_words_heard_badly_or_before_it_was_asked(
    act: str, tmp_path: Path
) -> None:
    talk, asked_s = asked_for(act, tmp_path)
    bad = {"verified": False, "gate_grade": False}
    talk.session.hear(Heard("done", "voice", asked_s + 4, asked_s + 5, **bad))
    assert talk.act == act
    talk.session.hear(Heard("done", "voice", asked_s - 3, asked_s + 5))
    assert talk.act == act
    talk.clock.advance(5)
    talk.session.hear(Heard("done", "voice", talk.clock.t_s - 1, talk.clock.t_s))
    assert talk.act != act


@pytest.mark.parametrize("words", ["yes", "okay"])
@pytest.mark.parametrize("act", ["plug_out", "fasten", "air_off", "controller_off"])
def test_a_plain_yes_does_no_step_that_a_gate_relies_on(act: str, words: str, tmp_path: Path) -> None:
    talk, _ = asked_for(act, tmp_path)
    assert "A plain yes is not enough" in talk.type(words)
    assert talk.act == act


@pytest.mark.parametrize("act", ["vent", "heat_on", "air_on", "plug_out"])
def test_a_step_that_can_hurt_is_not_done_by_what_was_typed_before_it_was_asked(
    act: str, tmp_path: Path
) -> None:
    talk, asked_s = asked_for(act, tmp_path)
    talk.session.typed("done", asked_s - 3)
    assert talk.act == act
    talk.clock.advance(1)
    talk.session.typed("done")
    assert talk.act != act


@pytest.mark.parametrize(
    ("act", "words"), [("ramp", "it is at temperature"), ("cool", "done"), ("keep", "do not keep it")]
)
def test_the_run_is_not_moved_by_words_heard_badly(act: str, words: str, tmp_path: Path) -> None:
    talk, _ = asked_for(act, tmp_path)
    heard = Heard(words, "voice", talk.clock.t_s - 1, talk.clock.t_s, verified=False, gate_grade=False)
    told = talk.told
    talk.session.hear(heard)
    assert talk.act == act
    assert "did not hear that well enough" in " ".join(line.text for line in talk.session.lines_since(told))


@pytest.mark.parametrize("act", ["gate_dead_and_empty", "gauge_zero", "first_half"])
def test_a_press_that_was_connected_again_is_isolated_again_before_it_is_unfastened(
    act: str, tmp_path: Path
) -> None:
    acts = [a for s, a in press.bench().rules.acts() if s.id in ("isolate", "unfasten")]
    place = act if act != "first_half" else acts[[a.gate for a in acts].index("dead_and_empty") + 1].id
    talk = press.at("demo", place, tmp_path)
    press.close_open_gates(talk, place)
    assert "plug_out" in talk.state.done
    told = talk.type("the plug is in again")
    assert "not isolated" in told
    assert talk.act == "controller_off"
    done = talk.state.done
    assert done.isdisjoint(
        {"controller_off", "plug_out", "leads_off", "air_off", "gauge_zero", "gate_dead_and_empty"}
    )
    if place not in ("gate_dead_and_empty", "gauge_zero"):
        assert talk.events("gate_rearmed")[-1]["reason"] == "the press was connected again"


def test_a_press_that_is_not_isolated_yet_can_not_be_connected_again(tmp_path: Path) -> None:
    talk = press.at("demo", "dwell", tmp_path)
    before = talk.state.done
    talk.type("the plug is in again")
    assert talk.state.done == before
