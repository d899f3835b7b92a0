"""'That was not for you': what the words before it did is taken back, where it can be, and what came of them is said."""

from __future__ import annotations

from assistant.procedure import events as e
from assistant.procedure.back import go_back
from assistant.procedure.gates import rearm_act
from assistant.procedure.rules import current
from assistant.procedure.turn import Turn
from assistant.procedure.values import scratch, taken_back

STAYS = "What was written down stays in the record; a note can say that it was not meant."


def not_meant(turn: Turn) -> None:
    """Takes back what the last utterance that was for us did. Opens no gate: one that it closed is asked again."""
    state = turn.state
    what, _, which = state.moved.partition(" ")
    if what == "asked" and state.asking is not None:
        turn.emit(e.AskedBack(question=""))
        turn.tell("All right, that does not count.")
    elif what == "offered" and state.offered is not None:
        taken_back(turn)
        turn.tell("All right, that does not count.")
    elif what == "held" and state.held:
        turn.emit(e.Released())
        turn.tell("All right: not held.")
    elif what == "gate":
        rearm_act(turn, lambda act: act.id == which, "the answer was not meant")
        turn.tell("All right: I ask that again.")
    elif what == "value":
        scratch(turn)
    elif what == "act":
        _step(turn, which)
    elif what == "stays":
        turn.tell(STAYS)
    else:
        turn.tell("All right. Nothing had come of it.")
    turn.prompt_again = True


def _step(turn: Turn, act_id: str) -> None:
    act = turn.rules.act(act_id)
    if act is None or act.kind == "timer" or current(turn.rules, turn.state) is None:
        turn.tell("That has happened and can't be taken back. Make a note, or record a deviation.")
    else:
        go_back(turn)
