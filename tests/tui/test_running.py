"""The session's own thread: time ticks whatever comes in, and a chattering pedal is one press."""

from __future__ import annotations

import time
from types import SimpleNamespace
from typing import Any

import pytest

from tui import running
from tui.running import RunningSession


class BusySession:
    """Counts its ticks and presses; every press takes a while."""

    def __init__(self) -> None:
        self.ticks = self.presses = 0
        self.clock = SimpleNamespace(now=lambda: SimpleNamespace(t_s=time.monotonic()))
        self.writer = SimpleNamespace(close=lambda: None)

    def tick(self) -> None:
        self.ticks += 1

    def key(self, at_s: float) -> None:
        del at_s
        self.presses += 1
        time.sleep(0.01)


def _running() -> tuple[Any, BusySession]:
    session = BusySession()
    return RunningSession(session), session  # type: ignore[arg-type]


def test_inputs_without_a_pause_do_not_starve_the_timers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(running, "BEAT_S", 0.05)
    monkeypatch.setattr(running, "BOUNCES_S", 0.0)
    port, session = _running()
    end = time.monotonic() + 0.6
    while time.monotonic() < end:
        port.key()
        time.sleep(0.005)  # faster than they are taken
    ticks = session.ticks
    port.close()
    assert ticks >= 4  # class: analytic -- a dozen beats in that time, on a slow computer a third


def test_a_pedal_held_down_or_chattering_is_one_press() -> None:
    port, session = _running()
    for _ in range(20):
        port.key()
        time.sleep(0.02)
    time.sleep(0.4)
    port.key()
    while not port.idle():
        time.sleep(0.01)
    port.close()
    assert session.presses == 2  # class: analytic -- the one that was held, and the next
