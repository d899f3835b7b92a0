"""A computer whose clocks a test sets: the real session clock runs on them, and nothing else is simulated."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from assistant.mouth import Mouth
from assistant.record.log import LogWriter
from assistant.record.stamp import Stamp, SystemClock
from assistant.session import Session


class Computer:
    """Wall clock, monotonic clock and name of the boot, as `SystemClock` reads them."""

    def __init__(self, last: Stamp) -> None:
        self.wall_s = datetime.fromisoformat(last.wall).timestamp()
        self.mono_s, self.boot = last.mono_s, last.boot
        self.clock = self.switched_on(last)

    def switched_on(self, last: Stamp) -> SystemClock:
        """The clock of a program that takes up a session whose last line has this stamp."""
        self.clock = SystemClock(last, wall_s=lambda: self.wall_s, mono_s=lambda: self.mono_s, boot=self.boot)
        return self.clock

    @property
    def t_s(self) -> float:
        return self.clock.now().t_s

    def advance(self, seconds: float) -> None:
        self.wall_s += seconds
        self.mono_s += seconds

    def restart(self, gap_s: float) -> None:
        """The computer was off so long by its wall clock, which may have been set meanwhile."""
        self.wall_s += gap_s
        self.mono_s, self.boot = 12.0, f"{(int(self.boot, 16) + 1) % 2**32:08x}"


def take_up(
    session_of: Session, writer: LogWriter, computer: Computer, mouth: Mouth | None = None
) -> Session:
    """The session of a log just opened, on this computer; rules and phrases as in `session_of`."""
    lines: Sequence = writer.lines
    session = Session(session_of.rules, session_of.book, writer, computer.switched_on(lines[-1].stamp), mouth)
    session.take_up(lines, writer.torn.cut_bytes if writer.torn else 0)
    return session
