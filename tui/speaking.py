"""The session's mouth on a loudspeaker, where there is one. What can't be said is written, and nobody waits for it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from assistant.mouth import Adjust, Cue
from assistant.procedure.turn import Rank
from intents.spoken_text import aloud

if TYPE_CHECKING:
    from speech.mouth import Mouth as SpeechMouth
    from speech.mouth import Told
    from speech.sound import Samples
    from tui.voice_settings import VoiceSettings

BACK = "I can be heard now. Say 'say again' for the question."
KEPT = 20  # sayings whose end is still to be told


class SpokenMouth:
    """Ranks to priorities, and 'ended' for each text that was said, cut short, or could not be said.

    on_sounding: begins (True) or has ended (False), and the words; '' for a short sound. on_failed: a sentence for the
    screen. on_back: the loudspeaker plays again, a sentence for the screen. on_adjusted: loudness or rate has been changed. somebody_speaks: no short sound then.
    on_playing: the samples that the loudspeaker is given now; None: it was cut off.
    """

    def __init__(
        self, speech: Callable[[Callable[[Told], None], Callable[[str], None]], SpeechMouth]
    ) -> None:
        self._waiting: dict[int, Callable[[], None]] = {}  # by ticket
        self._ticket = 0
        self._guard = threading.Lock()
        self.on_sounding: Callable[[bool, str], None] = _ignore
        self.on_failed: Callable[[str], None] = _ignore
        self.on_back: Callable[[str], None] = _ignore
        self.on_adjusted: Callable[[int, float], None] = _ignore
        self.somebody_speaks: Callable[[], bool] = bool
        self.on_playing: Callable[[Samples | None], None] = _ignore
        self._speech = speech(self._told, self._failed)
        self._speech.on_back = self._back
        self._speech.on_playing = lambda sound: self.on_playing(None if sound is None else sound.samples)

    def say(self, text: str, rank: Rank, ended: Callable[[], None]) -> None:
        from speech.mouth import Priority

        with self._guard:
            self._ticket = ticket = self._ticket + 1
            self._waiting[ticket] = ended
            self._waiting.pop(ticket - KEPT, None)  # dropped before it sounded, and never ends
        if not self._speech.say(aloud(text), Priority[rank.upper()], ticket):
            self._ended(ticket)  # no loudspeaker now: it is written, and that must do

    def hush(self) -> None:
        self._speech.hush()

    def adjust(self, how: Adjust) -> None:
        self._speech.adjust(how)
        self.on_adjusted(self._speech.words_per_minute, self._speech.gain_db)

    def cue(self, which: Cue) -> None:
        if not self.somebody_speaks():
            self._speech.cue(which)

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

    def _back(self, sentence: str) -> None:
        """Said as well: whoever has not looked at the screen has missed a question."""
        from speech.mouth import Priority

        self.on_back(sentence)
        self._speech.say(aloud(BACK), Priority.CHAT)

    def _ended(self, ticket: int) -> None:
        with self._guard:
            ended = self._waiting.pop(ticket, None)
        if ended is not None:
            ended()


def find_mouth(settings: VoiceSettings) -> tuple[SpokenMouth | None, str]:
    """A mouth that sounds as is set, and a sentence about what is missing.

    Without a voice there is no mouth. A loudspeaker that is not here is looked for until it comes; nobody waits.
    """
    from speech.errors import Missing, SpeechError
    from speech.mouth import Mouth
    from speech.player import find_player, find_player_again
    from speech.voice import find_voice

    try:
        player, voice = find_player(settings.loudspeaker), find_voice()
    except SpeechError as failure:
        return None, str(failure)
    missing = player.sentence if isinstance(player, Missing) else ""
    if isinstance(voice, Missing):
        return None, f"{missing} {voice.sentence}".strip()
    find = partial(find_player_again, settings.loudspeaker)
    return SpokenMouth(
        lambda told, failed: _set(Mouth(voice, player, told, failed, find=find), settings)
    ), missing


def _set(mouth: SpeechMouth, settings: VoiceSettings) -> SpeechMouth:
    mouth.words_per_minute, mouth.gain_db = settings.words_per_minute, settings.gain_dB
    mouth.earcons = settings.earcons
    return mouth


def _ignore(*_: object) -> None:
    return
