"""The session's mouth on a loudspeaker, where there is one. What can't be said is written, and nobody waits for it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING

from assistant.procedure.turn import Rank
from assistant.session import Adjust
from intents.spoken_text import aloud

if TYPE_CHECKING:
    from speech.mouth import Mouth as SpeechMouth
    from speech.mouth import Told

KEPT = 20  # sayings whose end is still to be told


class SpokenMouth:
    """Ranks to priorities, and 'ended' for each text that was said, cut short, or could not be said.

    on_sounding: begins (True) or has ended (False), and the words. on_failed: a sentence for the screen.
    """

    def __init__(
        self, speech: Callable[[Callable[[Told], None], Callable[[str], None]], SpeechMouth]
    ) -> None:
        self._waiting: dict[int, Callable[[], None]] = {}  # by ticket
        self._ticket = 0
        self._guard = threading.Lock()
        self.on_sounding: Callable[[bool, str], None] = _ignore
        self.on_failed: Callable[[str], None] = _ignore
        self._speech = speech(self._told, self._failed)

    def say(self, text: str, rank: Rank, ended: Callable[[], None]) -> None:
        from speech.mouth import Priority

        with self._guard:
            self._ticket = ticket = self._ticket + 1
            self._waiting[ticket] = ended
            self._waiting.pop(ticket - KEPT, None)  # dropped before it sounded, and never ends
        if not self._speech.say(aloud(text), Priority[rank.upper()], ticket):
            self._ended(ticket)  # silent for good: it is written, and that must do

    def hush(self) -> None:
        self._speech.hush()

    def adjust(self, how: Adjust) -> None:
        self._speech.adjust(how)

    def close(self) -> None:
        self._speech.close()

    def _told(self, told: Told) -> None:
        self.on_sounding(told.began, told.saying.text)
        if not told.began and not told.again:
            self._ended(told.saying.ticket)

    def _failed(self, sentence: str) -> None:
        """Nothing is heard of it, but all of it is written: it counts as put."""
        self.on_failed(sentence)
        with self._guard:
            waiting, self._waiting = self._waiting, {}
        for ended in waiting.values():
            ended()

    def _ended(self, ticket: int) -> None:
        with self._guard:
            ended = self._waiting.pop(ticket, None)
        if ended is not None:
            ended()


def find_mouth() -> SpokenMouth | str:
    """A mouth, or the sentence that says what is missing."""
    from speech.errors import Missing, SpeechError
    from speech.mouth import Mouth
    from speech.player import find_player
    from speech.voice import find_voice

    try:
        player = find_player()
        if isinstance(player, Missing):
            return player.sentence
        voice = find_voice()
        if isinstance(voice, Missing):
            return voice.sentence
        return SpokenMouth(lambda told, failed: Mouth(voice, player, told, failed))
    except SpeechError as failure:
        return str(failure)


def _ignore(*_: object) -> None:
    return
