"""The run: heating up, dwell and cooling, what is called out, and what a reading that does not fit leads to."""

from __future__ import annotations

from pathlib import Path

import at_the_press as press
import pytest


def in_dwell(tmp_path: Path) -> press.Talk:
    talk = press.at("demo", "dwell", tmp_path)
    press.close_open_gates(talk, "dwell")
    return talk


def test_the_dwell_is_called_out_at_a_minute_half_a_minute_ten_seconds_and_its_end_once_each(
    tmp_path: Path,
) -> None:
    talk = in_dwell(tmp_path)
    said = talk.wait(300)
    for call in ("Dwell: one minute.", "Dwell: 30 seconds.", "Dwell: 10 seconds.", "The dwell is over."):
        assert said.count(call) == 1, call
    assert talk.act == "heaters_off"


def test_a_late_tick_calls_out_the_last_mark_only(tmp_path: Path) -> None:
    talk = in_dwell(tmp_path)
    left = talk.state.timer("dwell").deadline_s - talk.clock.t_s
    said = talk.wait(left - 8, step=10_000)
    assert "10 seconds" in said
    assert "one minute" not in said
    assert "30 seconds" not in said
    assert "over" in talk.wait(3600, step=10_000)


def test_the_dwell_is_counted_from_the_moment_at_which_it_was_at_temperature(tmp_path: Path) -> None:
    talk = in_dwell(tmp_path)
    dwell = talk.state.timer("dwell")
    assert dwell.total_s == talk.state.values["dwell"]
    # class: analytic -- deadline is the start plus the agreed dwell
    assert dwell.deadline_s == pytest.approx(talk.state.at_set_s + talk.state.values["dwell"])


def test_a_power_cut_in_the_dwell_moves_no_deadline_and_its_end_is_called_afterwards(tmp_path: Path) -> None:
    talk = in_dwell(tmp_path)
    deadline = talk.state.timer("dwell").deadline_s
    talk.session.writer.close()
    again = press.reopened(talk.session.writer.path, gap_s=40)
    again.type("it went on as it was", "that is correct")
    assert again.state.timer("dwell").deadline_s == deadline
    assert again.clock.t_s < deadline
    again.session.writer.close()
    late = press.reopened(talk.session.writer.path, gap_s=3600)
    late.type("it went on as it was", "that is correct")
    assert "The dwell is over" in " ".join(line.text for line in late.session.lines_since(0)[-12:])
    assert late.state.timer("dwell") is None
    press.close_open_gates(late, "heaters_off")


def test_a_platen_that_reads_too_cold_is_not_at_temperature_and_the_dwell_starts_anew(tmp_path: Path) -> None:
    talk = press.at("demo", "upper_at_set", tmp_path)
    press.close_open_gates(talk, "upper_at_set")
    said = talk.type("it shows 140 degrees", "that is correct")
    assert "not at its set temperature yet" in said
    assert talk.act == "ramp"
    assert talk.state.at_set_s is None
    talk.wait(180)
    talk.type("the temperature is reached")
    told_s = talk.clock.t_s
    for _ in range(2):
        talk.type("it shows 180 degrees", "that is correct")
    assert talk.act == "dwell"
    assert talk.state.at_set_s == pytest.approx(told_s)  # class: analytic -- the moment at which it was told
    assert talk.state.timer("dwell").deadline_s == pytest.approx(
        told_s + talk.state.values["dwell"]
    )  # class: analytic


def test_a_pressure_that_is_not_the_agreed_one_is_read_again_before_the_heat(tmp_path: Path) -> None:
    talk = press.at("demo", "pressure_on", tmp_path)
    press.close_open_gates(talk, "pressure_on")
    assert "set the regulator" in talk.type("the pressure is 1.2 bar", "that is correct")
    assert talk.act == "pressure_on"
    talk.type("the pressure is two bar", "that is correct")
    assert talk.act == "heat_on"


