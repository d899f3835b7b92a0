"""Tells the assistant's own voice, come back through the microphone, from somebody's cry of danger.

Our safety questions are full of words of danger. A cry counts also while we speak, but our own sentence
must not raise the alarm: what runs along with what we are saying is ours, unless a word of danger is new in it.
"""

from __future__ import annotations

import threading
from collections import deque
from dataclasses import dataclass

from intents.canonical import canonical
from intents.danger import danger_word
from speech.utterance import Utterance

LINGERS_S = 1.0  # our voice in the room, and in buffers, after we believe it has ended
OURS_SHARE = 0.6  # of the heard words, in order, that are in what we say
ALIKE_PERCENT = 50
NEARBY_WORDS = 4
CRY_WORDS = 3  # a cry alone is short: it counts, whatever we say


@dataclass
class _Saying:
    words: list[str]
    began_s: float
    ended_s: float = float("inf")


class OwnVoice:
    """What was said aloud lately. The mouth's thread tells it, the ears' thread asks. Times: session seconds.

    callsign: canonical; '' for none.
    """

    def __init__(self, callsign: str = "") -> None:
        self.callsign = callsign
        self._sayings: deque[_Saying] = deque(maxlen=8)
        self._guard = threading.Lock()

    def began(self, text: str, at_s: float) -> None:
        with self._guard:
            self._sayings.append(_Saying(canonical(text).split(), at_s))

    def ended(self, at_s: float) -> None:
        with self._guard:
            for saying in self._sayings:
                saying.ended_s = min(saying.ended_s, at_s)

    def cry_in(self, utterance: Utterance, at_s: float = 0.0) -> str | None:
        """The text of a cry of danger heard while we spoke, of all that the ear considered; None: there is none.

        at_s: session second at which the utterance's own times begin.
        """
        ours = self._said(at_s + utterance.start_s, at_s + utterance.end_s)
        word = danger_word(utterance.text, self.callsign)
        if _runs_along(utterance.text, ours):
            return None if word is None or _is_ours(utterance.text, word, ours) else utterance.text
        return utterance.text if word is not None else cry_among(utterance, self.callsign)

    def early_cry(self, text: str, start_s: float, end_s: float) -> str | None:
        """The word of danger in a text that may go on; None: there is none, or it may be ours.

        More careful than `cry_in`: the beginning of our own sentence looks like a short cry. What is not told
        apart here is told apart when the utterance has ended.
        """
        word = danger_word(text, self.callsign)
        ours = self._said(start_s, end_s)
        return None if word is None or _may_be_ours(text, word, ours) else word

    def called(self, text: str, callsign: str, start_s: float, end_s: float) -> bool:
        """Whether somebody calls us by our name (canonical) while we speak, and it is not we who say it."""
        said = self._said(start_s, end_s)
        return (
            bool(callsign)
            and f" {callsign} " in f" {canonical(text)} "
            and callsign.split(maxsplit=1)[0] not in said
        )

    def _said(self, start_s: float, end_s: float) -> list[str]:
        with self._guard:
            return [
                word
                for saying in self._sayings
                if saying.began_s <= end_s and start_s <= saying.ended_s + LINGERS_S
                for word in saying.words
            ]


def _runs_along(text: str, ours: list[str]) -> bool:
    from rapidfuzz.distance import LCSseq

    heard = canonical(text).split()
    return len(heard) > CRY_WORDS and LCSseq.similarity(heard, ours) >= OURS_SHARE * len(heard)


def _is_ours(text: str, danger: str, ours: list[str]) -> bool:
    """Whether the word of danger is one that we say, or what the ear made of a word at that place ('far', 'fire')."""
    from rapidfuzz import fuzz
    from rapidfuzz.distance import LCSseq

    if set(danger.split()) <= set(ours):
        return True
    heard = canonical(text).split()
    for step in LCSseq.opcodes(heard, ours):
        if danger in heard[step.src_start : step.src_end]:
            there = ours[max(0, step.dest_start - 1) : step.dest_end + 1]
            return any(fuzz.ratio(danger, word) >= ALIKE_PERCENT for word in there)
    return False


def _may_be_ours(text: str, danger: str, ours: list[str]) -> bool:
    """As `_is_ours`, for a text that breaks off: what of ours comes long after that place has not sounded yet."""
    from rapidfuzz import fuzz
    from rapidfuzz.distance import LCSseq

    if set(danger.split()) <= set(ours):
        return True
    heard, first = canonical(text).split(), danger.split(maxsplit=1)[0]
    for step in LCSseq.opcodes(heard, ours):
        if first in heard[step.src_start : step.src_end]:
            there = ours[max(0, step.dest_start - 1) : step.dest_start + NEARBY_WORDS]
            return any(fuzz.ratio(first, word) >= ALIKE_PERCENT for word in there)
    return False


def cry_among(utterance: Utterance, callsign: str = "") -> str | None:
    """The first of the ear's other texts that speaks of danger; None: none does. callsign: canonical; '' for none."""
    return next((text for text in utterance.alternatives if danger_word(text, callsign) is not None), None)
