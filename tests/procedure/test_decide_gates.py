"""Gates, holds, dangers and second thoughts, one behaviour at a time."""

from __future__ import annotations

from pathlib import Path

import at_the_press as press
import pytest

from intents.meaning import Heard

COLD = "the inside has cooled down and i am going to release the pressure"
EMPTY = "the plug is in my hand and the pressure is zero"
CLOSED = "the press is locked together and my hands are out of the way"


def at_gate(tmp_path: Path, job: str, act: str) -> press.Talk:
    return press.at_gate(tmp_path, act, job)


@pytest.mark.parametrize(
    "answer",
    ["yes", "okay", "done", "next", "that is correct", "the press is locked together and my hands are not out of the way",
     "the press is locked together and hands are out of the way", "the press is nearly locked together and my hands are out of the way",
     "the press is locked together and my hand is out of the way", "we will lift this part together", "banana"],
)  # fmt: skip
def test_only_the_sentence_closes_the_gate(answer: str, tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "demo", "gate_closed")
    said = talk.type(answer)
    assert talk.act == "gate_closed"
    assert "Safety question" in said  # it is put again
    talk.type(CLOSED)
    assert talk.act == "gate_leads_sound"


def test_the_key_does_not_answer_a_safety_question(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "demo", "gate_closed")
    talk.key()
    assert talk.act == "gate_closed"
    talk.session.hear(
        Heard("done", "key", talk.clock.t_s, talk.clock.t_s)
    )  # had it come through all the same
    assert talk.act == "gate_closed"
    assert "does not answer a safety question" in talk.events("gate_refused")[-1]["reason"]


def test_the_log_shows_the_evidence_of_a_closed_gate(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "demo", "gate_closed")
    talk.speak(CLOSED)
    closed = talk.events("gate_closed")[-1]
    assert closed["gate"] == "closed"
    assert closed["heard"] == CLOSED
    assert closed["way"] == "voice"
    assert closed["person"] == "Robin"


def test_a_sentence_that_may_have_been_turned_round_closes_nothing(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "demo", "gate_closed")
    now_s = talk.clock.t_s
    turned = CLOSED.replace("is locked", "is not locked")
    for others, scores in [((turned,), (-0.3,)), ((CLOSED,), (-0.1,))]:
        first = CLOSED if turned in others else CLOSED.replace("locked", "blocked")
        talk.clock.advance(10)
        now_s = talk.clock.t_s
        talk.session.hear(Heard(first, "voice", now_s - 0.5, now_s, True, True, -0.25, others, scores))
        assert talk.act == "gate_closed"
    reasons = [event["reason"] for event in talk.events("gate_refused")]
    assert f"It may have been '{turned}'. Say it again, or type it." in reasons
    assert talk.events("heard")[-1]["scores"] == [-0.1]
    talk.speak(CLOSED)
    assert talk.act == "gate_leads_sound"


def test_a_deviation_and_a_note_are_recorded_and_open_nothing(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "demo", "gate_closed")
    assert "opens nothing" in talk.type("record a deviation the supervisor allows it")
    talk.type("note one bolt is stiff")
    assert talk.act == "gate_closed"
    assert talk.events("deviation")[-1]["reason"] == "the supervisor allows it"


def test_after_three_skips_stopping_and_the_supervisor_are_offered(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "demo", "gate_closed")
    assert "supervisor" not in talk.type("skip")
    talk.type("ignore it")
    assert "call the supervisor" in talk.type("just do it")
    assert [event["count"] for event in talk.events("skip_refused")] == [1, 2, 3]
    assert talk.act == "gate_closed"


def test_while_held_nothing_moves_and_no_value_counts(tmp_path: Path) -> None:
    talk = press.at("demo", "agree_upper", tmp_path)
    talk.type("178 degrees", "hold")
    said = talk.type("that is correct")
    assert "upper_temperature" not in talk.state.values
    assert "Held" in said
    talk.type("we can go on", "that is correct")
    assert talk.state.values["upper_temperature"] == pytest.approx(178 + 273.15)  # class: analytic -- as said


def test_carry_on_is_no_answer_to_a_step(tmp_path: Path) -> None:
    talk = press.at("demo", "bench_clear", tmp_path)
    assert "Nothing is held" in talk.type("we can go on")
    assert talk.act == "bench_clear"


