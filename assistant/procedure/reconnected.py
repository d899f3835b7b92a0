"""Somebody has connected the press again after it was isolated: it is isolated anew, and its gate is asked again."""

from __future__ import annotations

from assistant.procedure import events as e
from assistant.procedure.gates import rearm
from assistant.procedure.rules import Rules, current
from assistant.procedure.state import State
from assistant.procedure.turn import Turn

_STAGES = ("isolate", "unfasten")


def can_be_reconnected(rules: Rules, state: State) -> bool:
    """From the first thing that was switched off until the press is open and apart."""
    here = current(rules, state)
    return here is not None and here[0].id in _STAGES and any(a in state.done for a in _isolating(rules))


def reconnect(turn: Turn) -> None:
    """All that isolates the press is done and read again."""
    again = tuple(a for a in _isolating(turn.rules) if a in turn.state.done)
    rearm(turn, "reconnect", "the press was connected again")
    turn.emit(e.WentBack(acts=again, why="change"))
    turn.tell("Then it is not isolated: touch no fastener. Switch it off again, step by step.")
    turn.prompt_again = True


def _isolating(rules: Rules) -> tuple[str, ...]:
    return tuple(act.id for stage, act in rules.acts() if stage.id == "isolate" and act.gate is None)
