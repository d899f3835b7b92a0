"""Short sounds that say what a sentence would be too long for: 'taken', 'I listen', and the alarm before its words.

Made of sines here, so there is no file to lose. The small ones are quiet, last less than a syllable and are no voice
to the detector in our own ears; the alarm is loud, swings between two tones and comes again with every alarm.
"""

from __future__ import annotations

from functools import cache
from typing import Literal

import numpy as np

from speech.sound import RATE_HZ, Samples, Sound

Earcon = Literal["taken", "listening", "alarm"]
QUIET, LOUD = 0.03, 0.5  # peak, of full scale
EDGE_S = 0.008  # rises and falls this long, so that nothing clicks
SWINGS = 2


@cache
def earcon(which: Earcon) -> Sound:
    """taken: one low tick, an utterance counted. listening: two rising ticks, an answer may come now.

    alarm: up and down twice, before the words, which are rendered meanwhile.
    """
    match which:
        case "taken":
            samples = _tone(880, 0.04, QUIET)
        case "listening":
            samples = np.concatenate([_tone(1320, 0.05, QUIET), _rest(0.03), _tone(1760, 0.05, QUIET)])
        case "alarm":
            swing = [_tone(1050, 0.15, LOUD), _tone(1500, 0.15, LOUD), _rest(0.05)]
            samples = np.concatenate(swing * SWINGS)
    return Sound(samples)


def _tone(frequency_Hz: float, seconds: float, peak: float) -> Samples:
    """A sine with raised-cosine edges; shape (n,)."""
    t_s = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    edge = np.clip(np.minimum(t_s, seconds - t_s) / EDGE_S, 0.0, 1.0)
    envelope = 0.5 - 0.5 * np.cos(np.pi * edge)
    return np.asarray(peak * envelope * np.sin(2 * np.pi * frequency_Hz * t_s), np.float32)


def _rest(seconds: float) -> Samples:
    return np.zeros(round(seconds * RATE_HZ), np.float32)
