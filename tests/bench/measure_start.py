"""From the command to its first words, each time in a new process: `python tests/bench/measure_start.py`.

The screen is started in a terminal of its own, 80 by 24; it has been painted when its last line has come.
Beside it: an empty Textual screen in the same terminal, and the bare interpreter. The quickest of all rounds.
"""

from __future__ import annotations

import fcntl
import os
import pty
import struct
import subprocess
import sys
import tempfile
import termios
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from figures import Figure, table, wall_s

from assistant.bench.catalogue import PACKAGED

LOOPWRIGHT = (sys.executable, "-m", "tui.main")
PAINTED = b"F8 pedal"  # in the lowest line of the bench screen
EMPTY_SCREEN = """
from textual.app import App
from textual.widgets import Static

class Empty(App):
    def compose(self):
        yield Static("F8 pedal")

Empty().run()
"""
LONGEST_S = 60.0


def first_paint(command: Sequence[str]) -> tuple[float, float]:
    """Seconds until the screen has been painted, and the process's peak memory then [MB]."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    begun = time.perf_counter()
    environment = os.environ | {"TERM": "xterm-256color"}
    shown = subprocess.Popen(
        command, stdin=theirs, stdout=theirs, stderr=theirs, env=environment, start_new_session=True
    )
    os.close(theirs)
    painted = b""
    try:
        while PAINTED not in painted:
            assert time.perf_counter() - begun < LONGEST_S, "the screen was never painted"
            painted += os.read(ours, 65536)
        took_s = time.perf_counter() - begun
    finally:
        shown.kill()
        _, _, usage = os.wait4(shown.pid, 0)
        shown.returncode = -9
        os.close(ours)
    return took_s, usage.ru_maxrss / (1e6 if sys.platform == "darwin" else 1e3)


def figures(rounds: int) -> Iterator[Figure]:
    def run(*command: str) -> float:
        return min(
            wall_s(lambda: subprocess.run(command, check=True, capture_output=True)) for _ in range(rounds)
        )

    bare_s, help_s = run(sys.executable, "-c", "pass"), run(*LOOPWRIGHT, "--help")
    yield Figure("start: --help", f"{help_s:.2f} s", f"the bare interpreter {bare_s:.2f} s")
    with tempfile.TemporaryDirectory(dir=Path()) as name:
        sheet = PACKAGED / "jobs" / "flat_in_the_shop.toml"
        bench = (*LOOPWRIGHT, "--typed", "--new", "--folder", name, "--job", str(sheet))
        empty_s = min(first_paint((sys.executable, "-c", EMPTY_SCREEN))[0] for _ in range(rounds))
        painted = [first_paint(bench) for _ in range(rounds)]
    yield Figure(
        "start: bench screen, to its first picture",
        f"{min(took_s for took_s, _ in painted):.2f} s",
        f"an empty Textual screen {empty_s:.2f} s",
    )
    yield Figure(
        "peak memory of the typed bench screen, just begun", f"{max(mb for _, mb in painted):.0f} MB"
    )


if __name__ == "__main__":
    print(table(figures(5)))
