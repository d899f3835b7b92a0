"""What the session wants of a voice, and how what is said together is given to it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Literal, Protocol

from assistant.procedure.turn import Rank, Utter

Adjust = Literal["slower", "faster", "louder", "quieter"]
Cue = Literal["taken", "listening"]


class Mouth(Protocol):
    """Says things aloud; returns at once. `ended` is called when the text has been said or cut short."""

    def say(self, text: str, rank: Rank, ended: Callable[[], None]) -> None: ...
    def hush(self) -> None: ...
    def adjust(self, how: Adjust) -> None: ...
    def cue(self, which: Cue) -> None:
        """A short sound: an utterance was taken, or an answer may come now."""


def no_more() -> None:
    """Nobody waits for the end of it."""


def say_together(mouth: Mouth, says: Sequence[Utter], ended: Callable[[], None]) -> None:
    """Alarms one by one, and first. The rest is one saying: a warning must not be cancelled by its own question."""
    rest = [utter for utter in says if utter.rank != "alarm"]
    sayings = [utter for utter in says if utter.rank == "alarm"]
    if rest:
        rank: Rank = "prompt" if any(utter.rank == "prompt" for utter in rest) else "chat"
        sayings.append(Utter(" ".join(utter.text for utter in rest), rank))
    for utter in sayings[:-1]:
        mouth.say(utter.text, utter.rank, no_more)
    mouth.say(sayings[-1].text, sayings[-1].rank, ended)
