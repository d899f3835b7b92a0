"""When each word of an utterance was said, by aligning whisper's own text with the sound once more."""

from __future__ import annotations

from dataclasses import dataclass

from speech.ear import Words, plain
from speech.errors import SpeechError
from speech.sound import RATE_HZ, Samples
from speech.whisper_ear import WhisperEar

_FRAMES_PER_S = 100  # of the features


@dataclass(frozen=True)
class WordTime:
    """start_s, end_s: [s] of the stream; to about 0.1 s. probability: 0 to 1, of the word in this place."""

    word: str
    start_s: float
    end_s: float
    probability: float


class TimedEar:
    """An ear that also tells when the words of the utterance it heard last were said.

    `at_s` is to be set to the stream's time at the end of each utterance's sound before it is heard.
    """

    def __init__(self, ear: WhisperEar) -> None:
        self._ear = ear
        self.at_s = 0.0
        self.times: tuple[WordTime, ...] = ()

    @property
    def name(self) -> str:
        """See `Ear.name`."""
        return self._ear.name

    @property
    def good_for_gates(self) -> bool:
        """See `Ear.good_for_gates`."""
        return self._ear.good_for_gates

    def hear(self, samples: Samples) -> Words:
        """See `Ear.hear`; costs a second look at the sound."""
        words = self._ear.hear(samples)
        begins_s = self.at_s - len(samples) / RATE_HZ
        self.times = word_times(self._ear, samples, words.text, begins_s) if words.text else ()
        return words


def word_times(ear: WhisperEar, samples: Samples, text: str, begins_s: float = 0.0) -> tuple[WordTime, ...]:
    """Times of the words of `text` in `samples`.

    Args:
        begins_s: time of the first sample [s].

    Raises:
        SpeechError: the engine failed.
    """
    from faster_whisper.audio import pad_or_trim

    model, tokenizer = ear.model, ear.tokenizer
    try:
        features = model.feature_extractor(samples)
        encoded = model.encode(pad_or_trim(features[..., : features.shape[-1] - 1]))
        frames = min(len(samples) * _FRAMES_PER_S // RATE_HZ, model.feature_extractor.nb_max_frames)
        aligned = model.find_alignment(tokenizer, [tokenizer.encode(f" {text}")], encoded, frames)[0]
    except (RuntimeError, ValueError, IndexError) as error:
        raise SpeechError(f"The words could not be timed ({error}); leave --words out.") from error
    return tuple(
        WordTime(
            str(item["word"]).strip(),
            round(begins_s + float(item["start"]), 2),
            round(begins_s + float(item["end"]), 2),
            round(float(item["probability"]), 3),
        )
        for item in aligned
        if plain(str(item["word"]))
    )