def test_danger_holds_at_any_sureness_and_a_false_alarm_is_one_sentence(tmp_path: Path) -> None:
    talk = press.at("demo", "dwell", tmp_path)
    press.close_open_gates(talk, "dwell")
    said = talk.speak("there is a fire", verified=False)
    assert "press's own stop" in said
    assert "I cannot stop the press" in said
    assert talk.state.danger
    assert "Held for danger" in talk.type("done")
    assert "Held for danger" in talk.type("we can go on")
    talk.type("false alarm")
    assert not talk.state.held
    assert talk.act == "dwell"


def test_a_session_can_be_stopped_in_danger_and_is_read_back_first(tmp_path: Path) -> None:
    talk = press.at("demo", "dwell", tmp_path)
    talk.type("there is smoke")
    assert "Stop the session here" in talk.type("stop the session")
    talk.type("that is correct")
    assert talk.state.closed == "stopped"


def test_the_dwell_ends_and_is_called_out_while_held_for_danger(tmp_path: Path) -> None:
    talk = press.at("demo", "dwell", tmp_path)
    press.close_open_gates(talk, "dwell")
    talk.type("there is smoke")
    said = talk.wait(200)
    for call in ("one minute", "30 seconds", "10 seconds", "The dwell is over"):
        assert said.count(call) == 1, call
    talk.type("false alarm")
    assert talk.act == "heaters_off"


def test_a_hand_over_in_the_dwell_asks_what_still_stands_while_the_dwell_runs_on(tmp_path: Path) -> None:
    talk = press.at("guided", "dwell", tmp_path)
    press.close_open_gates(talk, "dwell")
    deadline = talk.state.timer("dwell").deadline_s
    said = talk.type("hand over to martin", "that is correct")
    assert "own lock on before the other comes off" in said
    reopened = {event["gate"] for event in talk.events("gate_rearmed") if "martin" in event["reason"]}
    assert reopened == {"conveyor_dead", "energy_released", "workplace_fit", "leads_sound"}
    assert talk.state.timer("dwell").deadline_s == deadline
    assert "The dwell is over" in talk.wait(600, step=5)
    assert talk.act == "gate_conveyor_dead"
    press.close_open_gates(talk, "heaters_off")


def test_what_was_asked_of_one_person_is_asked_again_of_the_next(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "demo", "gate_values_agree")
    talk.type("hand over to martin", "that is correct")
    press.close_open_gates(talk, "gate_values_agree")
    asked = [event for event in talk.events("gate_asked") if event["gate"] == "values_agree"]
    talk.type("the press shows the same numbers")
    assert len(asked) >= 2
    assert talk.events("gate_closed")[-1]["person"].lower() == "martin"


def test_going_back_opens_the_gates_that_guard_that_step_through_steps_of_other_presses(
    tmp_path: Path,
) -> None:
    talk = at_gate(tmp_path, "solid", "fasten")  # the step before is the one of the hinged or the loose half
    assert "gate_lift_upper" in talk.state.done
    talk.type("go back")
    assert talk.act == "gate_lift_upper"
    talk.type("we will lift this part together")
    assert talk.act in ("close_hinged", "close_loose")


def test_going_back_undoes_what_was_done_last_and_no_more(tmp_path: Path) -> None:
    talk = press.at("demo", "layup_check", tmp_path)
    talk.type(
        "change the shop temperature to 21 degrees", "that is correct", "that is correct", "that is correct"
    )
    assert talk.act == "agree_upper"
    talk.type("that is correct", "go back")
    assert talk.act == "agree_upper"
    assert "cut_to_length" in talk.state.done


def test_going_back_over_a_pulled_plug_asks_whether_it_is_dead_again(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "demo", "gate_hot_unfasten")
    assert "gate_dead_and_empty" in talk.state.done
    talk.type("go back")
    assert talk.act == "gauge_zero"
    assert "gate_dead_and_empty" not in talk.state.done


def test_what_has_happened_to_the_press_cannot_be_taken_back(tmp_path: Path) -> None:
    talk = press.at("demo", "vent_heard", tmp_path)
    assert "can't be taken back" in talk.type("go back")
    assert talk.state.vented_s is not None


