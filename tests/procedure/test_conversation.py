"""The talk itself: taking back what was not meant, not being understood, the time of day, a choice named alone."""

from __future__ import annotations

from pathlib import Path

import pytest
from at_the_press import SlowMouth, Talk, at, close_open_gates, fresh, sheet

from assistant.procedure.wording import time_of_day


def at_summary(path: Path) -> Talk:
    talk = fresh(path, sheet("demo"))
    assert talk.act == "sheet"
    assert talk.asked().startswith("This is the job. Is it right?")
    return talk


@pytest.mark.parametrize(
    ("wall", "words"),
    [
        # class: common practice, no published source
        ("2026-11-25T16:10:00.000+01:00", "ten past four in the afternoon"),
        ("2026-11-25T08:00:59.000+01:00", "eight o'clock in the morning"),
        ("2026-11-25T12:30:00.000+01:00", "half past twelve in the afternoon"),
        ("2026-11-25T11:45:00.000+01:00", "a quarter to twelve in the morning"),
        ("2026-11-25T21:35:00.000+01:00", "twenty five to ten in the evening"),
        ("2026-11-25T00:01:00.000+01:00", "one minute past twelve at night"),
        ("2026-11-25T13:53:00.000+01:00", "seven minutes to two in the afternoon"),
        ("2026-11-25T23:59:00.000+01:00", "one minute to twelve at night"),
    ],
)
def test_the_time_is_told_as_people_tell_it(wall: str, words: str) -> None:
    assert time_of_day(wall) == words


def test_the_time_of_day_is_told_with_the_session_time(tmp_path: Path) -> None:
    talk = fresh(tmp_path, {})
    assert talk.type("what time is it").startswith(
        "It is five past two in the afternoon. 1 s into the session."
    )


def test_a_choice_named_alone_at_the_job_summary_is_a_change_that_is_read_back(tmp_path: Path) -> None:
    talk = at_summary(tmp_path)
    assert "the melt would flow out sideways" in talk.type("the red template")  # refused as any change is
    said = talk.type("the green template")
    assert said == "Template: the green template. Say 'that is correct', or the right one."
    talk.type("no")
    assert talk.state.offered is None
    talk.type("the water cooled press")
    assert talk.state.values["press"] == "hinged"  # not before it is confirmed
    talk.type("that is correct")
    assert talk.state.values["press"] == "water_cooled"


def test_a_choice_that_two_things_have_is_asked_about(tmp_path: Path) -> None:
    talk = at_summary(tmp_path)
    assert talk.type("the thick silicone cloth") == "Which one: cloth above or cloth below?"
    assert talk.state.offered is None
    assert talk.type("below").startswith("Cloth below: the thick silicone cloth.")


def test_a_choice_named_alone_elsewhere_changes_nothing(tmp_path: Path) -> None:
    talk = at("demo", "cut_first", tmp_path)
    close_open_gates(talk, "cut_first")
    before = dict(talk.state.values)
    talk.type("the green template")
    assert talk.state.offered is None
    assert dict(talk.state.values) == before


def test_an_offer_that_was_not_meant_is_dropped(tmp_path: Path) -> None:
    talk = at_summary(tmp_path)
    talk.type("change the thickness to one point nine")
    assert talk.state.offered is not None
    said = talk.type("that was not for you")
    assert talk.state.offered is None
    assert "that does not count" in said


def test_a_question_that_was_not_meant_is_dropped(tmp_path: Path) -> None:
    talk = at_summary(tmp_path)
    talk.type("change the thickness to 0.08")
    assert talk.state.asking is not None
    talk.type("I was talking to somebody else")
    assert talk.state.asking is None
    assert not talk.state.options


def test_a_step_that_was_not_meant_is_asked_again(tmp_path: Path) -> None:
    talk = at("demo", "cut_first", tmp_path)
    close_open_gates(talk, "cut_first")
    talk.type("i have done that")
    assert talk.act != "cut_first"
    talk.type("not for you")
    while talk.act != "cut_first":  # the blade's gate guards the step and is asked with it
        assert talk.state.gate is not None
        close_open_gates(talk, "cut_first")
    assert "cut_first" not in talk.state.done


