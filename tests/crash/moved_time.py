"""The program as its own command line starts it, on a computer whose clocks are moved on.

    python moved_time.py FILE talk --typed ...     FILE holds one double: seconds to add to both clocks

The wall clock and the monotonic one move together, as when time passes. Nothing of the program is changed.
"""

from __future__ import annotations

import mmap
import struct
import sys
import time
from pathlib import Path

SECONDS = struct.Struct("d")
ROOT = Path(__file__).parents[2]


class MovedTime:
    """The file, written by the harness and read by each program that it starts."""

    def __init__(self, path: Path) -> None:
        if not path.exists():
            path.write_bytes(SECONDS.pack(0.0))
        with path.open("r+b") as file:
            self._shared = mmap.mmap(file.fileno(), SECONDS.size)
        self.path = path

    @property
    def seconds(self) -> float:
        return float(SECONDS.unpack_from(self._shared)[0])

    def advance(self, seconds: float) -> None:
        SECONDS.pack_into(self._shared, 0, self.seconds + seconds)

    def mono_s(self) -> float:
        """What the program's monotonic clock shows now."""
        return time.clock_gettime(time.CLOCK_BOOTTIME) + self.seconds


def _move_the_clocks(moved: MovedTime) -> None:
    wall_s, clock_s = time.time, time.clock_gettime
    time.time = lambda: wall_s() + moved.seconds
    time.clock_gettime = lambda which: (
        clock_s(which) + (moved.seconds if which == time.CLOCK_BOOTTIME else 0.0)
    )


if __name__ == "__main__":
    _move_the_clocks(MovedTime(Path(sys.argv[1])))  # before the program takes hold of them
    sys.path[0] = str(ROOT)
    from tui.main import run

    run(sys.argv[2:])