@pytest.mark.slow
def test_cold_platens_alone_do_not_open_and_the_question_comes_when_the_inside_is_cold(
    tmp_path: Path,
) -> None:
    talk = press.at("guided", "gate_cold_inside", tmp_path)
    press.close_open_gates(talk, "gate_cold_inside")
    assert "inside the belt may still be" in talk.asked()
    assert "inside the belt" in talk.type(COLD)
    assert talk.act == "gate_cold_inside"
    talk.wait(60, step=5)
    talk.type("the upper platen is 54 degrees", "that is correct")
    talk.type("the lower platen is 54 degrees", "that is correct")
    assert "inside the belt may still be" in talk.asked()
    said = talk.wait(1200, step=5)
    assert said.count("Safety question") == 1, "put once, when the time has come"
    talk.type(COLD)
    assert talk.act == "cycle_time"
    facts = talk.events("gate_closed")[-1]["facts"]
    assert any("computed hottest point inside" in fact for fact in facts)


@pytest.mark.slow
def test_a_sentence_said_before_its_question_could_be_put_does_not_count_later(tmp_path: Path) -> None:
    talk = press.at("guided", "gate_cold_inside", tmp_path)
    press.close_open_gates(talk, "gate_cold_inside")
    assert not [e for e in talk.events("question_put") if e["question"] == "gate:gate_cold_inside"]
    began = talk.clock.t_s
    talk.wait(60, step=5)
    talk.type("the upper platen is 54 degrees", "that is correct")
    talk.type("the lower platen is 54 degrees", "that is correct")
    talk.wait(1200, step=5)
    assert talk.events("question_put")[-1]["question"] == "gate:gate_cold_inside"
    talk.session.typed(COLD, began_s=began)
    assert talk.act == "gate_cold_inside"


def test_a_hotter_reading_before_the_vent_opens_the_gate_again(tmp_path: Path) -> None:
    talk = press.at("demo", "vent", tmp_path)
    press.close_open_gates(talk, "vent")
    talk.type("the upper platen is 82 degrees", "that is correct")
    assert talk.act == "gate_cold_inside"
    assert "vented" not in {event["mark"] for event in talk.events("run_marked")}


def test_the_gauge_must_be_at_zero_and_can_be_read_again_at_the_gate(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "demo", "gauge_zero")
    talk.type("it shows 0.6 bar", "that is correct")
    assert talk.act == "gate_dead_and_empty"
    assert "gauge was at 0.6 bar" in talk.type(EMPTY)
    talk.type("the gauge is zero bar", "that is correct")
    talk.type(EMPTY)
    assert talk.act == "gate_hot_unfasten"


def test_a_vent_that_was_not_heard_after_all_is_asked_again(tmp_path: Path) -> None:
    talk = at_gate(tmp_path, "demo", "gate_hot_unfasten")
    said = talk.type("change the vent to i did not hear it")
    assert "not empty for sure" in said
    assert talk.act == "vent_heard"
    assert "gate_dead_and_empty" not in talk.state.done
    talk.type("i did not hear it")
    assert talk.act == "vent_heard"


def test_resume_asks_again_only_where_the_hazard_still_stands(tmp_path: Path) -> None:
    talk = press.at("guided", "dwell", tmp_path)
    reopened = {event["gate"] for event in talk.events("gate_rearmed")}
    assert reopened == {
        "conveyor_dead",
        "energy_released",
        "leads_sound",
    }  # no knife, nothing to lift, heat is on


def test_the_conveyor_comes_back_gate_by_gate(tmp_path: Path) -> None:
    talk = press.at("guided", "gate_guards", tmp_path)
    press.close_open_gates(talk, "gate_guards")
    assert talk.type("i have removed my own lock from the conveyor")
    assert talk.act == "gate_guards"
    talk.type("every guard is back and everybody is clear", "done")
    assert talk.act == "gate_own_lock"
    talk.type("hand over to martin", "that is correct")
    assert talk.act == "gate_guards"  # each person; the conveyor's own gates have ended with the locks
    talk.type(
        "every guard is back and everybody is clear",
        "i have removed my own lock from the conveyor",
    )
    assert talk.act == "first_run"


def test_once_the_press_is_open_the_answer_about_the_vent_stands(tmp_path: Path) -> None:
    talk = press.at("demo", "upper_face", tmp_path)
    assert "open already" in talk.type("change the vent to i did not hear it")
    assert talk.act == "upper_face"
    assert talk.state.values["vent_heard"] == "yes"
