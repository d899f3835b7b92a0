"""Time that can be moved on at will. It exists only together with a simulated press, and its logs say SIMULATED."""

from __future__ import annotations

from datetime import datetime, timedelta

from assistant.record.stamp import Stamp


class SimulatedClock:
    """Session seconds that pass only when told. Raises: ValueError for time that would run backwards."""

    def __init__(self, begun: datetime) -> None:
        self._begun = begun
        self._t_s = 0.0

    def advance(self, seconds: float) -> None:
        if seconds < 0:
            raise ValueError("Time does not run backwards.")
        self._t_s += seconds

    def now(self) -> Stamp:
        wall = (self._begun + timedelta(seconds=self._t_s)).isoformat(timespec="milliseconds")
        return Stamp(round(self._t_s, 3), wall, round(self._t_s, 3))

    def note(self) -> str:
        return ""
