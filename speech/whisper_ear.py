"""Whisper through faster-whisper: hears freely, held to no list, and says how sure it is.

Settings as measured: int8, two threads, beam 5, temperature 0 (no second sampling), never a prompt or hot
words: on this small model they turn digits into decimals and near misses into the phrase hoped for.
About 0.35 s an utterance on two cores, whatever its length.
"""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from speech.ear import Words, WordTime, plain
from speech.errors import SpeechError
from speech.models import ModelFolder
from speech.one_word import LONGEST_S, one_words
from speech.sound import RATE_HZ, Samples
from speech.word_times import word_times

if TYPE_CHECKING:
    from faster_whisper import WhisperModel
    from faster_whisper.tokenizer import Tokenizer

BEAM = 5
LEAST_SURE = -99.0  # damaged weights give minus infinity, which no record can hold
NO_SPEECH, NO_SPEECH_SURENESS = 0.6, -1.0  # the library's own limits for 'nobody spoke'


class WhisperEar:
    """Whisper from a local folder. Not for several threads at once."""

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
            model = WhisperModel(
                str(folder.path), device="cpu", compute_type="int8", cpu_threads=2, local_files_only=True
            )
            words = Tokenizer(
                model.hf_tokenizer, model.model.is_multilingual, task="transcribe", language="en"
            )
            self._prompt = model.get_prompt(words, [], without_timestamps=True)
            self._suppressed = get_suppressed_tokens(words, [-1])
        except Exception as error:  # the library raises whatever its parts raise on a damaged file
            reason = str(error).splitlines()[0] if str(error) else type(error).__name__
            raise SpeechError(
                f"The whisper model in {folder.path} does not load ({reason}); get it again."
            ) from error
        _keep_memory()
        self._model: WhisperModel = model
        self._words: Tokenizer = words
        self._name, self._pinned = f"whisper {folder.sha256[:8]}", folder.pinned

    @property
    def name(self) -> str:
        """'whisper' and the first digits of the model's digest."""
        return self._name

    @property
    def good_for_gates(self) -> bool:
        """Only with the weights that were measured: another model may mend a 'not' away."""
        return self._pinned

    @property
    def model(self) -> WhisperModel:
        """What is loaded: one model serves whoever looks at the same sound once more."""
        return self._model

    @property
    def tokenizer(self) -> Tokenizer:
        """Of the model, set to English."""
        return self._words

    def hear(self, samples: Samples) -> Words:
        """Transcribe one utterance of up to 30 s, with the other texts it considered, best first.

        Decodes once, as the library's own `transcribe` does at temperature 0, but keeps all five hypotheses.

        Raises:
            SpeechError: the engine failed.
        """
        from faster_whisper.audio import pad_or_trim

        model = self._model
        try:
            features = model.feature_extractor(samples)
            encoded = model.encode(pad_or_trim(features[..., : features.shape[-1] - 1]))
            result = model.model.generate(
                encoded,
                [self._prompt],
                beam_size=BEAM,
                num_hypotheses=BEAM,
                max_length=model.max_length,
                return_scores=True,
                return_no_speech_prob=True,
                suppress_blank=True,
                suppress_tokens=self._suppressed,
            )[0]
        except (RuntimeError, ValueError) as error:
            raise SpeechError(f"The recogniser failed ({error}); type instead.") from error
        heard = _different(
            (self._words.decode(ids).strip(), _mean(float(score), len(ids)))
            for ids, score in zip(result.sequences_ids, result.scores, strict=True)
        )
        (text, sureness), *others = heard
        if len(samples) <= LONGEST_S * RATE_HZ:
            others = with_words(others, self._one_words(encoded), plain(text))
        if not text or (result.no_speech_prob > NO_SPEECH and sureness < NO_SPEECH_SURENESS):
            return Words("", None)
        return Words(
            text, sureness, tuple(t for t, _ in others), tuple(s for _, s in others),
            times=self._times(encoded, text, len(samples)),
        )  # fmt: skip

    def _times(self, encoded: Any, text: str, length: int) -> tuple[WordTime, ...]:
        """Empty where the library finds none: what rests on them is refused then, and the words are still heard."""
        with suppress(RuntimeError, ValueError, IndexError):
            return word_times(self._model, self._words, encoded, text, length)
        return ()

    def _one_words(self, encoded: Any) -> list[tuple[str, float]]:
        return one_words(self._model.model, encoded, self._prompt, self._suppressed, self._words)


def _keep_memory() -> None:
    """Has the C library keep what is freed, where it can be told so.

    Else every utterance maps its 150 MB anew: two million page faults in 60 utterances against eighty thousand,
    0.54 s of processor time an utterance against 0.44 s (measured), for 45 MB more.
    """
    import ctypes

    trim_threshold, mmap_threshold = -1, -3  # glibc's malloc.h
    with suppress(AttributeError, OSError, TypeError):
        mallopt = ctypes.CDLL(None).mallopt
        mallopt(mmap_threshold, 1 << 30)
        mallopt(trim_threshold, 1 << 30)


def _mean(score: float, tokens: int) -> float:
    """Per token, the end with them: the mean that the limits were measured with."""
    return max(score * tokens / (tokens + 1), LEAST_SURE)


def with_words(
    others: list[tuple[str, float]], words: Iterable[tuple[str, float]], first: str
) -> list[tuple[str, float]]:
    """Other texts and single words together, likeliest first; of a text that is among both the likelier."""
    kept: dict[str, tuple[str, float]] = {plain(text): (text, score) for text, score in others}
    for word, score in words:
        text, known = kept.get(word, (word, LEAST_SURE))
        if word != first:
            kept[word] = (text, max(score, known))
    return sorted(kept.values(), key=lambda one: -one[1])


def _different(heard: Iterable[tuple[str, float]]) -> list[tuple[str, float]]:
    """The hypotheses with their scores, likeliest first; of those alike but for punctuation the likeliest alone."""
    kept: dict[str, tuple[str, float]] = {}
    for text, score in heard:
        kept.setdefault(plain(text), (text, score))
    return list(kept.values())
