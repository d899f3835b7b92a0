"""What goes amiss while the press runs: it is said at once, recorded, and the joint is not accepted unmentioned."""

from __future__ import annotations

from pathlib import Path

import at_the_press as press
import pytest

from assistant.procedure.rules import recipe_of
from assistant.recipe.arrival import soonest_at_set_s
from assistant.recipe.outcome import Recipe
from assistant.record.read import read_log
from assistant.review.deviations import departures


def at(act: str, tmp_path: Path) -> press.Talk:
    talk = press.at("demo", act, tmp_path)
    press.close_open_gates(talk, act)
    return talk


def heated(tmp_path: Path) -> press.Talk:
    """Just after 'heat on'."""
    talk = at("heat_on", tmp_path)
    talk.type("the heat is on")
    assert talk.act == "ramp"
    return talk


def sorts(talk: press.Talk) -> list[tuple[str, str]]:
    return [(d.sort, d.sentence) for d in departures(read_log(talk.session.writer.path))]


def test_a_press_that_was_not_heated_is_not_at_temperature_whatever_is_said(tmp_path: Path) -> None:
    talk = heated(tmp_path)
    talk.wait(8)
    said = talk.type("the temperature is reached")
    assert "after the heat went on it can't be: the quickest I expect is" in said
    assert talk.act == "ramp"
    assert talk.state.at_set_s is None
    refused = talk.events("value_refused")[-1]
    assert (refused["slot"], refused["said"]) == ("at_set", "the temperature is reached")
    assert any(sort == "value refused" and "at set" in sentence for sort, sentence in sorts(talk))
    talk.type("upper platen 180 degrees", "that is correct")
    assert talk.state.readings[-1].plausible is False


def test_it_is_taken_from_the_quickest_way_up_on(tmp_path: Path) -> None:
    talk = heated(tmp_path)
    recipe = recipe_of(talk.session.rules, talk.state)
    assert isinstance(recipe, Recipe)
    soonest_s = soonest_at_set_s(recipe, talk.state.heat_on_s, ())
    assert 0.5 * recipe.ramp_s < soonest_s - talk.state.heat_on_s < recipe.ramp_s
    talk.wait(soonest_s - talk.clock.t_s - 5)
    assert "can't be" in talk.type("the temperature is reached")
    talk.wait(5)
    talk.type("the temperature is reached")
    assert talk.act == "upper_at_set"


def test_a_press_that_was_warm_and_was_told_to_be_is_at_temperature_sooner(tmp_path: Path) -> None:
    talk = heated(tmp_path)
    for platen in ("upper", "lower"):
        talk.type(f"{platen} platen 165 degrees", "that is correct")
    assert "can't be" in talk.type("the temperature is reached")
    talk.wait(120)
    talk.type("the temperature is reached")
    assert talk.act == "upper_at_set"


def test_one_warm_platen_alone_makes_no_warm_press(tmp_path: Path) -> None:
    talk = heated(tmp_path)
    talk.type("upper platen 165 degrees", "that is correct")
    talk.wait(120)
    assert "can't be" in talk.type("the temperature is reached")


@pytest.mark.parametrize("degrees", [340, 400, 900])
def test_heat_that_the_belt_does_not_bear_is_an_alarm_and_is_recorded(tmp_path: Path, degrees: int) -> None:
    talk = at("dwell", tmp_path)
    talk.type(f"upper platen {degrees} degrees", "that is correct")
    alarms = [line["text"] for line in talk.events("said") if line["rank"] == "alarm"]
    assert f"{degrees} °C is above what this belt bears" in alarms[-1]
    assert "own stop" in alarms[-1]
    reading = talk.events("reading")[-1]
    assert reading["plausible"] is False
    assert reading["value"] == pytest.approx(degrees + 273.15)  # class: analytic -- kelvin from degrees
    told = sorts(talk)
    assert any(sort == "reading" and f"{degrees} °C" in sentence for sort, sentence in told)
    assert any(sort == "inspection" and f"{degrees} °C in the run" in sentence for sort, sentence in told)


def test_a_platen_that_falls_in_the_dwell_ends_it_and_it_begins_anew(tmp_path: Path) -> None:
    talk = at("dwell", tmp_path)
    said = talk.type("lower platen 120 degrees", "that is correct")
    assert "the dwell does not count" in said
    assert talk.act == "ramp"
    assert talk.state.timer("dwell") is None
    assert "dwell is over" not in talk.wait(30)
    assert "can't be" in talk.type("the temperature is reached")
    talk.wait(400)
    talk.type("the temperature is reached")
    told_s = talk.clock.t_s
    for _ in range(2):
        talk.type("it shows 180 degrees", "that is correct")
    assert talk.act == "dwell"
    # class: analytic -- the moment it was told, and the agreed dwell
    assert talk.state.timer("dwell").deadline_s == pytest.approx(told_s + talk.state.values["dwell"])


@pytest.mark.slow
@pytest.mark.parametrize("bar", ["zero", "1.5"])
def test_pressure_lost_in_the_dwell_ends_it_and_the_joint_needs_a_note(tmp_path: Path, bar: str) -> None:
    talk = at("dwell", tmp_path)
    said = talk.type(f"the pressure is {bar} bar", "that is correct")
    assert "Bring the pressure back" in said
    assert "dwell does not count" in said
    assert talk.act == "ramp"
    assert talk.state.timer("dwell") is None
    assert [f.severity for f in talk.state.findings] == ["cosmetic"]
    assert any(sort == "inspection" for sort, _ in sorts(talk))
    talk.wait(60)
    assert "bring it back" in talk.type("the temperature is reached")
    talk.type("the pressure is two bar", "that is correct", "the temperature is reached")
    assert talk.act == "upper_at_set"
    hand = press.technician("demo")
    press.walk(talk.session, talk.clock, hand, lambda: talk.act == "decide")
    said = talk.type("i accept the joint")
    assert "can't be 'accepted'" in said
    assert "pressure fell" in said
    talk.type("accept with a note the pressure was gone in the dwell", "that is correct")
    assert talk.state.outcome == "accepted with a note"


def test_a_little_less_pressure_ends_no_dwell(tmp_path: Path) -> None:
    talk = at("dwell", tmp_path)
    talk.type("the pressure is 1.9 bar", "that is correct")
    assert talk.act == "dwell"
    assert not talk.state.findings


def test_pressure_lost_while_it_cools_is_an_alarm_and_needs_a_note(tmp_path: Path) -> None:
    talk = at("cool", tmp_path)
    said = talk.type("the pressure is half a bar", "that is correct")
    assert "Bring the pressure back" in said
    assert talk.act == "cool"
    assert [f.item for f in talk.state.findings] == ["pressure_of_the_run"]


def test_a_cycle_time_far_from_the_own_clock_is_told_and_recorded(tmp_path: Path) -> None:
    talk = at("cycle_time", tmp_path)
    said = talk.type("two minutes", "that is correct")
    assert "You say 2 min; by my clock the heat went on" in said
    reading = talk.events("reading")[-1]
    assert (reading["slot"], reading["plausible"]) == ("cycle_time", False)
    assert talk.act == "vent"
    assert any(sort == "reading" and "by my clock" in sentence for sort, sentence in sorts(talk))
