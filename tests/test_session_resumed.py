"""Taken up after a restart of the computer: what no clock vouches for ends no dwell."""

from __future__ import annotations

from pathlib import Path

import at_the_press as press
import pytest

from assistant.record.log import LogWriter
from assistant.record.stamp import Stamp
from assistant.session import Session

NOTE = (
    "The computer was restarted: the 7200 s since the last entry are by the wall clock, which nothing checks."
)


class OtherBoot(press.HandClock):
    def now(self) -> Stamp:
        return super().now()._replace(boot="0ff0ff0f")


def after_two_hours(folder: Path, clock_type: type[press.HandClock]) -> press.Talk:
    """The dwell was running when the session was left; it is taken up two hours later by the wall clock."""
    talk = press.at("demo", "dwell", folder)
    press.close_open_gates(talk, "dwell")
    talk.session.writer.close()
    writer = LogWriter.open_existing(talk.session.writer.path)
    clock = clock_type(writer.lines[-1].stamp.t_s + 7200)
    clock.set_note = NOTE if clock_type is OtherBoot else ""
    session = Session(press.bench().rules, press.bench().book, writer, clock)
    session.take_up(writer.lines, 0)
    return press.Talk(session, clock)


def test_a_dwell_over_a_restart_of_the_computer_ends_only_when_the_technician_says_so(tmp_path: Path) -> None:
    talk = after_two_hours(tmp_path, OtherBoot)
    said = " ".join(event["text"] for event in talk.events("said"))
    assert f"Taken up again after 120 min. {NOTE}" in said
    assert "How long the dwell has been is not known to me" in said
    assert "The dwell is over" not in said
    talk.type("it went on as it was", "that is correct")
    press.close_open_gates(talk, "dwell")
    assert "The dwell is over" not in talk.wait(3600, step=60)
    assert "the press's own timer and your readings count" in talk.asked()
    assert "dwell" not in talk.state.done
    talk.key()
    talk.speak("i have done that", verified=False)
    talk.type("how long left", "that is correct", "yes")
    assert talk.act == "dwell"
    talk.type("i have done that")
    assert "dwell" in talk.state.done
    assert talk.events("act_done")[-1] == {"kind": "act_done", "act": "dwell", "by": "typed"}


def test_a_dwell_over_a_pause_that_the_monotonic_clock_covers_ends_by_its_timer(tmp_path: Path) -> None:
    talk = after_two_hours(tmp_path, press.HandClock)
    assert "dwell" not in talk.state.done  # first it is told whether the press went on
    talk.type("it went on as it was", "that is correct")
    assert "The dwell is over" in " ".join(event["text"] for event in talk.events("said"))
    assert "dwell" in talk.state.done


@pytest.mark.parametrize("boot", ["", "0badcafe"])
def test_a_computer_that_names_no_start_vouches_for_nothing(tmp_path: Path, boot: str) -> None:
    class Nameless(press.HandClock):
        def now(self) -> Stamp:
            return super().now()._replace(boot=boot)

    talk = after_two_hours(tmp_path, Nameless)
    talk.type("it went on as it was", "that is correct")
    assert ("dwell" in talk.state.done) is bool(boot)