def test_a_gate_answer_that_was_not_meant_opens_the_gate_again(tmp_path: Path) -> None:
    talk = at("demo", "cut_first", tmp_path)
    gate = talk.state.gate
    assert gate is not None
    talk.type(talk.session.rules.gate(talk.session.rules.act(gate.act)).sentence)  # type: ignore[arg-type]
    assert gate.act in talk.state.done
    talk.type("that was not for you")
    assert gate.act not in talk.state.done
    assert talk.state.gate is not None
    assert talk.state.gate.act == gate.act


def test_a_hold_that_was_not_meant_is_lifted_and_so_is_one_for_danger(tmp_path: Path) -> None:
    talk = at("demo", "cut_first", tmp_path)
    talk.type("hold on")
    assert talk.state.held
    assert "not held" in talk.type("that was not for you")
    assert not talk.state.held
    talk.type("my hand is burnt")
    assert "We go on" in talk.type("that was not for you")  # as good as 'false alarm'
    assert not talk.state.danger


def test_what_is_past_taking_back_is_said_to_stay(tmp_path: Path) -> None:
    talk = at("demo", "cut_first", tmp_path)
    talk.type("note the cloth is new")
    assert "stays in the record" in talk.type("that was not for you")
    assert "Nothing had come of it" in talk.type("why", "that was not for you")


def test_only_the_last_utterance_is_taken_back(tmp_path: Path) -> None:
    talk = at_summary(tmp_path)
    talk.type("change the thickness to one point nine", "why")
    said = talk.type("that was not for you")
    assert talk.state.offered is not None  # the question 'why' was not meant; the value still is
    assert "Nothing had come of it" in said


def test_heating_that_was_told_is_not_taken_back(tmp_path: Path) -> None:
    talk = at("demo", "heat_on", tmp_path)
    close_open_gates(talk, "heat_on")
    talk.type("the heat is on")
    assert talk.state.heat_on_s is not None
    assert "can't be taken back" in talk.type("that was not for you")
    assert talk.state.heat_on_s is not None


def test_not_understood_is_short_then_says_what_can_be_said_then_another_way(tmp_path: Path) -> None:
    talk = at("demo", "cut_first", tmp_path)
    close_open_gates(talk, "cut_first")
    first = talk.type("the apples are ripe")
    second = talk.type("two crates of pears")
    third = talk.type("nice weather today")
    assert "can't use it here" in first
    assert "You can say" not in first
    assert "You can say" in second
    assert "Type 'what can I say'" in third
    talk.type("why")
    assert "Type 'what" not in talk.type("the apples are ripe")  # counted anew


def test_at_a_gate_typing_is_offered_after_the_third_time(tmp_path: Path) -> None:
    talk = at("demo", "cut_first", tmp_path)
    assert talk.state.gate is not None
    assert "type it" not in talk.type("the apples are ripe", "two crates of pears")
    assert "You can also type it." in talk.type("nice weather today")
    assert talk.state.gate is not None


def test_the_voice_can_be_told_to_speak_faster(tmp_path: Path) -> None:
    mouth = SlowMouth()
    talk = at("demo", "cut_first", tmp_path, mouth)
    talk.type("a bit faster", "quieter please", "louder")
    assert mouth.adjusted == ["faster", "quieter", "louder"]


def test_short_and_long_are_switched_by_word_and_stay(tmp_path: Path) -> None:
    talk = at("demo", "cut_first", tmp_path)
    close_open_gates(talk, "cut_first")
    full = talk.type("say again")
    assert "Short from now on" in talk.type("you talk too much")
    short = talk.type("say again")
    assert len(short) <= len(full)
    assert "With reasons" in talk.type("explain more")
    assert talk.type("say again") == full


def test_swearing_is_not_understood_and_moves_nothing(tmp_path: Path) -> None:
    talk = at("demo", "cut_first", tmp_path)
    close_open_gates(talk, "cut_first")
    for words in ("bloody thing", "oh for god's sake", "you damn machine do it already", "what the hell"):
        talk.type(words)
    assert talk.act == "cut_first"
