"""Cooling over a restart of the computer: its clock may have been set, so that time is no cooling, and readings are told anew."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import at_the_press as press
import pytest
from fake_computer import take_up
from gate_walk import Walk

from assistant.procedure.cold import cold_reasons, inside_upper
from assistant.procedure.prompt import prompt
from assistant.procedure.rules import job_of, recipe_of, timeline_of
from assistant.recipe.during import expected_reading
from assistant.record.log import LogWriter
from assistant.record.stamp import Stamp

AHEAD_S = 3600.0


def cooling(path: Path, job: str) -> Walk:
    """Just cold by the platens as they really are, and not yet inside; both have been told."""
    begun = next(
        n
        for n, end in enumerate(press.ends(job))
        if any(b'"cool_on"' in raw for raw, _, _ in press.recorded(job)[:end])
    )
    walk = Walk(path)
    walk.begin(job, begun)
    on(walk, "upper_cold", read="", within=3)
    release_K = walk.state.values["release_temperature"]
    at_s = walk.state.cool_on_s
    while max(true_reading(walk, slot, at_s) for slot in ("upper", "lower")) > release_K - 8:
        at_s += 5
    walk.time_passes(max(1.0, at_s - walk.clock.t_s))
    return walk


def true_reading(walk: Walk, platen: str, at_s: float) -> float:
    rules, state = walk.session.rules, walk.state
    return expected_reading(
        job_of(rules, state), recipe_of(rules, state), timeline_of(state), f"{platen}_reading", at_s
    ).mean_K


def on(walk: Walk, until: str, read: str, within: int = 14) -> None:
    """As it should be, the platens told as they are, until the act."""
    for _ in range(within):
        act = walk.session.state.act
        if act == until and walk.session.state.inquiry is None:
            return
        if walk.session.state.inquiry is not None:
            walk.put("it went on as it was")
            walk.put("that is correct")
        elif (gate := walk.gate()) is not None and gate[1] != until:
            walk.put(walk.model.wording)
        elif act in ("upper_cold", "lower_cold") and read:
            platen = act.removesuffix("_cold")
            walk.put(
                f"the {platen} platen is {true_reading(walk, platen, walk.clock.t_s) - 273.15:.0f} degrees"
            )
            walk.put("that is correct")
        elif act == "edge_cold":
            walk.put("i can not measure it")
        else:
            walk.put("done")


@pytest.mark.parametrize("job", ["solid", "guided"])
def test_a_clock_set_ahead_while_the_computer_was_off_cools_nothing(job: str, tmp_path: Path) -> None:
    walk = cooling(tmp_path / "log.jsonl", job)
    on(walk, "gate_cold_inside", read="true")
    rules, release_K = walk.session.rules, walk.state.values["release_temperature"]
    before_K = inside_upper(rules, walk.state, walk.clock.t_s)
    assert before_K > release_K, "it is cold inside already: this proves nothing"
    walk.power_cut(AHEAD_S, restarted=True)
    on(walk, "gate_cold_inside", read="true")
    reasons = " ".join(cold_reasons(rules, walk.state, walk.clock.t_s))
    assert "Read the upper platen to me." in reasons, "a reading of before the restart tells nothing of now"
    assert inside_upper(rules, walk.state, walk.clock.t_s) == pytest.approx(
        before_K, abs=5.0
    )  # class: analytic -- a minute has passed at most
    walk.put(walk.model.wording)
    assert "gate_cold_inside" not in walk.state.done
    walk.nothing_is_broken()


def test_fresh_readings_and_time_open_it_after_all(tmp_path: Path) -> None:
    walk = cooling(tmp_path / "log.jsonl", "solid")
    on(walk, "gate_cold_inside", read="true")
    walk.power_cut(AHEAD_S, restarted=True)
    on(walk, "gate_cold_inside", read="true")
    for platen in ("upper", "lower"):
        walk.put(f"the {platen} platen is {true_reading(walk, platen, walk.clock.t_s) - 273.15:.0f} degrees")
        walk.put("that is correct")
    walk.time_passes(1800)
    assert cold_reasons(walk.session.rules, walk.state, walk.clock.t_s) == ()
    walk.put(walk.model.wording)
    assert "gate_cold_inside" in walk.state.done
    walk.nothing_is_broken()


@pytest.mark.parametrize("appends", [1, 2])
def test_a_restart_is_not_forgotten_where_the_program_is_killed_while_it_takes_a_torn_log_up(
    appends: int, tmp_path: Path
) -> None:
    """appends: how many it writes before it is killed again."""
    walk = cooling(tmp_path / "log.jsonl", "demo")
    walk.session.writer.close()
    with walk.path.open("ab") as file:
        file.write(b'{"event":{"ki')
    walk.clock.restart(AHEAD_S)
    writer = LogWriter.open_existing(walk.path, press.UnsyncedFile)
    cuts: list[int] = []
    write = writer.append

    def append(events: Sequence[Mapping[str, Any]], stamp: Stamp) -> None:
        write(events, stamp)
        cuts.append(walk.path.stat().st_size)

    writer.append = append  # type: ignore[method-assign]
    take_up(walk.session, writer, walk.clock).writer.close()
    walk.path.write_bytes(walk.path.read_bytes()[: cuts[appends - 1]])
    walk.clock.advance(3)
    writer = LogWriter.open_existing(walk.path, press.UnsyncedFile)
    session = take_up(walk.session, writer, walk.clock)
    assert session.state.unchecked, "the time of the restart counts as cooling"
    assert sum(until_s - from_s for from_s, until_s in session.state.unchecked) >= AHEAD_S


def test_a_torn_tail_noted_alone_after_a_restart_hides_nothing(tmp_path: Path) -> None:
    """As older versions could leave it: the note of the torn tail, and nothing behind it."""
    walk = cooling(tmp_path / "log.jsonl", "demo")
    walk.session.writer.close()
    walk.clock.restart(AHEAD_S)
    writer = LogWriter.open_existing(walk.path, press.UnsyncedFile)
    stamp = walk.clock.switched_on(writer.lines[-1].stamp).now()
    writer.append([{"kind": "torn_tail", "cut_bytes": 3}], stamp)
    writer.close()
    walk.clock.advance(3)
    writer = LogWriter.open_existing(walk.path, press.UnsyncedFile)
    assert take_up(walk.session, writer, walk.clock).state.unchecked


@pytest.mark.parametrize("gap_s", [AHEAD_S, -AHEAD_S])
def test_a_restart_between_the_set_temperature_and_the_dwell_counts_as_no_dwell(
    gap_s: float, tmp_path: Path
) -> None:
    """The dwell counts from when both platens were at set, and how long that has been no clock knows."""
    told = next(
        n
        for n, end in enumerate(press.ends("demo"))
        if any(b'"at_set"' in raw for raw, _, _ in press.recorded("demo")[:end])
    )
    walk = Walk(tmp_path / "log.jsonl")
    walk.begin("demo", told)
    assert walk.state.at_set_s is not None
    walk.power_cut(gap_s, restarted=True)
    for _ in range(14):
        act = walk.session.state.act
        if act == "dwell" and walk.session.state.inquiry is None:
            break
        if walk.session.state.inquiry is not None:
            walk.put("it went on as it was")
        elif walk.gate() is not None:
            walk.put(walk.model.wording)
            continue
        else:
            walk.put("it shows 180 degrees")
        walk.put("that is correct")
    assert walk.session.state.act == "dwell"
    timer = walk.state.timer("dwell")
    assert timer is not None
    assert timer.deadline_s is None
    walk.time_passes(7200)
    assert "dwell" not in walk.state.done, "it ended by a clock that nothing vouches for"
    walk.put("i have done that")
    assert "dwell" in walk.state.done
    walk.nothing_is_broken()


def test_the_cycle_is_not_told_by_a_clock_that_was_restarted_meanwhile(tmp_path: Path) -> None:
    talk = press.at_gate(tmp_path, "cycle_time")
    assert talk.act == "cycle_time"
    rules, state = talk.session.rules, talk.state
    assert state.heat_on_s is not None
    assert "By my clock it is" in prompt(rules, state, talk.clock.t_s).text
    restarted = replace(state, unchecked=((state.heat_on_s + 60, state.heat_on_s + 4000),))
    told = prompt(rules, restarted, talk.clock.t_s).text
    assert "My clock cannot tell it" in told
    before = replace(state, unchecked=((state.heat_on_s - 60, state.heat_on_s),))
    assert "By my clock it is" in prompt(rules, before, talk.clock.t_s).text
