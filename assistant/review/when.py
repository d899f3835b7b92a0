"""Wall times of a session as a table shows them: the clock, and date and offset only where there are several."""

from __future__ import annotations

from collections.abc import Iterable


def day_of(wall: str) -> str:
    """'2026-11-25' of an ISO 8601 wall time."""
    return wall[:10]


def offset_of(wall: str) -> str:
    """'+01:00' of an ISO 8601 wall time with its offset; 'Z' is '+00:00'."""
    clock = wall.partition("T")[2]
    sign = max(clock.rfind("+"), clock.rfind("-"))
    return clock[sign:] if sign > 0 else "+00:00"


class When:
    """How the times of one session are written: of all wall times that stand in it."""

    def __init__(self, walls: Iterable[str]) -> None:
        days, offsets = set(), set()
        for wall in walls:
            days.add(day_of(wall))
            offsets.add(offset_of(wall))
        self._days, self._offsets = len(days) > 1, len(offsets) > 1

    def clock(self, wall: str) -> str:
        """'14:05:00', '11-25 14:05:00' in a session over midnight, '11-25 14:05:00 +01:00' where the offset changed."""
        day = f"{wall[5:10]} " if self._days else ""
        offset = f" {offset_of(wall)}" if self._offsets else ""
        return f"{day}{wall[11:19]}{offset}"
