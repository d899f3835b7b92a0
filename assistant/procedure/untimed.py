"""A preheat or dwell of which no clock knows how long it has been: the computer was restarted meanwhile.

It ends when the technician says so, by the press's own timer and the readings; never by itself.
"""

from __future__ import annotations

from assistant.procedure import events as e
from assistant.procedure.state import State
from assistant.procedure.turn import Turn
from assistant.procedure.unchecked import vouched_since

_HELD_FOR = ("preheat", "dwell")


def untime(turn: Turn) -> str:
    """Lets no such timer run on after a time that nothing vouches for. Returns: what to say of it."""
    unknown = [timer for timer in turn.state.timers if timer.name in _HELD_FOR]
    for timer in unknown:
        turn.emit(e.TimerStarted(name=timer.name, deadline_s=None, total_s=timer.total_s))
    return " ".join(_not_known(timer.name) for timer in unknown)


def start_untimed(turn: Turn, name: e.TimerName | None, start_s: float, total_s: float | None) -> bool:
    """Starts the timer `name`, which counts from `start_s`, without an end, if there was such a time since then."""
    if name not in _HELD_FOR or vouched_since(turn.state, start_s):
        return False
    turn.emit(e.TimerStarted(name=name, deadline_s=None, total_s=total_s))
    turn.tell(_not_known(name))
    return True


def _not_known(name: str) -> str:
    return f"How long the {name} has been is not known to me."


def is_untimed(state: State, name: str | None) -> bool:
    """Whether the timer `name` runs without its end being known."""
    timer = state.timer(name or "")
    return timer is not None and timer.name in _HELD_FOR and timer.deadline_s is None
