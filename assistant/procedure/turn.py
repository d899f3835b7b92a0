"""One turn of the conversation while it is being decided: the events so far, the state after them, what is said."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from assistant.procedure.events import Event, Outcome
from assistant.procedure.evolve import evolve
from assistant.procedure.rules import Rules
from assistant.procedure.state import State

Rank = Literal["alarm", "prompt", "chat"]


@dataclass(frozen=True)
class Utter:
    text: str
    rank: Rank = "chat"


@dataclass
class Turn:
    """Grows while a turn is decided; nothing in it has happened until the session has it on disk."""

    rules: Rules
    state: State
    now_s: float
    wall: str = ""  # the same moment by the wall clock, ISO 8601; '' where it is not known
    events: list[Event] = field(default_factory=list)
    say: list[Utter] = field(default_factory=list)
    finish: Outcome | None = None  # the session closes the log after this turn
    prompt_again: bool = False  # put the question again although it has not changed
    prompt_whole: bool = False  # and then in full, not as after a miss
    asked: str = ""  # key of the question that the turn ends in, if it puts one

    def emit(self, event: Event) -> None:
        self.events.append(event)
        self.state = evolve(self.state, event, self.now_s)

    def tell(self, text: str, rank: Rank = "chat") -> None:
        if text:
            self.say.append(Utter(text, rank))
