"""The real program killed at random moments of a job and taken up: a quick part of `kill_at_random.py`, and its judges."""

from __future__ import annotations

import random
from pathlib import Path

import at_the_press as press
import pytest
from asked_again import must_open_again
from crashed_job import CrashedJob, Tally
from judged import cooling_faults, left_faults, taken_up_faults, time_faults, told_faults
from log_bytes import LogBytes, parse
from program import strace_works

KILLS = 12


@pytest.mark.slow
def test_twelve_kills_at_random_lose_nothing_and_ask_what_must_be_asked_again(tmp_path: Path) -> None:
    """On the computer's own clocks as far as the heat; then the session is stopped and sealed."""
    tally = Tally()
    job = CrashedJob("demo", tmp_path / "job", random.Random(7), tally, traced=strace_works(), real_time=True)
    assert job.run(KILLS) >= 8  # a kill may come after the seal
    assert tally.faults == []
    assert tally.closed.total() == 1


@pytest.mark.slow
def test_kills_with_the_computer_restarted_in_between_lose_nothing_and_count_no_unchecked_cooling(
    tmp_path: Path,
) -> None:
    tally = Tally()
    job = CrashedJob("solid", tmp_path / "job", random.Random(3), tally, traced=strace_works(), restarted=0.9)
    assert job.run(KILLS) >= 8
    assert tally.restarts.total() >= 3
    assert tally.torn_by_restart >= 1
    assert tally.faults == []
    assert tally.closed.total() == 1


def recorded(name: str, kind: str) -> tuple[LogBytes, LogBytes]:
    """A recorded job left when that kind of entry first came, and the same taken up."""
    lines = press.recorded(name)
    first = next(n for n, (_, k, _) in enumerate(lines) if k == kind)
    end = next(n for n in range(first, len(lines)) if lines[n][2]) + 1
    return parse(b"".join(raw for raw, _, _ in lines[:end])), parse(b"".join(raw for raw, _, _ in lines))


def taken_up(left: LogBytes, path: Path, times: int = 1) -> LogBytes:
    path.write_bytes(left.raw)
    for _ in range(times):
        talk = press.reopened(path)
        talk.session.writer.close()
    return parse(path.read_bytes())


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(press.JOBS))
def test_a_gate_whose_hazard_is_gone_is_not_asked_again_however_often_the_session_is_taken_up(
    name: str, tmp_path: Path
) -> None:
    """Killed twice in a row: a gate that the first taking up opened again does not put the job back to where it stands."""
    lines = press.recorded(name)
    closed = [
        n for n, (raw, kind, _) in enumerate(lines) if kind == "gate_closed" and b"gate_dead_and_empty" in raw
    ]
    end = next(n for n in range(closed[0], len(lines)) if lines[n][2]) + 1
    left = parse(b"".join(raw for raw, _, _ in lines[:end]))
    for times in (1, 2, 3):
        now = taken_up(left, tmp_path / "log.jsonl", times)
        at = max(n for n, row in enumerate(now.rows) if row["event"]["kind"] == "resumed")
        before = [row["event"] for row in now.rows[:at]]
        again = {row["event"]["act"] for row in now.rows[at:] if row["event"]["kind"] == "gate_rearmed"}
        assert again == must_open_again(before)
        assert "gate_leads_sound" not in again


def test_the_judges_find_what_they_are_for(tmp_path: Path) -> None:
    left, whole = recorded("demo", "timer_started")
    now = taken_up(left, tmp_path / "log.jsonl")
    assert taken_up_faults(left, now) == []
    assert time_faults(now) == left_faults(whole) == []

    def without(kind: str) -> LogBytes:
        rows = tuple(
            row for n, row in enumerate(now.rows) if n < len(left.rows) or row["event"]["kind"] != kind
        )
        return LogBytes(now.raw, now.ends, rows)

    assert any("was not asked again" in fault for fault in taken_up_faults(left, without("gate_rearmed")))
    torn = LogBytes(left.raw + b"{", left.ends, left.rows)
    assert "1 bytes were torn, and noted was []" in taken_up_faults(torn, now)
    assert (
        taken_up_faults(LogBytes(b"x" + left.raw, (1,), left.rows), now)[0]
        == "a line before the kill is not as it was"
    )
    slipped = [dict(row) for row in now.rows]
    slipped[-1]["mono"] += 5
    assert "slipped by" in time_faults(LogBytes(now.raw, now.ends, tuple(slipped)))[0]
    restarted = [dict(row) for row in now.rows]
    restarted[-1] |= {"boot": "another", "mono": 7.0}
    assert time_faults(LogBytes(now.raw, now.ends, tuple(restarted))) == []
    restarted[-1]["t"] += 5
    assert "went on by" in time_faults(LogBytes(now.raw, now.ends, tuple(restarted)))[0]
    assert cooling_faults(whole) == []
    let_out = next(
        n
        for n, row in enumerate(whole.rows)
        if row["event"].get("gate") == "cold_inside" and row["event"]["kind"] == "gate_closed"
    )
    moved = tuple(row | {"boot": "another"} if n >= let_out else row for n, row in enumerate(whole.rows))
    assert "without 'upper_reading'" in cooling_faults(LogBytes(whole.raw, whole.ends, moved))[0]
    told = ["bench: " + now.events("said")[-1]["text"]]
    assert told_faults(told, now, now) != []  # the last of twelve cannot be told first
    lost = ["you: something that is on no disk"]
    assert "told and not on disk" in told_faults(lost, left, now)[0]
