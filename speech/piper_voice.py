"""A better voice for whoever has a piper model: named by its path, in a process of its own, nothing is fetched."""

from __future__ import annotations

import os
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np

from speech.child import Child
from speech.errors import Missing, SpeechError
from speech.sound import Samples, Sound, to_rate
from speech.voice import DEADLINE_S, DEFAULT_SPEAKER, DEFAULT_WORDS_PER_MINUTE, check, sayable

VOICE_VARIABLE = "LOOPWRIGHT_VOICE_MODEL"


class _Engine:
    """Lives in the child. `synthesize` gives samples and their rate."""

    def __init__(self, model: Path) -> None:
        from piper import PiperVoice

        self._voice = PiperVoice.load(model)

    def synthesize(self, text: str, stretch: float) -> tuple[bytes, int]:
        from piper import SynthesisConfig

        pieces = list(self._voice.synthesize(text, SynthesisConfig(length_scale=stretch)))
        return b"".join(piece.audio_int16_bytes for piece in pieces), pieces[0].sample_rate if pieces else 0


class PiperVoice:
    """See `Voice`. The model has one speaker; other names are refused."""

    def __init__(self, model: Path) -> None:
        """Load the model, about a second.

        Raises:
            SpeechError: it is no piper model, or does not load.
        """
        self.name = f"piper {model.stem}"
        self._child: Any = Child(_Engine, (model,), f"The voice {self.name}", DEADLINE_S, _unsaid)

    def render(
        self, text: str, words_per_minute: int = DEFAULT_WORDS_PER_MINUTE, speaker: str = DEFAULT_SPEAKER
    ) -> Sound:
        """Render one text; see `Voice.render`."""
        text = sayable(text)
        check(text, words_per_minute, speaker)
        pcm, rate_Hz = self._child.call("synthesize", text, DEFAULT_WORDS_PER_MINUTE / words_per_minute)
        if not pcm:
            raise SpeechError(f"The voice {self.name} made no sound for '{text[:40]}'; it is written only.")
        samples: Samples = np.frombuffer(pcm, "<i2").astype(np.float32) / np.float32(32768)
        return Sound(to_rate(samples, rate_Hz))

    def close(self) -> None:
        """End its process."""
        self._child.close()


def find_piper() -> PiperVoice | Missing:
    """The voice that LOOPWRIGHT_VOICE_MODEL names.

    Raises:
        SpeechError: it is named and cannot be used.
    """
    named = os.environ.get(VOICE_VARIABLE, "").strip()
    if not named:
        return Missing(f"No piper voice is named in {VOICE_VARIABLE}.")
    model = Path(named).expanduser()
    if not model.is_file() or not Path(f"{model}.json").is_file():
        raise SpeechError(f"{model} and {model.name}.json are not both there; correct {VOICE_VARIABLE}.")
    if find_spec("piper") is None:
        raise SpeechError(
            f"{VOICE_VARIABLE} names a voice, but piper is not installed: pip install '.[piper]'."
        )
    return PiperVoice(model)


def _unsaid(_: str) -> None:
    """A voice that was started again has said its sentence: nobody needs to be told."""
