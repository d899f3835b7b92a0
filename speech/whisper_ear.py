"""Whisper through faster-whisper: hears freely, held to no list, and says how sure it is.

Settings as measured: int8, two threads, beam 5, temperature 0 (no second sampling), never a prompt or hot
words: on this small model they turn digits into decimals and near misses into the phrase hoped for.
About 0.35 s an utterance on two cores, whatever its length.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from speech.errors import SpeechError
from speech.models import ModelFolder
from speech.sound import Samples

if TYPE_CHECKING:
    from faster_whisper import WhisperModel

from dataclasses import dataclass


@dataclass(frozen=True)
class Words:
    """What an ear made of one utterance.

    sureness: mean log probability per token (<= 0), None where the engine has none on this scale.
    free: not held to a list. second_look: for a list-held result, whether a free look agreed; None: none made.
    """

    text: str
    sureness: float | None
    alternatives: tuple[str, ...] = ()
    free: bool = True
    second_look: bool | None = None


class Ear(Protocol):
    """Anything that turns one utterance of 16 kHz samples into words."""

    @property
    def name(self) -> str:
        """Of the engine and model, for the log."""

    @property
    def good_for_gates(self) -> bool:
        """Whether its results can close a safety gate at all."""

    def hear(self, samples: Samples) -> Words:
        """Transcribe one utterance; empty text when there are no words."""


class WhisperEar:
    """Whisper from a local folder. Not for several threads at once."""

    def __init__(self, folder: ModelFolder) -> None:
        """Load the model; about 0.7 s.

        Raises:
            SpeechError: the folder holds no model that loads.
        """
        from faster_whisper import WhisperModel

        if not (folder.path / "model.bin").is_file():  # else the library would turn to a network
            raise SpeechError(f"{folder.path} holds no model.bin; name another model folder.")
        try:
            self._model: WhisperModel = WhisperModel(
                str(folder.path), device="cpu", compute_type="int8", cpu_threads=2, local_files_only=True
            )
        except (RuntimeError, ValueError, OSError) as error:
            reason = str(error).splitlines()[0] if str(error) else type(error).__name__
            raise SpeechError(f"The whisper model in {folder.path} does not load: {reason}.") from error
        self._english_only = not self._model.model.is_multilingual
        self._name = f"whisper {folder.sha256[:8]}"

    @property
    def name(self) -> str:
        """'whisper' and the first digits of the model's digest."""
        return self._name

    @property
    def good_for_gates(self) -> bool:
        """Yes: it hears freely and says how sure it is."""
        return True

    def hear(self, samples: Samples) -> Words:
        """Transcribe one utterance of up to 30 s.

        Raises:
            SpeechError: the engine failed.
        """
        try:
            segments, _ = self._model.transcribe(
                samples,
                language="en",
                beam_size=5,
                temperature=0.0,
                without_timestamps=True,
                condition_on_previous_text=False,
            )
            found = list(segments)
        except RuntimeError as error:
            raise SpeechError(f"The recogniser failed ({error}); type instead.") from error
        text = " ".join(segment.text.strip() for segment in found).strip()
        if not text:
            return Words("", None)
        return Words(text, min(segment.avg_logprob for segment in found))
