"""False alarms, and a dwell that has to begin again."""

from __future__ import annotations

from pathlib import Path

from at_the_press import at, close_open_gates


def test_a_false_alarm_half_heard_lifts_nothing(tmp_path: Path) -> None:
    talk = at("demo", "cut_first", tmp_path)
    talk.type("there is smoke")
    talk.speak("false alarm", verified=False)
    assert talk.state.danger
    talk.type("false alarm")
    assert not talk.state.danger


def test_a_false_alarm_does_not_lift_a_hold_asked_for_before(tmp_path: Path) -> None:
    talk = at("demo", "cut_first", tmp_path)
    talk.type("hold", "there is smoke", "false alarm")
    assert talk.state.held
    talk.type("we can go on")
    assert not talk.state.held


def test_a_dwell_that_is_found_too_cold_is_not_called_over_while_it_heats_again(tmp_path: Path) -> None:
    talk = at("demo", "dwell", tmp_path)
    close_open_gates(talk, "dwell")
    talk.type("go back")
    close_open_gates(talk, "lower_at_set")
    assert talk.act in ("upper_at_set", "lower_at_set")
    talk.type("one hundred degrees", "that is correct")
    assert talk.state.timer("dwell") is None
    told = talk.wait(400.0)
    assert "dwell is over" not in told
    assert "dwell" not in talk.state.done


def test_the_cycle_time_is_asked_when_it_is_cold(tmp_path: Path) -> None:
    talk = at("demo", "cycle_time", tmp_path)
    assert any(event["gate"] == "cold_inside" for event in talk.events("gate_closed"))


def test_a_failed_finding_told_otherwise_later_is_accepted_only_with_a_note(tmp_path: Path) -> None:
    talk = at("demo", "lower_face", tmp_path)
    close_open_gates(talk, "lower_face")
    talk.type("there are blisters", "that is correct", "go back", "there is no problem", "that is correct")
    finding = talk.state.findings[-1]
    assert (finding.item, finding.severity) == ("lower_face", "pass")
    assert [f.item for f in talk.state.put_right] == ["lower_face"]
    assert "Told otherwise later" in talk.state.put_right[0].sentence
