"""A run: conduction from one law of the platens to the next, and when something first happens in it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assistant.recipe.conduction import Boundary, Conduction, Segment
from assistant.recipe.melting import Melting

if TYPE_CHECKING:
    from assistant.recipe.conduction import Floats

SHORT = 1e-3  # of the time since the start: how finely an event is bracketed
SHORTEST_S = 1e-6
FOREVER_S = 1e10  # for what must come, however slow the lay-up


@dataclass(frozen=True)
class Run:
    """Segments one after another; `starts_s[i]` is when segment i begins. The last one goes on for ever."""

    body: Conduction
    starts_s: tuple[float, ...] = ()
    segments: tuple[Segment | Melting, ...] = ()

    def then(self, start_s: float, nodes: Floats, upper: Boundary, lower: Boundary) -> Run:
        """From `start_s` on under new boundaries, starting at `nodes`."""
        kind = Melting if self.body.melts else Segment
        segment = kind(self.body, nodes, upper, lower)
        return Run(self.body, (*self.starts_s, start_s), (*self.segments, segment))

    def nodes(self, t_s: Floats | float) -> Floats:
        """Node temperatures [K], shape (size, times); times before the first segment count as its start."""
        import numpy as np

        t = np.atleast_1d(np.asarray(t_s, dtype=float))
        which = np.clip(np.searchsorted(self.starts_s, t, side="right") - 1, 0, None)
        out = np.empty((self.body.size, len(t)))
        for index in np.unique(which):
            chosen = which == index
            out[:, chosen] = self.segments[index].nodes(np.maximum(t[chosen] - self.starts_s[index], 0.0))
        return out

    def now(self, t_s: float) -> Floats:
        """Node temperatures at one time, shape (size,)."""
        return self.nodes(t_s)[:, 0]

    def belt(self, t_s: Floats | float) -> Floats:
        """Belt temperatures [K], shape (points, times)."""
        return self.body.belt(self.nodes(t_s))

    def coldest_over_fusion_K(self, t_s: Floats | float) -> Floats:
        """How far the coldest belt point lies above its own fusion temperature."""
        return _lowest(self.belt(t_s) - self.body.fusion_K[:, None])

    def hottest_over_fusion_K(self, t_s: Floats | float) -> Floats:
        """How far the furthest belt point lies above its own fusion temperature."""
        return -_lowest(self.body.fusion_K[:, None] - self.belt(t_s))

    def coldest_K(self, t_s: Floats | float) -> Floats:
        return _lowest(self.belt(t_s))

    def hottest_K(self, t_s: Floats | float) -> Floats:
        return -_lowest(-self.belt(t_s))

    def over_damage_K(self, t_s: Floats | float) -> Floats:
        """How far the worst belt point lies above its own damage temperature."""
        return -_lowest(self.body.damage_K[:, None] - self.belt(t_s))


def time_above_s(times_s: Floats, over: Floats) -> Floats:
    """How long values are not negative, with straight lines between the times; over (..., times)."""
    import numpy as np

    a, b = over[..., :-1], over[..., 1:]
    high, low = np.maximum(a, b), np.minimum(a, b)
    span = np.where(high > low, high - low, 1.0)
    share = np.where(low >= 0, 1.0, np.clip(high / span, 0.0, 1.0))
    found: Floats = (share * np.diff(times_s)).sum(axis=-1)
    return found


def _lowest(temperatures: Floats) -> Floats:
    lowest: Floats = temperatures.min(axis=0)
    return lowest


def first_time(
    value: Callable[[Floats], Floats], start_s: float, stop_s: float, samples: int = 96
) -> float | None:
    """The first time in [start, stop] at which `value` is no longer negative; None if it stays so.

    Sampled; the interval found is divided again and again until it is short against the time since the
    start, then a straight line: good to about 1e-6 of that time, however early the event.
    """
    import numpy as np

    times = np.linspace(start_s, stop_s, samples)
    while True:
        values = value(times)
        reached = values >= 0
        if not reached.any():
            return None
        at = int(np.argmax(reached))
        if at == 0:
            return float(times[0])
        if times[at] - times[at - 1] <= max(SHORT * (times[at] - start_s), SHORTEST_S):
            break
        times = np.linspace(times[at - 1], times[at], 12)
    below, above = float(values[at - 1]), float(values[at])
    return float(times[at - 1] + (times[at] - times[at - 1]) * below / (below - above))


def first_time_ever(
    value: Callable[[Floats], Floats], start_s: float, longest_s: float = 6 * 3600.0
) -> float | None:
    """As `first_time`, looking further and further ahead: early events are found finely, late ones too."""
    begin, length = start_s, 60.0
    while begin - start_s < longest_s:
        found = first_time(value, begin, begin + length, samples=48)
        if found is not None:
            return found
        begin, length = begin + length, length * 2
    return None
