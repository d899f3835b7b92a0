"""The run: when heat and cooling began, the timers and what is called out as they run down."""

from __future__ import annotations

from assistant.procedure import events as e
from assistant.procedure.amiss import not_at_set
from assistant.procedure.model import Act
from assistant.procedure.rules import current
from assistant.procedure.state import Timer
from assistant.procedure.turn import Turn
from intents.meaning import Heard

CALLS = (60, 30, 10, 0)  # seconds left
_ENDS = {
    "preheat": "The preheat is over.",
    "ramp": "Both platens should be at temperature by now. Tell me when they are: 'it is at temperature'.",
    "dwell": "The dwell is over.",
    "cool": "It should be cold enough by now; the readings decide.",
}


def enter_mark(turn: Turn, act: Act) -> None:
    """A step that starts heat or cooling, or lets the pressure out, is stamped."""
    if act.marks is not None:
        turn.emit(e.RunMarked(mark=act.marks))


def tell_at_set(turn: Turn, act: Act, heard: Heard) -> None:
    if act.timer != "ramp":
        turn.tell("That does not answer this.")
        turn.prompt_again = True
        return
    if reason := not_at_set(turn):
        turn.emit(e.ValueRefused(slot="at_set", value=None, said=heard.text, reason=reason))
        turn.tell(reason)
        turn.prompt_again = True
        return
    turn.emit(e.TimerEnded(name="ramp"))
    turn.emit(e.RunMarked(mark="at_set"))
    turn.emit(e.ActDone(act=act.id, by=heard.way))


def tick_timers(turn: Turn) -> None:
    """Calls out what is due. A late tick calls only the last mark that has passed, never a row of them."""
    for timer in turn.state.timers:
        if timer.deadline_s is None:
            continue
        if turn.state.inquiry is not None and timer.name in ("preheat", "dwell"):
            continue  # whether that time counts is being asked
        left = timer.deadline_s - turn.now_s
        due = [m for m in CALLS if left <= m and m not in timer.called and (timer.total_s or 0) > m]
        if not due:
            continue
        mark = min(due)
        turn.emit(e.TimerCalled(name=timer.name, mark_s=mark))
        if mark > 0:
            turn.tell(
                f"{timer.name.capitalize()}: {mark} seconds."
                if mark < 60
                else f"{timer.name.capitalize()}: one minute.",
                "alarm",
            )
        else:
            _ended(turn, timer)


def _ended(turn: Turn, timer: Timer) -> None:
    turn.tell(_ENDS[timer.name], "alarm")
    if timer.name == "ramp":
        return  # only the display says when the platens are there
    turn.emit(e.TimerEnded(name=timer.name))
    here = current(turn.rules, turn.state)
    if here is not None and here[1].kind == "timer" and here[1].timer == timer.name:
        turn.emit(e.ActDone(act=here[1].id, by="timer"))
    elif here is not None and here[1].kind == "gate":
        # A gate was asked again meanwhile: the timer's act is done all the same, the gate still stands before the next.
        for _, act in turn.rules.acts():
            if act.kind == "timer" and act.timer == timer.name and act.id not in turn.state.done:
                turn.emit(e.ActDone(act=act.id, by="timer"))
