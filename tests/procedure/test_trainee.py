"""What a trainee asks is answered plainly: how to find out, what there is, what is meant, what is dangerous, what was heard."""

from __future__ import annotations

from pathlib import Path

import pytest
from at_the_press import SlowMouth, Talk, at, bench, fresh, sheet

from assistant.bench.slots import SLOTS
from assistant.procedure.trainee import HOW_TO_FIND


def without(path: Path, *slots: str) -> Talk:
    return fresh(path, {key: value for key, value in sheet("demo").items() if key not in slots})


def test_every_value_of_the_sheet_has_a_way_to_find_it_out() -> None:
    assert set(HOW_TO_FIND) == {info.slot for info in SLOTS}


@pytest.mark.parametrize("said", ["I don't know", "I am not sure", "no idea", "how do I find out"])
def test_who_does_not_know_is_told_how_to_find_out_and_who_knows(said: str, tmp_path: Path) -> None:
    talk = without(tmp_path, "belt_thickness")
    answer = talk.type(said)
    assert "caliper" in answer
    assert "between 0.3 mm and 12 mm" in answer  # class: regression -- the sheet's own usual range
    assert "supervisor" in answer
    assert "not hurt" not in answer
    assert talk.state.offered is None


def test_who_does_not_know_at_a_gate_opens_nothing(tmp_path: Path) -> None:
    talk = at("demo", "gate_closed", tmp_path)
    assert "go and look" in talk.type("I don't know")
    assert talk.act == "gate_closed"


def test_no_hint_offers_a_false_alarm_without_an_alarm(tmp_path: Path) -> None:
    talk = without(tmp_path, "belt_thickness")
    for said in ("i am not herd", "false alerm", "nobody is hut"):
        answer = talk.type(said)
        assert "not hurt" not in answer
        assert "false alarm" not in answer


@pytest.mark.parametrize(
    ("said", "named"),
    [("What belts are there?", "the packing line belt"), ("which presses are there", "the hinged press"),
     ("what punches are there", "the long punch"), ("which cloths are there", "the silicone cloth")],
)  # fmt: skip
def test_what_there_is_is_named(said: str, named: str, tmp_path: Path) -> None:
    assert named in without(tmp_path, "template").type(said)


def test_what_it_can_be_is_what_is_asked_for_now(tmp_path: Path) -> None:
    assert "the green template" in without(tmp_path / "a", "template").type("what can it be")
    assert "between" in without(tmp_path / "b", "belt_width").type("what can it be")


def test_what_is_meant_is_told_by_how_and_why(tmp_path: Path) -> None:
    talk = at("demo", "clean_ends", tmp_path)
    act = next(a for _, a in bench().rules.acts() if a.id == "clean_ends")
    answer = talk.type("what do you mean")
    assert act.why in answer
    assert act.how in answer


def test_the_cautions_are_those_of_what_is_asked_about(tmp_path: Path) -> None:
    talk = at("demo", "clean_ends", tmp_path)
    assert "leave first" in talk.type("what about the fumes")
    assert talk.type("is that dangerous")


def test_what_was_heard_is_told_without_our_name(tmp_path: Path) -> None:
    talk = without(tmp_path, "belt_thickness")
    assert "nothing" in talk.type("what did you hear")
    talk.type("the ladder wobbles")
    assert "I heard: the ladder wobbles." in talk.type("what did you hear")
    assert "I heard: the ladder wobbles." in talk.type("what did you hear")


@pytest.mark.parametrize("how", ["louder", "quieter", "faster", "slower"])
def test_how_we_speak_is_changed_with_one_word(how: str, tmp_path: Path) -> None:
    mouth = SlowMouth()
    talk = at("demo", "agree_upper", tmp_path, mouth)
    mouth.end()
    assert talk.type(how) == f"{how.capitalize()}."
    assert mouth.adjusted == [how]


@pytest.mark.parametrize("said", ["be quiet", "shut up", "hush"])
def test_be_quiet_stops_what_is_said_now_and_says_no_more_than_a_word(said: str, tmp_path: Path) -> None:
    mouth = SlowMouth()
    talk = at("demo", "agree_upper", tmp_path, mouth)
    mouth.end()
    talk.type("what can i say")
    assert len(mouth.waiting) == 1  # class: analytic -- one answer is being said
    assert talk.speak(said) == "Quiet."
    assert [text for text, _ in mouth.waiting] == ["Quiet."]


def test_a_safety_question_is_said_to_its_end_all_the_same(tmp_path: Path) -> None:
    mouth = SlowMouth()
    talk = at("demo", "gate_closed", tmp_path, mouth)
    talk.speak("be quiet")
    assert talk.state.gate is not None
    assert talk.state.gate.said_s is None
    assert "Safety question" in mouth.waiting[-1][0]
