"""When each word of an utterance was said, by aligning whisper's own text with the sound it has just encoded."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from speech.ear import Ear, Words, WordTime, plain
from speech.sound import RATE_HZ, Samples

if TYPE_CHECKING:
    from faster_whisper import WhisperModel
    from faster_whisper.tokenizer import Tokenizer

_FRAMES_PER_S = 100  # of the features


def word_times(
    model: WhisperModel, tokenizer: Tokenizer, encoded: Any, text: str, length: int
) -> tuple[WordTime, ...]:
    """Times of the words of `text` from the sound's beginning, to about 0.1 s; about 0.03 s of time.

    Args:
        encoded: the sound as the model has encoded it.
        length: of the sound [samples].

    Raises:
        RuntimeError, ValueError, IndexError: from the library.
    """
    frames = min(length * _FRAMES_PER_S // RATE_HZ, model.feature_extractor.nb_max_frames)
    aligned = model.find_alignment(tokenizer, [tokenizer.encode(f" {text}")], encoded, frames)[0]
    return tuple(
        WordTime(
            str(item["word"]).strip(),
            round(float(item["start"]), 2),
            round(float(item["end"]), 2),
            round(float(item["probability"]), 3),
        )
        for item in aligned
        if plain(str(item["word"]))
    )


def unaccounted(times: tuple[WordTime, ...], begins_s: float, ends_s: float) -> tuple[float, float] | None:
    """Voice up to the end of the first word, and after the last one, in letters: as long as one takes in the others.

    However quickly somebody speaks, so much of it is more than that word. None: there is no telling.

    Args:
        begins_s, ends_s: of the voice, from the sound's beginning [s].
    """
    letters = sum(map(str.isalpha, "".join(one.word for one in times[1:])))
    if not letters or times[-1].end_s <= times[0].end_s:
        return None
    letter_s = (times[-1].end_s - times[0].end_s) / letters
    return (times[0].end_s - begins_s) / letter_s, (ends_s - times[-1].end_s) / letter_s


class TimedEar:
    """An ear that also keeps when the words of the utterance it heard last were said.

    `at_s` is to be set to the stream's time at the end of each utterance's sound before it is heard.
    """

    def __init__(self, ear: Ear) -> None:
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
        """See `Ear.hear`."""
        words = self._ear.hear(samples)
        begins_s = self.at_s - len(samples) / RATE_HZ
        self.times = tuple(
            replace(one, start_s=round(begins_s + one.start_s, 2), end_s=round(begins_s + one.end_s, 2))
            for one in words.times
        )
        return words
