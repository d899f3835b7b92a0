"""A loudspeaker and a room, made here: what our own voice becomes on its way into the microphone.

A direct path and a tail of noise that dies away exponentially; a loudspeaker that passes 180 to 7000 Hz and may be
driven into soft clipping. No room is like that in detail; nothing here was measured in one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from speech.sound import RATE_HZ, Samples

DRIVE = 2.0  # a peak of half of full scale comes out at three quarters of what it would without clipping


@dataclass(frozen=True)
class Room:
    """delay_s: from the player to the microphone. t60_s: the tail is 60 dB down. direct_db: direct over tail, in power."""

    delay_s: float
    t60_s: float
    direct_db: float
    clips: bool
    seed: int

    def echo(self, sound: Samples) -> Samples:
        """What of this sound comes to the microphone, as long as the sound, at no level in particular."""
        from scipy.signal import butter, fftconvolve, sosfilt

        through = np.asarray(sosfilt(butter(2, [180, 7000], "band", fs=RATE_HZ, output="sos"), sound))
        if self.clips:
            through = np.tanh(DRIVE * through) / DRIVE
        delay = np.zeros(round(self.delay_s * RATE_HZ))
        whole = np.concatenate([delay, fftconvolve(through, self.response())])
        return whole[: len(sound)].astype(np.float32)

    def response(self) -> NDArray[np.float64]:
        """From the loudspeaker to the microphone, without the delay: shape (t60_s * RATE_HZ,); the first value is 1."""
        rng = np.random.default_rng(self.seed)
        count = round(self.t60_s * RATE_HZ)
        tail = rng.standard_normal(count) * 10 ** (-3 * np.arange(count) / count)
        tail[: RATE_HZ // 500] = 0.0
        tail *= np.sqrt(10 ** (-self.direct_db / 10) / np.sum(tail**2))
        tail[0] = 1.0
        return np.asarray(tail, np.float64)


def any_room(number: int) -> Room:
    """One of many: 30 to 250 ms, 0.3 to 1.0 s, direct sound 0 to 6 dB over the tail; two in four clip."""
    rng = np.random.default_rng(number)
    return Room(
        delay_s=rng.uniform(0.03, 0.25),
        t60_s=rng.uniform(0.3, 1.0),
        direct_db=rng.uniform(0.0, 6.0),
        clips=bool(number // 2 % 2),
        seed=number,
    )


def strength(sound: Samples) -> float:
    """Root mean square of a sound where it sounds."""
    loud = sound[np.abs(sound) > 0.02 * np.max(np.abs(sound))]
    return float(np.sqrt(np.mean(np.square(loud, dtype=np.float64))))
