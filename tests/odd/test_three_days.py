"""A session open for three days, on the real session clock of a computer that sleeps, restarts and is set."""

from __future__ import annotations

import re
import sys
from datetime import datetime
from itertools import pairwise
from pathlib import Path

import at_the_press as press
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "procedure"))

from fake_computer import Computer, take_up

from assistant.opening import _Sealer
from assistant.record.log import LogWriter
from assistant.record.read import read_log
from assistant.review.deviations import departures
from assistant.review.report import report_html
from assistant.review.verify import verify
from assistant.review.words import retell

pytestmark = pytest.mark.slow  # a whole job, and three days of ticks

HOUR_S, DAY_S = 3600.0, 86_400.0


def again(talk: press.Talk, computer: Computer) -> press.Talk:
    """The program is ended and started again on the same computer."""
    rules = talk.session
    talk.session.writer.close()
    writer = LogWriter.open_existing(talk.session.writer.path, press.UnsyncedFile)
    session = take_up(rules, writer, computer)
    session._seal = _Sealer(press.bench())
    return press.Talk(session, computer)  # type: ignore[arg-type]


def pass_time(talk: press.Talk, computer: Computer, seconds: float, step_s: float) -> str:
    told = talk.session._conversation.count
    end = computer.mono_s + seconds
    while computer.mono_s < end:
        computer.advance(min(step_s, end - computer.mono_s))
        talk.session.tick()
    return " ".join(line.text for line in talk.session.lines_since(told))


@pytest.fixture(scope="module")
def three_days(tmp_path_factory: pytest.TempPathFactory) -> tuple[press.Talk, dict[str, str]]:
    """From the dwell on Wednesday to the seal on Saturday; what was said at the turns of it."""
    folder = tmp_path_factory.mktemp("records")
    talk = press.at("demo", "dwell", folder)
    computer = Computer(read_log(talk.session.writer.path)[-1].stamp)
    said: dict[str, str] = {}
    computer.advance(30.0)
    talk = again(talk, computer)
    talk.type("it went on as it was", "that is correct")
    press.close_open_gates(talk, "dwell")
    said["dwell"] = pass_time(talk, computer, 900.0, 5.0)
    hand = press.technician("demo")
    press.walk(talk.session, computer, hand, lambda: talk.state.cool_on_s is not None)  # type: ignore[arg-type]
    # The lid is shut over the first night: nothing ticks, and the clock that counts sleep goes on.
    computer.advance(14 * HOUR_S)
    said["woken"] = pass_time(talk, computer, 60.0, 5.0)
    said["left"] = talk.type("how long until it is cold")
    # Somebody sets the clock, twice.
    computer.wall_s -= 2 * HOUR_S
    pass_time(talk, computer, 10.0, 5.0)
    computer.wall_s += 2 * HOUR_S + 40.0
    pass_time(talk, computer, 10.0, 5.0)
    press.walk(talk.session, computer, hand, lambda: talk.act == "gate_cold_inside")  # type: ignore[arg-type]
    # A day goes by with the question open, seen every ten minutes.
    said["open"] = pass_time(talk, computer, DAY_S, 600.0)
    said["gate"] = talk.act
    computer.restart(20 * HOUR_S)
    talk = again(talk, computer)
    said["restarted"] = talk.session.lines_since(0)[-1].text
    said["after"] = talk.act
    said["asked"] = talk.asked()
    pass_time(talk, computer, 15 * HOUR_S, 1800.0)
    for _ in range(3):
        if talk.state.inquiry is not None:
            talk.type("it went on as it was", "that is correct")
    press.walk(talk.session, computer, hand, lambda: False)  # type: ignore[arg-type]
    return talk, said


def test_it_is_finished_sealed_and_in_order_after_more_than_three_days(
    three_days: tuple[press.Talk, dict[str, str]],
) -> None:
    talk, _ = three_days
    assert talk.state.closed == "accepted"
    lines = read_log(talk.session.writer.path)
    assert lines[-1].t > 3 * DAY_S
    verdict = verify(talk.session.writer.path)
    assert verdict.ok, verdict.sentences
    assert verdict.sealed
    assert [b.t - a.t for a, b in pairwise(lines) if b.t < a.t] == []


def test_the_dwell_was_called_out_in_its_time_and_never_again(
    three_days: tuple[press.Talk, dict[str, str]],
) -> None:
    talk, said = three_days
    assert said["dwell"].count("The dwell is over") == 1
    assert "dwell" not in said["woken"]
    called = [line for line in read_log(talk.session.writer.path) if line.kind == "timer_called"]
    assert len({(line.event["name"], line.event["mark_s"]) for line in called}) == len(called)


def test_a_clock_that_was_set_is_noted_both_times_and_moves_no_session_time(
    three_days: tuple[press.Talk, dict[str, str]],
) -> None:
    talk, _ = three_days
    noted = [one.event["text"] for one in read_log(talk.session.writer.path) if one.kind == "clock_noted"]
    assert [re.findall(r"set (back|forward) by (\d+) s", text) for text in noted] == [
        [("back", "7200")],
        [("forward", "7240")],
    ]
    assert {one.sort for one in departures(read_log(talk.session.writer.path))} >= {"clock", "interruption"}


def test_after_the_restart_it_is_asked_what_happened_and_the_gates_are_answered_again(
    three_days: tuple[press.Talk, dict[str, str]],
) -> None:
    talk, said = three_days
    events = read_log(talk.session.writer.path)
    resumed = max(n for n, line in enumerate(events) if line.kind == "resumed")
    closed = next(
        n
        for n, line in enumerate(events)
        if line.kind == "gate_closed" and line.event["gate"] == "cold_inside"
    )
    assert closed > resumed
    asked = [line.event["gate"] for line in events[resumed:closed] if line.kind == "gate_asked"]
    assert "cold_inside" in asked
    assert said["gate"] == "gate_cold_inside"
    assert (
        said["after"] == "gate_leads_sound"
    )  # what the table of the gates asks again after a restart comes first
    assert "What happened at the press" in said["asked"]


def test_each_day_of_it_is_told_once_in_order_with_the_times_that_stood_there(
    three_days: tuple[press.Talk, dict[str, str]],
) -> None:
    talk, _ = three_days
    lines = read_log(talk.session.writer.path)
    rows = retell(lines)
    days = [row[4:14] for row in rows if row.startswith("--- ")]
    assert days == sorted(days)
    assert len(set(days)) >= 4
    told, day = [], ""
    for row in rows:
        if row.startswith("--- "):
            day = row[4:14]
        else:
            told.append(f"{day}T{row[:8]}")
    assert told == [line.wall[:19] for line in lines if line.kind != "question_put"]
    assert rows[-1].split("  ")[1].startswith("+7") or int(rows[-1].split("+")[1].split(":")[0]) >= 72
    page = report_html(lines, verify(talk.session.writer.path))
    first, last = (datetime.fromisoformat(lines[n].wall) for n in (0, -1))
    for when in (first, last):
        assert f"{when:%Y-%m-%d %H:%M}" in page
    closing = next(
        line for line in lines if line.kind == "gate_closed" and line.event["gate"] == "cold_inside"
    )
    assert f"{closing.wall[5:10]} {closing.wall[11:19]}" in page  # a clock alone could be of any of the days
