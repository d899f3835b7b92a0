"""Sound as it travels through this room: one channel, 16 kHz, float32 from -1 to 1."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 16_000
BLOCK = 512  # samples; what the voice-activity detector takes at a time, 32 ms

Samples = NDArray[np.float32]


@dataclass(frozen=True)
class Sound:
    """samples: shape (n,), 16 kHz. notes: what was converted on the way in, in words."""

    samples: Samples
    notes: tuple[str, ...] = field(default=())

    @property
    def seconds(self) -> float:
        """Length [s]."""
        return len(self.samples) / RATE_HZ


def level_db(samples: Samples) -> float:
    """Root mean square level [dB re full scale]; -120 for silence or nothing."""
    if not len(samples):
        return -120.0
    power = float(np.mean(np.square(samples, dtype=np.float64)))
    return float(10 * np.log10(max(power, 1e-12)))


def to_rate(samples: Samples, rate_hz: int) -> Samples:
    """Bring samples of any rate [Hz] to 16 kHz by a polyphase filter."""
    if rate_hz == RATE_HZ or not len(samples):
        return samples
    from math import gcd

    from scipy.signal import resample_poly

    common = gcd(RATE_HZ, rate_hz)
    return np.asarray(resample_poly(samples, RATE_HZ // common, rate_hz // common), dtype=np.float32)


def louder(sound: Sound, gain_db: float) -> Sound:
    """The same sound, `gain_db` louder; peaks that would clip are held at full scale."""
    if gain_db == 0.0:
        return sound
    gained = sound.samples * np.float32(10 ** (gain_db / 20))
    return Sound(np.clip(gained, -1.0, 1.0).astype(np.float32), sound.notes)
