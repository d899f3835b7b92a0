"""A process in a time zone of its own (TZ): takes a session up in its dwell and lets a change of time go by.

    TZ=Europe/Berlin python tests/odd/zone_child.py LOG WALL_S

WALL_S: what the wall clock shows when the session is taken up, seconds since 1970. Prints one JSON object.
"""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1])]

import at_the_press as press  # noqa: E402

from assistant.record.log import LogWriter  # noqa: E402
from assistant.record.stamp import SystemClock  # noqa: E402
from assistant.session import Session  # noqa: E402

STEP_S = 5.0


class Computer:
    """A wall and a monotonic clock that run alike."""

    def __init__(self, wall_s: float, mono_s: float) -> None:
        self.wall_s, self.mono_s = wall_s, mono_s

    def advance(self, seconds: float) -> None:
        self.wall_s += seconds
        self.mono_s += seconds


def main(log: Path, wall_s: float) -> None:
    time.tzset()
    writer = LogWriter.open_existing(log)
    last = writer.lines[-1].stamp
    computer = Computer(wall_s, last.mono_s + 5.0)
    clock = SystemClock(last, wall_s=lambda: computer.wall_s, mono_s=lambda: computer.mono_s, boot=last.boot)
    session = Session(press.bench().rules, press.bench().book, writer, clock)
    session.take_up(writer.lines, 0)
    for words in ("it went on as it was", "that is correct"):
        computer.advance(1.0)
        session.typed(words)
    before = [(timer.name, timer.deadline_s) for timer in session.state.timers]
    after, over_s = before, None
    for _ in range(200):
        computer.advance(STEP_S)
        session.tick()
        if any("The dwell is over" in line.text for line in session.lines_since(0)):
            over_s = clock.now().t_s
            break
        after = [(timer.name, timer.deadline_s) for timer in session.state.timers]
    writer.close()
    print(json.dumps({"before": before, "after": after, "over_s": over_s}))


if __name__ == "__main__":
    main(Path(sys.argv[1]), float(sys.argv[2]))
