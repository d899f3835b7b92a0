"""What goes on when nothing can be recorded: danger, the timers that run and questions about them, and nothing of the job.

They go on in a copy of the state, held, from the moment when the record failed. After the session is closed only
danger is answered.
"""

from __future__ import annotations

from assistant.procedure import decide
from assistant.procedure import events as e
from assistant.procedure.answers import answer
from assistant.procedure.evolve import evolve
from assistant.procedure.rules import Rules
from assistant.procedure.state import State
from assistant.procedure.turn import Turn, Utter
from assistant.record.stamp import Stamp
from intents.meaning import Heard, Meaning, Understood

QUESTIONS = frozenset({"left", "until_cold", "time", "where", "recipe", "job", "ask_value", "supervisor"})
"""Answered also when the record has failed."""
CANT_WRITE = "the record can't be written"


def cannot_write(failed: str) -> Utter:
    """failed: the disk's sentence."""
    return Utter(f"I can't write the record, so I hold. {failed}", "alarm")


class Unrecorded:
    """failed: the disk's sentence; '' where the log is only closed."""

    def __init__(self, rules: Rules) -> None:
        self._rules = rules
        self.state = State()

    def begin(self, state: State, stamp: Stamp) -> None:
        """The record has failed in that state."""
        self.state = evolve(state, e.Held(reason=CANT_WRITE), stamp.t_s)

    def hear(self, heard: Heard, understood: Understood, stamp: Stamp, failed: str) -> Utter | None:
        """None: the session is over, and it was no cry."""
        intent = understood.intent if isinstance(understood, Meaning) else ""
        if intent == "danger":
            return self.danger(heard, stamp, failed)
        if not failed:
            return None
        clear = heard.way != "voice" or heard.verified
        if intent in ("false_alarm", "not_meant") and clear and self.state.danger:
            self.begin(evolve(self.state, e.FalseAlarm(), stamp.t_s), stamp)
        if isinstance(understood, Meaning) and intent in QUESTIONS:
            reply = answer(Turn(self._rules, self.state, stamp.t_s, stamp.wall), understood, heard)
            return Utter(f"{reply} Not recorded.", "prompt")
        return cannot_write(failed)

    def danger(self, heard: Heard, stamp: Stamp, failed: str) -> Utter:
        if not failed:
            ended = "The session is closed: my timers have ended, and this is not recorded."
            return Utter(f"{decide.OWN_STOP} {ended}", "alarm")
        self.state = evolve(self.state, e.Danger(words=heard.text), stamp.t_s)
        return Utter(f"{decide.DANGER} This is not recorded.", "alarm")

    def tick(self, stamp: Stamp) -> list[Utter]:
        """The press goes on whatever the disk does: its timers are called out."""
        turn = decide.tick(self._rules, self.state, stamp.t_s)
        self.state = turn.state
        return [Utter(f"{utter.text} Not recorded.", "alarm") for utter in turn.say if utter.rank == "alarm"]
