"""When to look early at what is being said: danger cannot wait until a sentence has ended.

While a voice goes on, its sound so far is due for a look every 0.6 s, and once when the voice falls silent, long
before the pause that ends an utterance. What is cut and transcribed as the utterance is the same with or without.
"""

from __future__ import annotations

from dataclasses import dataclass

from speech.activity import Cutter
from speech.sound import Samples

FIRST_S, EVERY_S = 0.8, 0.6
SILENT_S = 0.2  # longer than the stop inside a word, shorter than any pause that ends an utterance
LONGEST_S = 6.0  # of sound in one look; what is older has been looked at


@dataclass(frozen=True)
class Glimpse:
    """What is being said, so far. start_s: when the voice began, as the utterance will have it.

    fell_silent: the voice has paused, so that its last word is whole.
    while_deaf: our own voice sounded meanwhile. cleaned: it was taken out of this sound.
    """

    start_s: float
    end_s: float
    samples: Samples
    fell_silent: bool
    while_deaf: bool
    cleaned: bool = False


class Lookout:
    """Asked after each block that a cutter has taken; cheap when nothing is due."""

    def __init__(self) -> None:
        self._start_s = self._looked_s = float("-inf")
        self._silent_since_s = float("-inf")

    def due(self, cutter: Cutter, *, while_deaf: bool, cleaned: bool = False) -> Glimpse | None:
        """What is to be looked at now; None: nothing."""
        if not cutter.hearing:
            return None
        start_s, last_s = cutter.span_s
        quiet_s = cutter.quiet_for_s
        now_s = last_s + quiet_s
        if start_s != self._start_s:
            self._start_s, self._looked_s = start_s, start_s + FIRST_S - EVERY_S
        silent = quiet_s >= SILENT_S and last_s > self._silent_since_s
        if silent:
            self._silent_since_s = last_s  # once a pause
        elif quiet_s >= SILENT_S or now_s - self._looked_s < EVERY_S:
            return None
        self._looked_s = now_s
        samples = cutter.so_far(LONGEST_S)
        return Glimpse(round(start_s, 3), round(last_s, 3), samples, silent, while_deaf, cleaned)
