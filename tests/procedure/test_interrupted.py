"""A cycle broken off in the live session: what is asked, what is said of the weld, and where the steps lead."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import at_the_press as press
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.procedure.rules import job_of, recipe_of, timeline_of
from assistant.recipe.during import Timeline
from assistant.recipe.what_now import what_now
from assistant.record.read import read_log
from assistant.review.deviations import departures
from assistant.review.words import tell

YES = "that is correct"


def at(act: str, tmp_path: Path) -> press.Talk:
    talk = press.at("demo", act, tmp_path)
    press.close_open_gates(talk, act)
    return talk


def told(talk: press.Talk, what: str, ago: str) -> str:
    talk.type(what, YES, ago)
    return talk.type(YES)


def verdict(talk: press.Talk) -> dict[str, Any]:
    return next(e for e in reversed(talk.events("computed")) if e["topic"] == "interrupted")


def test_power_lost_early_in_the_ramp_waits_for_the_supply_and_heats_again(tmp_path: Path) -> None:
    talk = at("ramp", tmp_path)
    talk.wait(250, step=10)
    assert "above fusion" in told(talk, "the power went off", "just now")
    assert verdict(talk)["results"]["decision"] == "resume heat"
    assert "the power is back" in talk.asked()
    assert not talk.state.findings  # nothing had fused: nothing to be judged by
    talk.type("it is at temperature")
    assert talk.state.at_set_s is None
    talk.wait(120, step=10)
    talk.type("the power is back")
    assert talk.act == "ramp"
    assert talk.state.at_set_s is None
    assert "can't be" in talk.type("it is at temperature")
    timeline = timeline_of(talk.state)
    assert timeline is not None
    cut, told_of = timeline.cuts[-1], talk.state.interruptions[0]
    # class: analytic -- off when it was told so, on when it was told back
    assert (cut.off_s, cut.on_s) == (told_of.at_s, told_of.back_s)


def test_the_verdict_is_the_recipes_own_and_is_in_the_record(tmp_path: Path) -> None:
    talk = at("dwell", tmp_path)
    told(talk, "we lost power", "just now")
    state, results = talk.state, verdict(talk)["results"]
    at_s, before = state.interruptions[0].at_s, state.interruptions[0]
    job, recipe = job_of(talk.session.rules, state), recipe_of(talk.session.rules, state)
    own = what_now(job, recipe, Timeline(state.heat_on_s, before.at_set_s), "power", at_s, talk.clock.t_s)  # type: ignore[arg-type]
    assert (results["decision"], results["kind"]) == (own.decision, "power")
    assert results["fused_s"] == pytest.approx(own.fused_s, abs=0.1)  # class: analytic -- the same question
    assert verdict(talk)["inputs"]["at_s"] == pytest.approx(at_s)
    lines = read_log(talk.session.writer.path)
    written = [tell(dict(line.event)) for line in lines]
    assert any("CYCLE BROKEN OFF" in text for text in written)
    assert any(sort == "interruption" and "above fusion" in sentence
               for sort, sentence in ((d.sort, d.sentence) for d in departures(lines)))  # fmt: skip


def test_time_without_power_is_no_dwell_and_the_dwell_begins_anew(tmp_path: Path) -> None:
    talk = at("upper_at_set", tmp_path)
    for _ in range(2):
        talk.type("it shows 180 degrees", YES)
    assert talk.act == "dwell"
    said = told(talk, "the power went off", "40 seconds")
    assert talk.state.timer("dwell") is None
    if verdict(talk)["results"]["decision"] != "cool":
        assert "whole dwell" in said
        assert "dwell is over" not in talk.wait(400, step=10)
        talk.type("the power is back")
    assert talk.act in ("ramp", "heaters_off")


def test_what_was_held_long_enough_is_cooled_and_no_gate_is_passed_by_it(tmp_path: Path) -> None:
    talk = at("dwell", tmp_path)
    talk.wait(talk.state.timer("dwell").deadline_s - talk.clock.t_s - 10)
    gates = len(talk.events("gate_closed"))
    talk.type("the power went off", YES)
    talk.wait(30)  # what is left in the platens holds it on while it is asked
    said = talk.type("one minute", YES)
    assert "Do not heat again" in said
    assert talk.act == "heaters_off"
    assert talk.state.cool_on_s is None
    assert len(talk.events("gate_closed")) == gates
    assert [f.severity for f in talk.state.findings] == ["cosmetic"]
    assert "stands" in talk.type("the power is back")
    assert talk.act == "heaters_off"


def test_a_blip_of_the_power_shortens_no_dwell(tmp_path: Path) -> None:
    talk = at("dwell", tmp_path)
    talk.wait(60)
    said = told(talk, "the power went off", "just now")
    assert verdict(talk)["results"]["decision"] == "hold"
    cut = talk.state.interruptions[0]
    served_s = talk.clock.t_s - cut.at_set_s
    assert served_s > 60.0
    # class: analytic -- the time since it was told at set has been served
    assert verdict(talk)["results"]["rest_s"] == pytest.approx(talk.state.values["dwell"] - served_s, abs=3.0)
    assert "whole dwell" in said
    assert "the dwell stands" in said


@pytest.mark.slow
def test_opened_while_soft_cools_down_first_and_can_only_be_cut_out(tmp_path: Path) -> None:
    talk = at("dwell", tmp_path)
    said = told(talk, "the press is open", "just now")
    assert "Cut out and redo" in said
    assert talk.act == "heaters_off"
    hand = press.technician("demo")
    press.walk(talk.session, talk.clock, hand, lambda: talk.act == "decide")
    assert "It can't be 'accepted'" in talk.type("i accept the joint")
    assert "can't" in talk.type("accept with a note it was opened")
    talk.type("cut it out", YES)
    assert talk.state.closed == "cut out and redo"


def test_opened_before_anything_fused_is_closed_again_with_its_gates(tmp_path: Path) -> None:
    talk = at("ramp", tmp_path)
    talk.wait(60, step=10)
    told(talk, "it opened early", "just now")
    assert talk.act == "close_hinged"
    open_gates = {e["gate"] for e in talk.events("gate_rearmed")}
    assert "closed" in open_gates
    press.walk(talk.session, talk.clock, press.technician("demo"), lambda: talk.act == "heat_on")
    assert talk.events("gate_closed")[-1]["gate"] in ("closed", "values_agree")


def test_pressure_lost_in_the_cooling_while_soft_is_pressed_and_heated_again(tmp_path: Path) -> None:
    talk = at("cool", tmp_path)
    said = told(talk, "we lost pressure", "just now")
    assert "Cooling off and heat on again" in said
    assert talk.act == "pressure_on"
    assert talk.state.cool_on_s is None
    talk.type("two bar", YES)
    assert talk.act == "ramp"
    line = timeline_of(talk.state)
    assert line is not None
    assert line.counts_from_s == pytest.approx(talk.state.interruptions[0].back_s)
    assert line.cuts[0].cooled


def test_pressure_lost_unseen_until_it_had_set_is_cut_out(tmp_path: Path) -> None:
    talk = at("cool", tmp_path)
    talk.wait(300, step=10)
    said = told(talk, "we lost pressure", "i do not know")
    assert "has set since" in said
    assert talk.act == "cool"
    assert [f.severity for f in talk.state.findings] == ["fail"]
    assert "Keep the pressure on" in talk.type("is the weld still good")


def killed(talk: press.Talk, gap_s: float) -> press.Talk:
    talk.session.writer.close()
    return press.reopened(talk.session.writer.path, gap_s)


def test_taken_up_in_the_dwell_it_asks_what_happened_and_counts_nothing_before(tmp_path: Path) -> None:
    talk = killed(at("dwell", tmp_path), 600.0)
    assert "What happened at the press in the last 10 min?" in talk.asked()
    assert "dwell is over" not in talk.wait(60)
    assert "First tell me" in talk.type("can i go on")
    assert "First tell me" in talk.type("i have done that")
    talk.type("the power was off", YES, "i do not know")
    said = talk.type(YES)
    assert verdict(talk)["inputs"]["at_s"] == pytest.approx(talk.state.interruptions[0].at_s)
    assert "above fusion" in said
    again = killed(talk, 5.0)
    assert again.state.interruptions == talk.state.interruptions


def test_nobody_knows_so_nothing_of_before_counts(tmp_path: Path) -> None:
    talk = killed(at("dwell", tmp_path), 300.0)
    said = talk.type("i do not know", YES)
    assert "nothing of before counts" in said
    press.close_open_gates(talk, "ramp")
    assert talk.state.timer("dwell") is None
    assert [f.item for f in talk.state.findings] == ["run_unwatched"]


def test_power_that_is_still_off_is_waited_for_over_a_second_restart(tmp_path: Path) -> None:
    talk = at("ramp", tmp_path)
    talk.wait(120, step=10)
    told(talk, "the power is gone", "just now")
    again = killed(talk, 900.0)
    assert "the power is back" in again.asked()
    again.type("the power is back")
    assert again.state.inquiry is None
    assert again.state.interruptions[0].back_s == pytest.approx(again.clock.t_s)


def test_before_heat_and_after_venting_it_is_only_noted(tmp_path: Path) -> None:
    talk = at("heat_on", tmp_path)
    assert "can't use it here" in talk.type("the power went off")
    assert "Nothing has been heated yet" in talk.type("what now")


@pytest.mark.parametrize("ago", ["ten hours", "two hours"])
def test_what_was_before_the_heat_is_refused(tmp_path: Path, ago: str) -> None:
    talk = at("dwell", tmp_path)
    talk.type("the power went off", YES)
    assert "before that nothing was welded" in talk.type(ago)


def test_questions_of_the_run_are_answered_with_bands(tmp_path: Path) -> None:
    talk = at("ramp", tmp_path)
    talk.wait(200, step=10)
    said = talk.type("what should it read now")
    assert said.count("between") == 3
    assert "belt's edge" in said
    assert "no reading yet" in talk.type("what is wrong with the lower platen")
    assert "As expected." in talk.type("upper platen 72 degrees", YES)
    assert "As expected: the one reading" in talk.type("is that as expected")
    said = talk.type("lower platen 43 degrees", YES)
    assert "colder than it can be" in said
    talk.wait(150, step=10)
    talk.type("upper platen 101 degrees", YES, "lower platen 58 degrees", YES)
    weighed = [e for e in talk.events("computed") if e["topic"] == "readings"][-1]
    assert weighed["results"]["causes"][0]["key"].startswith("lower_")
    assert "lower" in talk.type("what is wrong with the lower platen")


@pytest.mark.slow
def test_readings_that_together_suit_no_press_in_order_are_spoken_up_about_once(tmp_path: Path) -> None:
    talk = at("ramp", tmp_path)
    gates_before = len(talk.events("gate_closed"))
    said = []
    for upper, lower in ((35, 44), (55, 71), (76, 98), (97, 123)):
        talk.wait(120, step=10)
        said.append(talk.type(f"upper platen {upper} degrees", YES))
        said.append(talk.type(f"lower platen {lower} degrees", YES))
    loud = [words for words in said if "do not suit a press in order" in words]
    assert loud
    spoken = [e["results"]["volunteered"] for e in talk.events("computed") if e["topic"] == "readings"][-1]
    assert any("upper" in key for key in spoken)
    assert len(spoken) == len(set(spoken)) == len(loud)
    assert len(talk.events("gate_closed")) == gates_before


TOLD = st.sampled_from(
    ["the power went off", "the power is back", "we lost pressure", "the press is open", "just now", "30 seconds",
     "i do not know", YES, "no", "what now", "it is at temperature", "i have done that", "it went on as it was",
     "upper platen 60 degrees", "lower platen 60 degrees", "the inside has cooled down and i am going to release the pressure",
     "the pressure is two bar", "go back", "kill"]
)  # fmt: skip


@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(where=st.sampled_from(["ramp", "dwell", "cool"]), said=st.lists(TOLD, min_size=4, max_size=14))
def test_whatever_is_told_lets_no_pressure_out_hot_and_no_dwell_count_while_it_is_asked(
    where: str, said: list[str], tmp_path_factory: pytest.TempPathFactory
) -> None:
    talk = at(where, tmp_path_factory.mktemp("told"))
    for words in said:
        dwell = talk.state.timer("dwell")
        asked = talk.state.inquiry is not None
        if words == "kill":
            talk = killed(talk, 40.0)
        else:
            talk.type(words)
        talk.wait(5)
        if asked and talk.state.inquiry is not None and dwell is not None:
            assert "dwell" not in talk.state.done
    assert talk.state.vented_s is None
    assert not any(e["gate"] == "cold_inside" for e in talk.events("gate_closed"))
