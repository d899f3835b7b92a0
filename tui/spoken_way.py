"""The scripted technician's way by voice: words to sound, workshop noise, the real ears, and back to words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assistant.session import Session
from tui.held_ear import expect_what_can_be_said

if TYPE_CHECKING:
    from speech.ear import Ear
    from speech.sound import Sound
    from speech.utterance import Utterance
    from speech.voice import Voice

OVER_NOISE_DB = 20.0  # a fan and a compressor some way off
WORDS_A_MINUTE = 140  # heard best
PAD_S = 0.4  # of noise before and after the words


class SpokenWay:
    """What a microphone at the press would bring. The noise differs from utterance to utterance, not from run to run."""

    def __init__(self, voice: Voice, ear: Ear, over_noise_db: float = OVER_NOISE_DB) -> None:
        self._voice, self._ear, self._over_noise_db = voice, ear, over_noise_db
        self._sounds: dict[str, Sound] = {}
        self._said = 0

    @property
    def name(self) -> str:
        """Of the parts, for people."""
        return f"{self._voice.name} speaks, {self._ear.name} listens, speech {self._over_noise_db:g} dB over workshop noise"

    def hear(self, words: str, session: Session) -> tuple[Utterance | None, float]:
        """What is heard of `words`, None for nothing; and how long the sound lasted [s].

        Raises: SpeechError: the voice or the ear failed.
        """
        import numpy as np

        from speech.listen import hear_sound
        from speech.noise import mix, workshop_noise
        from speech.sound import RATE_HZ, Sound

        expect_what_can_be_said(self._ear, session)
        if words not in self._sounds:
            self._sounds[words] = self._voice.render(words, WORDS_A_MINUTE)
        pad = np.zeros(int(PAD_S * RATE_HZ), np.float32)
        speech = np.concatenate([pad, self._sounds[words].samples, pad])
        self._said += 1
        noisy = mix(speech, workshop_noise(len(speech) / RATE_HZ, seed=self._said), self._over_noise_db)
        heard = hear_sound(Sound(noisy), self._ear)
        return (heard[0] if heard else None), len(noisy) / RATE_HZ


def find_way(over_noise_db: float = OVER_NOISE_DB) -> SpokenWay | list[str]:
    """The way by voice, or all that is missing for it, each with how to get it.

    Raises: SpeechError: something that was named cannot be used.
    """
    from speech.ears import open_ear
    from speech.errors import Missing
    from speech.voice import find_voice

    voice, ear = find_voice(), open_ear()
    if isinstance(voice, Missing) or isinstance(ear, Missing):
        return [found.sentence for found in (voice, ear) if isinstance(found, Missing)]
    return SpokenWay(voice, ear, over_noise_db)
