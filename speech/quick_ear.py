"""A quick ear for single words of danger: whisper on eight seconds of sound instead of its thirty.

The encoder takes most of the time and always gets thirty seconds from the library; over eight it takes a sixth of
the processor time, and found as many of 96 synthetic cries (58 either way, clean and at 10 dB). It loops more
often, which is why it writes a few words only and nothing but danger and a call is taken from it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from speech.ear import Words
from speech.errors import SpeechError
from speech.models import ModelFolder
from speech.sound import Samples

if TYPE_CHECKING:
    from faster_whisper import WhisperModel

WINDOW_S = 8
FRAMES_A_SECOND = 100
BEAM = 3
MOST_TOKENS = 40


class QuickEar:
    """An instance of its own, one thread: never in the way of the ear that answers go through."""

    good_for_gates = False

    def __init__(self, folder: ModelFolder) -> None:
        """Load the model; about 0.7 s.

        Raises:
            SpeechError: the folder holds no model that loads.
        """
        from faster_whisper import WhisperModel
        from faster_whisper.tokenizer import Tokenizer
        from faster_whisper.transcribe import get_suppressed_tokens

        if not (folder.path / "model.bin").is_file():  # else the library would turn to a network
            raise SpeechError(f"{folder.path} holds no model.bin; name another model folder.")
        try:
            model: WhisperModel = WhisperModel(
                str(folder.path), device="cpu", compute_type="int8", cpu_threads=1, local_files_only=True
            )
            self._words = Tokenizer(
                model.hf_tokenizer, model.model.is_multilingual, task="transcribe", language="en"
            )
            self._prompt = model.get_prompt(self._words, [], without_timestamps=True)
            self._suppressed = get_suppressed_tokens(self._words, [-1])
        except Exception as error:  # the library raises whatever its parts raise on a damaged file
            raise SpeechError(
                f"The whisper model in {folder.path} does not load ({error}); get it again."
            ) from error
        self._model = model
        self.name = f"early look, whisper {folder.sha256[:8]}"

    def hear(self, samples: Samples) -> Words:
        """The words in up to eight seconds of sound, the other hypotheses behind them.

        Raises:
            SpeechError: the engine failed.
        """
        frames = WINDOW_S * FRAMES_A_SECOND
        try:
            features = self._model.feature_extractor(samples)[..., :-1][..., :frames]
            features = np.pad(features, ((0, 0), (0, frames - features.shape[-1])))
            result = self._model.model.generate(
                self._model.encode(features),
                [self._prompt],
                beam_size=BEAM,
                num_hypotheses=BEAM,
                max_length=MOST_TOKENS,
                return_scores=True,
                suppress_blank=True,
                suppress_tokens=self._suppressed,
            )[0]
        except (RuntimeError, ValueError) as error:
            raise SpeechError(f"The early look failed ({error}).") from error
        texts = [self._words.decode(ids).strip() for ids in result.sequences_ids]
        return Words(texts[0], float(result.scores[0]), tuple(dict.fromkeys(texts[1:])))
