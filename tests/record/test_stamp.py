"""Session seconds follow the monotonic clock; a clock that is set is noted; a restart is bridged."""

from __future__ import annotations

import threading
import time
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from assistant.record.stamp import Stamp, SystemClock, boot_name


class Clocks:
    """A wall and a monotonic clock that are moved by hand."""

    def __init__(self) -> None:
        self.wall_s = datetime.fromisoformat("2026-11-25T14:00:00+01:00").timestamp()
        self.mono_s = 1000.0

    def pass_s(self, seconds: float) -> None:
        self.wall_s += seconds
        self.mono_s += seconds

    def clock(self, last: Stamp | None = None, boot: str = "0badcafe") -> SystemClock:
        return SystemClock(last, wall_s=lambda: self.wall_s, mono_s=lambda: self.mono_s, boot=boot)


def test_a_new_session_begins_at_zero_and_counts_seconds() -> None:
    clocks = Clocks()
    clock = clocks.clock()
    assert clock.now().t_s == 0.0
    clocks.pass_s(90.25)
    stamp = clock.now()
    assert (stamp.t_s, stamp.mono_s, stamp.boot) == (90.25, 1090.25, "0badcafe")
    assert datetime.fromisoformat(stamp.wall).timestamp() == pytest.approx(clocks.wall_s, abs=1e-3)
    assert clock.note() == ""


@pytest.mark.parametrize(
    ("moved_s", "words"), [(-3600.0, "set back by 3600 s"), (45.0, "set forward by 45 s")]
)
def test_a_clock_that_is_set_is_noted_once_and_session_time_goes_on(moved_s: float, words: str) -> None:
    clocks = Clocks()
    clock = clocks.clock()
    clocks.pass_s(10.0)
    clocks.wall_s += moved_s
    assert clock.now().t_s == 10.0
    assert words in clock.note()
    clocks.pass_s(5.0)
    assert clock.now().t_s == 15.0
    assert clock.note() == ""


def test_a_clock_that_is_trimmed_a_little_is_not_noted() -> None:
    clocks = Clocks()
    clock = clocks.clock()
    clocks.wall_s += 1.5
    clock.now()
    assert clock.note() == ""


def test_a_session_taken_up_in_the_same_boot_goes_by_the_monotonic_clock() -> None:
    clocks = Clocks()
    clocks.pass_s(100.0)
    last = clocks.clock().now()._replace(t_s=100.0)
    clocks.pass_s(31.0)
    clocks.wall_s -= 7200.0  # set back while the program was down
    clock = clocks.clock(last)
    assert clock.now().t_s == 131.0
    assert "set back by 7200 s" in clock.note()


@pytest.mark.parametrize("boot", ["ffffffff", ""])
def test_after_a_restart_of_the_computer_it_goes_by_the_wall_clock_and_says_so(boot: str) -> None:
    clocks = Clocks()
    last = clocks.clock().now()._replace(t_s=500.0, boot=boot and "0badcafe")
    clocks.wall_s += 60.0
    clocks.mono_s = 5.0
    clock = clocks.clock(last, boot)
    assert clock.now().t_s == 560.0
    assert "60 s since the last entry are by the wall clock" in clock.note()


def test_after_a_restart_with_the_clock_behind_no_time_is_made_up() -> None:
    clocks = Clocks()
    last = clocks.clock().now()._replace(t_s=500.0)
    clocks.wall_s -= 86400.0
    clocks.mono_s = 5.0
    clock = clocks.clock(last, "ffffffff")
    assert clock.now().t_s == 500.0
    assert "counts as none" in clock.note()


def test_time_never_runs_backwards_even_if_the_monotonic_clock_does() -> None:
    clocks = Clocks()
    clock = clocks.clock()
    clocks.pass_s(10.0)
    before = clock.now().t_s
    clocks.pass_s(-5.0)
    assert clock.now().t_s == before


def test_the_real_clock_runs() -> None:
    clock = SystemClock()
    first, second = clock.now(), clock.now()
    assert 0.0 <= first.t_s <= second.t_s < 5.0
    assert datetime.fromisoformat(first.wall).tzinfo is not None
    assert first.boot == boot_name()


def test_two_threads_that_ask_at_once_note_one_setting_once() -> None:
    clocks = Clocks()
    clock = clocks.clock()
    clocks.wall_s += 3600.0
    inside, meeting = [0], threading.Event()

    def slow_wall_s() -> float:
        inside[0] += 1
        if inside[0] == 2:  # both are reading: without a guard neither has noted it yet
            meeting.set()
        meeting.wait(0.2)
        return clocks.wall_s

    clock._read_wall_s = slow_wall_s
    threads = [threading.Thread(target=clock.now) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert clock.note().count("was set forward") == 1


@pytest.mark.parametrize(
    ("zone", "change"),
    [
        # class: printed -- IANA time zone database, rules EU, LH and the zones Antarctica/Casey and Asia/Kathmandu
        ("Europe/Berlin", "2026-10-25T01:00:00+00:00"),
        ("Europe/Berlin", "2027-03-28T01:00:00+00:00"),
        ("Australia/Lord_Howe", "2027-04-03T15:00:00+00:00"),
        ("Antarctica/Casey", "2020-10-03T16:01:00+00:00"),  # not at a whole quarter of an hour
        ("Asia/Kathmandu", "2026-11-25T14:05:00+00:00"),  # no change, an odd offset
    ],
)
def test_the_wall_time_has_the_offset_of_its_moment_also_where_clocks_change(
    zone: str, change: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    try:
        clocks = Clocks()
        clocks.wall_s = datetime.fromisoformat(change).timestamp() - 45.0
        clock = clocks.clock()
        for _ in range(40):
            there = datetime.fromtimestamp(clocks.wall_s, ZoneInfo(zone))
            assert clock.now().wall == there.isoformat(
                timespec="milliseconds"
            )  # class: peer library -- zoneinfo
            clocks.pass_s(3.7)
    finally:
        monkeypatch.undo()
        time.tzset()
