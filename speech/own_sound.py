"""What our own loudspeaker was given and when, and where it lies in the microphone's sound.

The way from the player to the microphone takes an unknown time (opening a device, buffers, air), the same within a
piece and a little different for each: it is found by correlation, piece by piece.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from speech.sound import RATE_HZ, Samples

LONGEST_LAG = int(0.8 * RATE_HZ)
SURE = 8.0  # peak of a correlation over its root mean square; chance gives about 4.5
_WHITE = 0.7  # how far the correlation is whitened: all the way, and noise counts as much as voice
_STOPS = int(0.05 * RATE_HZ)  # samples that still sound after a piece was cut off


@dataclass(eq=False)
class Piece:
    """began_s, ended_s: by the session's clock; ended_s only if it was cut off."""

    samples: Samples
    began_s: float
    ended_s: float = float("inf")

    def sounding(self) -> Samples:
        """As far as it came."""
        if self.ended_s == float("inf"):
            return self.samples
        return self.samples[: max(0, round((self.ended_s - self.began_s) * RATE_HZ) + _STOPS)]


class OwnSound:
    """The player's thread tells, the ears' thread takes. What nobody takes makes way."""

    def __init__(self) -> None:
        self._pieces: deque[Piece] = deque(maxlen=8)
        self._last: Piece | None = None
        self._guard = threading.Lock()

    def began(self, samples: Samples, at_s: float) -> None:
        """The player begins to play this."""
        with self._guard:
            self._last = Piece(samples, at_s)
            self._pieces.append(self._last)

    def cut_off(self, at_s: float) -> None:
        """What is being played is silent from now on."""
        with self._guard:
            if self._last is not None:
                self._last.ended_s = min(self._last.ended_s, at_s)

    def take(self, until_s: float) -> list[Piece]:
        """The pieces that began before `until_s` and have not been taken yet."""
        found = []
        with self._guard:
            while self._pieces and self._pieces[0].began_s < until_s:
                found.append(self._pieces.popleft())
        return found


@dataclass(eq=False)
class Placed:
    """A piece on the microphone's own count of samples. first: where it would begin without any lag.

    lag: samples; sure: found in this piece, not taken over from the one before.
    """

    piece: Piece
    first: int
    lag: int | None = None
    sure: bool = False

    def ends(self) -> int:
        """The count at which its last sample is heard."""
        return self.first + (self.lag or 0) + len(self.piece.sounding())


def played(pieces: Iterable[Placed], begin: int, end: int, lead: int = 0) -> Samples:
    """What sounds in the microphone from sample `begin` to `end`, without the room; silence where nothing does.

    lead: everything this many samples earlier, so that a lag that was found a little too long does no harm.
    """
    out = np.zeros(end - begin, np.float32)
    for placed in pieces:
        if placed.lag is None:
            continue
        at, samples = placed.first + placed.lag - lead, placed.piece.sounding()
        low, high = max(begin, at), min(end, at + len(samples))
        if low < high:
            out[low - begin : high - begin] = samples[low - at : high - at]
    return out


def find_lag(heard: Samples, begin: int, placed: Placed) -> int | None:
    """How late [samples] a piece is in what was heard from sample `begin` on; None: nothing tells.

    By cross-correlation with weights that make each frequency count about alike; the piece and the sound are looked at
    as they overlap.
    """
    low = max(0, begin - LONGEST_LAG - placed.first)
    samples = placed.piece.sounding()[low : max(0, begin + len(heard) - placed.first)]
    if len(samples) < RATE_HZ // 4:
        return None
    size = 1 << (len(heard) + len(samples) + LONGEST_LAG).bit_length()
    cross = np.fft.rfft(heard, size) * np.conj(np.fft.rfft(samples, size))
    cross /= np.abs(cross) ** _WHITE + 1e-12
    alike = np.abs(np.fft.irfft(cross, size))
    from_lag = placed.first + low - begin  # where its sample `low` would lie in what was heard, without lag
    lags = np.arange(LONGEST_LAG)
    alike = alike[(lags + from_lag) % size]
    best = int(np.argmax(alike))
    sure = alike[best] >= SURE * np.sqrt(np.mean(np.square(alike)) + 1e-30)
    return best if sure else None
