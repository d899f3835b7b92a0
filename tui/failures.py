"""How often an engine may fail and be made anew before it is given up."""

from __future__ import annotations

from collections import deque

MOST = 3
WITHIN_S = 60.0


class Failures:
    """Counts those that lie close together: one in an hour is no reason to go deaf for the rest of a job."""

    def __init__(self) -> None:
        self._last: deque[float] = deque(maxlen=MOST)

    def too_many(self, now_s: float) -> bool:
        """One more, at this session second. Returns: whether that is one too many."""
        self._last.append(now_s)
        return len(self._last) == MOST and now_s - self._last[0] < WITHIN_S
