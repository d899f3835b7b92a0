"""Takes the echo of a known sound out of a microphone's: a Kalman filter in the frequency domain, in partitions.

It follows the way from loudspeaker to microphone as a state that drifts slowly, and weighs each new block by how much
else is in it: while somebody speaks over the echo it hardly moves, and need not be told so. What a loudspeaker bends
(clipping) and a long room's end are left over; of that `Leftover` takes away what it can.

Source: the diagonal form of the partitioned-block Kalman filter (Kuech, Mabande and Enzner, 2014; from memory). That
the residual is taken after the block's own update, and the constants, were chosen by measurement.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from speech.sound import BLOCK, Samples

PARTS = 10  # of a block each: 0.32 s of echo; with more of them it learned more slowly
REACH = PARTS * BLOCK  # samples
_KEEPS = 0.999  # of the way, from block to block
_STEADY = 0.8  # smoothing of what else is in the microphone, from block to block
_UNSURE = 3.0  # variance of the way at the beginning, in (microphone over loudspeaker) squared
_LEAST = 1e-10  # keeps silence divisible
_LONG = 2 * BLOCK
_BINS = BLOCK + 1

_UP_DB, _DOWN_DB = 0.15, 0.35  # a block: it settles where three blocks in ten leave less behind
_OVER = 4.0  # the quieter blocks are quieter than what is left on average
_FLOOR = 0.1  # least gain of a band
_WINDOW = np.sqrt(np.hanning(_LONG + 1)[:_LONG])


class EchoFilter:
    """One way from loudspeaker to microphone. Give it every block, in step."""

    def __init__(self) -> None:
        self._way: NDArray[np.complex128] = np.zeros((PARTS, _BINS), np.complex128)
        self._unsure = np.full((PARTS, _BINS), _UNSURE)
        self._else = np.full(_BINS, 1e-4)  # power of what is not echo, or not yet known to be

    def unlearn(self, share: float) -> None:
        """The way may have changed by this share of its power: learn quickly again."""
        self._unsure = self._unsure + share * np.mean(np.abs(self._way) ** 2, axis=0)

    def take(self, heard: Samples, played: Samples) -> NDArray[np.float64]:
        """The microphone's block without the echo; shape (BLOCK,).

        Args:
            heard: shape (BLOCK,).
            played: what was played up to the end of that block, shape (REACH + BLOCK,).
        """
        sound = np.fft.rfft(sliding_window_view(played, _LONG)[::BLOCK][::-1])
        power = np.abs(sound) ** 2
        self._way *= _KEEPS
        self._unsure = _KEEPS**2 * self._unsure + (1 - _KEEPS**2) * np.abs(self._way) ** 2
        error = np.fft.rfft(np.concatenate([np.zeros(BLOCK), heard - self._echo(sound)]))
        self._else = _STEADY * self._else + (1 - _STEADY) * np.abs(error) ** 2
        step = self._unsure / (0.5 * np.sum(power * self._unsure, axis=0) + 2 * self._else + _LEAST)
        change = np.fft.irfft(step * np.conj(sound) * error)
        change[:, BLOCK:] = 0.0
        self._way += np.fft.rfft(change)
        self._unsure *= 1 - 0.5 * step * power
        return np.asarray(heard - self._echo(sound), np.float64)

    def _echo(self, sound: NDArray[np.complex128]) -> NDArray[np.float64]:
        return np.asarray(np.fft.irfft(np.sum(sound * self._way, axis=0))[BLOCK:], np.float64)


class Leftover:
    """Turns down, band by band, what looks like the echo that a filter has left; a block late.

    How much is left over is what the quieter blocks show: a voice that speaks on top does not raise it at once.
    """

    def __init__(self) -> None:
        self._left_db = np.zeros(_BINS)  # residual over echo
        self._echo_power = np.zeros(_BINS)
        self._before = np.zeros((2, BLOCK))
        self._overlap = np.zeros(BLOCK)

    def take(self, residual: NDArray[np.float64], echo: NDArray[np.float64]) -> Samples:
        """The block before this one, cleaned; shape (BLOCK,) each."""
        now = np.stack([residual, echo])
        spectra = np.fft.rfft(_WINDOW * np.concatenate([self._before, now], axis=1))
        self._before = now
        power = np.abs(spectra) ** 2
        self._echo_power = np.maximum(power[1], 0.6 * self._echo_power)  # a room rings on
        loud = self._echo_power > 1e-6 * BLOCK
        over_db = 10 * np.log10((power[0] + _LEAST) / (self._echo_power + _LEAST))
        step = np.where(over_db > self._left_db, _UP_DB, -_DOWN_DB)
        self._left_db = np.where(loud, np.clip(self._left_db + step, -40.0, 0.0), self._left_db)
        left = _OVER * 10 ** (self._left_db / 10) * self._echo_power
        gain = np.maximum(_FLOOR, 1 - left / (power[0] + _LEAST))
        out = _WINDOW * np.fft.irfft(gain * spectra[0])
        whole, self._overlap = self._overlap + out[:BLOCK], out[BLOCK:]
        return np.asarray(whole, np.float32)
