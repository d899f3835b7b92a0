"""A preheat or dwell of which no clock knows how long it has been: the computer was restarted meanwhile.

It ends when the technician says so, by the press's own timer and the readings; never by itself.
"""

from __future__ import annotations

from assistant.procedure import events as e
from assistant.procedure.state import State
from assistant.procedure.turn import Turn

_HELD_FOR = ("preheat", "dwell")


def untime(turn: Turn) -> str:
    """Lets no such timer run on after a time that nothing vouches for. Returns: what to say of it."""
    unknown = [timer for timer in turn.state.timers if timer.name in _HELD_FOR]
    for timer in unknown:
        turn.emit(e.TimerStarted(name=timer.name, deadline_s=None, total_s=timer.total_s))
    return " ".join(f"How long the {timer.name} has been is not known to me." for timer in unknown)


def is_untimed(state: State, name: str | None) -> bool:
    """Whether the timer `name` runs without its end being known."""
    timer = state.timer(name or "")
    return timer is not None and timer.name in _HELD_FOR and timer.deadline_s is None
