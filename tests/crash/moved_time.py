"""The program as its own command line starts it, on a computer whose clocks are moved on, and that can be restarted.

    python moved_time.py FILE talk --typed ...     FILE holds what `MovedTime` has written there

The wall clock and the monotonic one move together, as when time passes; after a restart the monotonic one begins anew,
the kernel names another boot, and the wall clock may be wrong. Nothing of the program is changed.
"""

from __future__ import annotations

import mmap
import struct
import sys
import time
from pathlib import Path

STATE = struct.Struct(
    "dddd"
)  # passed, monotonic clock and wall clock beside that [s], starts of the computer
BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
ROOT = Path(__file__).parents[2]


class MovedTime:
    """The file, written by the harness and read by each program that it starts."""

    def __init__(self, path: Path) -> None:
        if not path.exists():
            path.write_bytes(STATE.pack(0.0, 0.0, 0.0, 0.0))
        with path.open("r+b") as file:
            self._shared = mmap.mmap(file.fileno(), STATE.size)
        self.path = path

    def advance(self, seconds: float) -> None:
        passed_s, mono_s, wall_s, starts = self._state()
        STATE.pack_into(self._shared, 0, passed_s + seconds, mono_s, wall_s, starts)

    def restart(self, up_s: float, wall_wrong_s: float) -> None:
        """The computer starts anew: another boot, up for `up_s`, its wall clock wrong by so much from now on."""
        passed_s, _, _, starts = self._state()
        real_s = time.clock_gettime(time.CLOCK_BOOTTIME)
        STATE.pack_into(self._shared, 0, passed_s, up_s - real_s - passed_s, wall_wrong_s, starts + 1)

    def mono_s(self, real_s: float | None = None) -> float:
        """What the program's monotonic clock shows now. real_s: the computer's own, where it has been read."""
        passed_s, mono_s, _, _ = self._state()
        own_s = time.clock_gettime(time.CLOCK_BOOTTIME) if real_s is None else real_s
        return own_s + passed_s + mono_s

    def wall_s(self, real_s: float) -> float:
        passed_s, _, wall_s, _ = self._state()
        return real_s + passed_s + wall_s

    def boot_id(self, real: bytes) -> bytes:
        starts = round(self._state()[3])
        return real if starts == 0 else b"start %d\n" % starts

    def _state(self) -> tuple[float, float, float, float]:
        passed_s, mono_s, wall_s, starts = STATE.unpack_from(self._shared)
        return float(passed_s), float(mono_s), float(wall_s), float(starts)


def _move_the_clocks(moved: MovedTime) -> None:
    wall_s, clock_s, read_bytes = time.time, time.clock_gettime, Path.read_bytes
    time.time = lambda: moved.wall_s(wall_s())
    time.clock_gettime = lambda which: (
        moved.mono_s(clock_s(which)) if which == time.CLOCK_BOOTTIME else clock_s(which)
    )
    Path.read_bytes = lambda path: (  # type: ignore[method-assign]
        moved.boot_id(read_bytes(path)) if path == BOOT_ID else read_bytes(path)
    )


if __name__ == "__main__":
    _move_the_clocks(MovedTime(Path(sys.argv[1])))  # before the program takes hold of them
    sys.path[0] = str(ROOT)
    from tui.main import run

    run(sys.argv[2:])
