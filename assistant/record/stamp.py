"""When something happened: session seconds, wall time, monotonic reading. And the clock of a real session.

Session seconds follow the monotonic clock within one boot of the computer, sleep included, and the
wall clock across a restart of the computer, because nothing else is left then.
"""

from __future__ import annotations

import hashlib
import threading
import time
from collections.abc import Callable
from datetime import datetime, tzinfo
from pathlib import Path
from typing import NamedTuple, Protocol

SET_BY_S = 2.0  # the wall clock moved against the monotonic one by more than this: somebody set it
_MINUTE_s = 60  # clocks are set to and from summer time at whole minutes
_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")


class Stamp(NamedTuple):
    """t_s: seconds since the session was opened. wall: ISO 8601 with offset, milliseconds.

    mono_s: monotonic reading, seconds, meaningful only within the boot that `boot` names ('' unknown).
    """

    t_s: float
    wall: str
    mono_s: float
    boot: str = ""


def instant_s(wall: str) -> float:
    """Seconds since 1970 of a wall time (ISO 8601 with offset), to put such times in order; 0.0 for what is none.

    Their texts are in order only while the offset stays the same.
    """
    try:
        return datetime.fromisoformat(wall).timestamp()
    except (ValueError, OverflowError, OSError):
        return 0.0


class Clock(Protocol):
    """What the session asks for the time."""

    def now(self) -> Stamp: ...

    def note(self) -> str:
        """What has happened to the clock since last asked, a sentence for the log; '' for nothing."""
        ...


def boot_name() -> str:
    """Eight hex digits that change with every start of the computer; '' where the system names none.

    A digest, so that the log does not carry the computer's own identifier.
    """
    try:
        return hashlib.sha256(_BOOT_ID.read_bytes()).hexdigest()[:8]
    except OSError:
        return ""


def _mono_s() -> float:
    # CLOCK_BOOTTIME goes on while a laptop sleeps; time.monotonic does not on Linux.
    boottime = getattr(time, "CLOCK_BOOTTIME", None)
    return time.monotonic() if boottime is None else time.clock_gettime(boottime)


class SystemClock:
    """The computer's own clocks, read by any thread. `last`: the last stamp of a session that is taken up again."""

    def __init__(
        self,
        last: Stamp | None = None,
        *,
        wall_s: Callable[[], float] = time.time,
        mono_s: Callable[[], float] = _mono_s,
        boot: str | None = None,
    ) -> None:
        self._read_wall_s, self._read_mono_s = wall_s, mono_s
        self._boot = boot_name() if boot is None else boot
        self._note = ""
        self._minute = float("nan")  # of the wall clock,
        self._zone: tzinfo | None = None  # and the offset from UTC in it: slow to find anew
        self._guard = threading.Lock()
        mono, wall = mono_s(), wall_s()
        self._wall_minus_mono_s = wall - mono
        self._latest_s = 0.0 if last is None else last.t_s
        self._start_mono_s = mono - (0.0 if last is None else self._taken_up_s(last, mono, wall))

    def _taken_up_s(self, last: Stamp, mono_s: float, wall_s: float) -> float:
        """Session seconds now, from the last stamp; leaves a note where the way is doubtful."""
        by_wall_s = wall_s - datetime.fromisoformat(last.wall).timestamp()
        by_mono_s = mono_s - last.mono_s
        if self._boot and self._boot == last.boot and by_mono_s >= 0:
            if abs(by_wall_s - by_mono_s) > SET_BY_S:
                self._note = _set_sentence(by_wall_s - by_mono_s)
            return last.t_s + by_mono_s
        restarted = "The computer was restarted" if self._boot else "The computer may have been restarted"
        if by_wall_s < 0:
            self._note = (
                f"{restarted} and its clock stands {-by_wall_s:.0f} s before the last entry: "
                "the time between is not known and counts as none."
            )
            return last.t_s
        self._note = (
            f"{restarted}: the {by_wall_s:.0f} s since the last entry are by the wall clock, "
            "which nothing checks."
        )
        return last.t_s + by_wall_s

    def now(self) -> Stamp:
        """Never earlier than the stamp before."""
        with self._guard:
            mono, wall = self._read_mono_s(), self._read_wall_s()
            moved_s = wall - mono - self._wall_minus_mono_s
            if abs(moved_s) > SET_BY_S:
                self._note = " ".join(filter(None, (self._note, _set_sentence(moved_s))))
                self._wall_minus_mono_s = wall - mono
            self._latest_s = latest_s = max(self._latest_s, mono - self._start_mono_s)
            minute = wall // _MINUTE_s
            if minute != self._minute:
                self._minute, self._zone = minute, datetime.fromtimestamp(wall).astimezone().tzinfo
            zone = self._zone
        said = datetime.fromtimestamp(wall, zone).isoformat(timespec="milliseconds")
        return Stamp(round(latest_s, 3), said, round(mono, 3), self._boot)

    def note(self) -> str:
        with self._guard:
            note, self._note = self._note, ""
        return note


def _set_sentence(moved_s: float) -> str:
    way = "forward" if moved_s > 0 else "back"
    return f"The clock was set {way} by {abs(moved_s):.0f} s; timers go on by the monotonic clock."
