"""What every recogniser offers: one utterance of sound in, words and how sure out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from speech.sound import Samples


@dataclass(frozen=True)
class WordTime:
    """When a word was said. start_s, end_s: [s] of the sound or stream. probability: 0 to 1, of the word in this place."""

    word: str
    start_s: float
    end_s: float
    probability: float


@dataclass(frozen=True)
class Words:
    """What an ear made of one utterance.

    sureness: mean log probability per token (<= 0), None where the engine has none on this scale.
    alternatives: what else it may have been, likeliest first; scores: the sureness of each, () where there is none.
    free: not held to a list. second_look: for a list-held result, whether a free look agreed; None: none made.
    times: when its words were said, from the sound's beginning; () where the engine does not tell.
    """

    text: str
    sureness: float | None
    alternatives: tuple[str, ...] = ()
    scores: tuple[float, ...] = ()
    free: bool = True
    second_look: bool | None = None
    times: tuple[WordTime, ...] = ()


class Ear(Protocol):
    """Anything that turns one utterance of 16 kHz samples into words."""

    @property
    def name(self) -> str:
        """Of the engine and model, for the log."""

    @property
    def good_for_gates(self) -> bool:
        """Whether its results can close a safety gate at all."""

    def hear(self, samples: Samples) -> Words:
        """Transcribe one utterance; empty text when there are no words.

        Raises:
            SpeechError: the engine failed.
        """


def plain(text: str) -> str:
    """Lower case, words and numbers only: to see whether two texts say the same."""
    kept = "".join(c if c.isalnum() or c in ".'" else " " for c in text.lower())
    return " ".join(word.strip(".") for word in kept.split() if word.strip("."))
