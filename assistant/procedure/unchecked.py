"""Cooling without the times that nothing vouches for: after a restart of the computer only its wall clock is left,
and that may have been set. As long as nobody knows how long it was, it counts as none, and what was read before it
says nothing of now.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from assistant.procedure.state import Reading, State

if TYPE_CHECKING:
    from assistant.recipe.during import Timeline


def vouched_since(state: State, from_s: float) -> bool:
    """Whether there has been no such time since then [session second]."""
    return all(until_s <= from_s for _, until_s in state.unchecked)


def cooling_seen(
    state: State, timeline: Timeline, now_s: float
) -> tuple[Timeline, tuple[Reading, ...], float]:
    """Timeline, readings and now [s], with the unchecked times taken out."""
    if not state.unchecked or timeline.cool_on_s is None:
        return timeline, state.readings, now_s
    cooled = replace(timeline, cool_on_s=_vouched_s(state, timeline.cool_on_s))
    readings = tuple(replace(r, t_s=_vouched_s(state, r.t_s)) for r in state.readings)
    return cooled, readings, _vouched_s(state, now_s)


def reads_since_s(state: State) -> float | None:
    """From when on a reading tells of the cooling as it is now [session second]; None: it has not begun."""
    if state.cool_on_s is None:
        return None
    return max(state.cool_on_s, *(until_s for _, until_s in state.unchecked), state.cool_on_s)


def _vouched_s(state: State, t_s: float) -> float:
    return t_s - sum(max(0.0, min(t_s, until_s) - from_s) for from_s, until_s in state.unchecked)
