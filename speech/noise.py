"""Workshop noise, made here: for trying the ears, for the tests and for rehearsals. No recording is used.

Five parts, each with its own seed-given phases: a fan (low rumble), mains hum, a compressor that chugs on and
off, clanks of metal, and the hiss of air.
"""

from __future__ import annotations

import numpy as np

from speech.sound import RATE_HZ, Samples


def workshop_noise(seconds: float, seed: int) -> Samples:
    """Noise of a workshop, root mean square 0.1.

    Args:
        seconds: length [s], > 0.
        seed: the same seed gives the same noise.
    """
    rng = np.random.default_rng(seed)
    n = max(1, round(seconds * RATE_HZ))
    t = np.arange(n) / RATE_HZ
    parts = (
        0.8 * _fan(rng, n) + 0.5 * _hum(rng, t) + 0.35 * _compressor(rng, t) + 0.12 * rng.standard_normal(n)
    )
    parts += 0.5 * _clanks(rng, n)
    return np.asarray(0.1 * parts / np.sqrt(np.mean(parts**2)), dtype=np.float32)


def mix(speech: Samples, noise: Samples, snr_db: float) -> Samples:
    """Speech with noise under it; the sum is scaled down if it would clip.

    Args:
        speech: shape (n,).
        noise: any length >= 1, repeated or cut to n.
        snr_db: power of the speech where there is speech, over the power of the noise [dB].
    """
    if not len(speech):
        return speech
    bed = np.resize(noise, len(speech)).astype(np.float64)
    loud = speech[np.abs(speech) > 0.02 * np.max(np.abs(speech), initial=0.0)]
    speech_power = float(np.mean(np.square(loud, dtype=np.float64))) if len(loud) else 0.0
    noise_power = max(float(np.mean(bed**2)), 1e-12)
    mixed = speech + bed * np.sqrt(speech_power / noise_power * 10 ** (-snr_db / 10))
    return np.asarray(mixed / max(1.0, float(np.max(np.abs(mixed), initial=0.0)) / 0.98), dtype=np.float32)


def _fan(rng: np.random.Generator, n: int) -> np.ndarray:
    from scipy.signal import lfilter

    rumble = np.asarray(lfilter([1.0], [1.0, -0.97], rng.standard_normal(n)))
    return rumble / (np.std(rumble) or 1.0)


def _hum(rng: np.random.Generator, t: np.ndarray) -> np.ndarray:
    phases = rng.uniform(0, 2 * np.pi, 4)
    harmonics = zip((1, 2, 3, 5), (1.0, 0.6, 0.4, 0.2), phases, strict=True)
    return np.asarray(sum(a * np.sin(2 * np.pi * 50 * k * t + p) for k, a, p in harmonics))


def _compressor(rng: np.random.Generator, t: np.ndarray) -> np.ndarray:
    strokes = 0.5 + 0.5 * np.sin(2 * np.pi * rng.uniform(8, 14) * t + rng.uniform(0, 6))
    runs = np.sin(2 * np.pi * t / rng.uniform(5, 9) + rng.uniform(0, 6)) > -0.3
    return rng.standard_normal(len(t)) * strokes**2 * runs


def _clanks(rng: np.random.Generator, n: int) -> np.ndarray:
    out = np.zeros(n)
    length = int(0.25 * RATE_HZ)
    ring = np.arange(length) / RATE_HZ
    for _ in range(max(1, round(n / RATE_HZ * 0.7))):
        at, pitch = int(rng.integers(0, n)), rng.uniform(700, 3500)
        clank = np.exp(-ring / rng.uniform(0.02, 0.08)) * np.sin(2 * np.pi * pitch * ring)
        stop = min(n, at + length)
        out[at:stop] += 3 * rng.uniform(0.3, 1.0) * clank[: stop - at]
    return out