def test_the_preheat_of_a_thick_belt_is_counted_from_when_it_should_be_warm(tmp_path: Path) -> None:
    talk = press.at("guided", "preheat_timer", tmp_path)
    timer = talk.state.timer("preheat")
    curve = talk.state.computed["recipe"]["curve"]
    goal = talk.state.values["preheat_temperature"] - 273.15
    warm_s = next(t for t, upper, lower, *_ in curve if min(upper, lower) >= goal - 1)
    assert timer.total_s == talk.state.values["preheat_time"]
    # class: analytic -- heat on, the predicted way up, the agreed time
    assert timer.deadline_s == pytest.approx(
        talk.state.heat_on_s + warm_s + talk.state.values["preheat_time"]
    )
    assert 0 < warm_s < talk.state.computed["recipe"]["ramp_s"]


def test_the_edge_that_cannot_be_reached_is_noted_and_the_rest_must_do(tmp_path: Path) -> None:
    talk = press.at("demo", "edge_cold", tmp_path)
    press.close_open_gates(talk, "edge_cold")
    assert "must do" in talk.type("i can not reach it")
    assert talk.act == "gate_cold_inside"


def test_a_failed_item_leaves_only_the_redo_and_names_likely_causes(tmp_path: Path) -> None:
    talk = press.at("demo", "after_flex", tmp_path)
    talk.type("the fingers open", "that is correct")
    if talk.act == "after_flex":
        talk.type("open fingers", "that is correct")
    assert talk.act == "decide"
    assert "can't be" in talk.type("i accept the joint")
    talk.type("cut it out")
    said = talk.type("that is correct")
    assert "Likely causes" in said
    assert talk.state.closed == "cut out and redo"
    assert talk.events("decided")[-1]["causes"]


def test_a_measurement_is_put_right_afterwards_and_judged_again(tmp_path: Path) -> None:
    talk = press.at("demo", "decide", tmp_path)
    talk.type("change the joint thickness left to 1.6 millimeters", "that is correct")
    assert next(f for f in talk.state.findings if f.item == "joint_thickness_1").severity == "fail"
    assert "can't be" in talk.type("i accept the joint")
    talk.type("change the thickness beside left to 1.6 millimeters", "that is correct")
    assert next(f for f in talk.state.findings if f.item == "joint_thickness_1").severity == "pass"


def test_accepting_with_a_note_needs_the_note(tmp_path: Path) -> None:
    talk = press.at("demo", "decide", tmp_path)
    assert "and then the note" in talk.type("accept with a note")
    assert talk.state.offered is None
    talk.type("accept with a note a light crease on the left", "that is correct")
    assert talk.events("decided")[-1]["note"] == "a light crease on the left"
    assert talk.events("decided")[-1]["outcome"] == "accepted with a note"


def test_a_stretch_that_the_data_sheet_does_not_allow_is_refused(tmp_path: Path) -> None:
    talk = press.at("guided", "marks_distance", tmp_path)
    press.close_open_gates(talk, "marks_distance")
    assert "data sheet" in talk.type("1030 millimeters")
    assert talk.act == "marks_distance"


@pytest.mark.slow
def test_the_next_morning_in_a_colder_shop_the_pressure_can_be_let_out(tmp_path: Path) -> None:
    talk = press.at("demo", "upper_cold", tmp_path)
    press.close_open_gates(talk, "upper_cold")
    assert "colder than it can be" in talk.type("it shows 12 degrees", "that is correct")
    talk.wait(15 * 3600, step=3600)
    for name in ("upper platen", "lower platen", "edge"):
        talk.type(f"the {name} is 12 degrees", "that is correct")
        assert talk.state.readings[-1].plausible, name
    press.close_open_gates(talk, "cycle_time")
    talk.type("16 hours", "that is correct")
    assert talk.act == "vent"
    assert "colder than" in talk.type("the upper platen is minus 15 degrees", "that is correct")
