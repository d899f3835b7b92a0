"""Words and presses count only from when the question they answer had been put."""

from __future__ import annotations

from pathlib import Path

import at_the_press as press
from at_the_press import SlowMouth


def test_a_spoken_confirmation_that_began_before_the_readback_was_said_does_not_count(tmp_path: Path) -> None:
    mouth = SlowMouth()
    talk = press.at("demo", "agree_upper", tmp_path, mouth)
    mouth.end()
    talk.speak("178 degrees")
    assert talk.state.offered is not None
    talk.clock.advance(3.0)
    mouth.end()
    assert "came before the question" in talk.speak("that is correct", ago_s=2.0)
    assert "upper_temperature" not in talk.state.values
    mouth.end()
    talk.speak("that is correct")
    assert "upper_temperature" in talk.state.values


def test_a_typed_confirmation_counts_from_when_the_readback_was_shown(tmp_path: Path) -> None:
    talk = press.at("demo", "agree_upper", tmp_path, SlowMouth())
    talk.type("178 degrees")
    shown_s = talk.clock.t_s
    talk.clock.advance(1.0)
    talk.session.typed("that is correct", began_s=shown_s - 0.5)
    assert "upper_temperature" not in talk.state.values
    talk.type("that is correct")
    assert "upper_temperature" in talk.state.values


def test_what_is_told_is_not_agreed_to_before_it_had_been_said(tmp_path: Path) -> None:
    mouth = SlowMouth()
    talk = press.at("demo", "agree_upper", tmp_path, mouth)
    talk.speak("that is correct")
    assert talk.act == "agree_upper"
    mouth.end()
    talk.speak("that is correct")
    assert talk.act != "agree_upper"


def test_an_answered_question_in_between_does_not_unput_what_was_told(tmp_path: Path) -> None:
    talk = press.at("demo", "agree_upper", tmp_path)
    talk.type("why")
    talk.speak("that is correct")
    assert talk.act != "agree_upper"


def test_a_foot_that_bounces_on_the_pedal_does_one_step(tmp_path: Path) -> None:
    talk = press.at("demo", "hands_clear", tmp_path)
    press.close_open_gates(talk, "hands_clear")
    talk.clock.advance(1.0)
    talk.session.key()
    assert talk.act == "air_on"
    talk.clock.advance(0.1)
    talk.session.key()
    assert talk.act == "air_on"
    assert "too soon" in " ".join(line.text for line in talk.session.lines_since(0)[-3:])
    talk.key()
    assert talk.act == "pressure_on"


def test_yes_does_a_plain_step_and_no_step_that_can_hurt(tmp_path: Path) -> None:
    talk = press.at("demo", "bench_clear", tmp_path)
    talk.type("yes")
    assert "bench_clear" in talk.state.done
    talk.session.writer.close()
    talk = press.at("demo", "air_on", tmp_path)
    press.close_open_gates(talk, "air_on")
    assert "not enough here" in talk.type("yes")
    assert talk.act == "air_on"
