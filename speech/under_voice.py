"""What is said while our own voice sounds: the microphone's sound with that voice taken out. For danger only.

It runs only while we sound, for the room's ringing after that, and to the end of what somebody says meanwhile. Where
the voice cannot be found in the sound, or nothing of it comes off, there is nothing here: the ears that hear the sound as it
is go on in any case.
"""

from __future__ import annotations

from collections import deque

import numpy as np

from speech.activity import BLOCK_S, Cutter
from speech.echo import REACH, EchoFilter, Leftover
from speech.own_sound import LONGEST_LAG, OwnSound, Placed, find_lag, played
from speech.sound import BLOCK, RATE_HZ, Samples

LOOKS_BACK = 48  # blocks that a lag is looked for in, 1.5 s
TRIES_EVERY = 8  # blocks
LEAD = 96  # samples, 6 ms
AGREES = 4  # samples between two lags that count as one
MOVED = 8  # samples; less is what the filter follows by itself
WAITS = 80  # blocks that are kept until the first lag is known, 2.5 s
RINGS = REACH  # samples after a piece's end
WORKS_DB = 3.0  # less than this off, and it is of no use
WORKS_FOR = int(6 / BLOCK_S)  # blocks: somebody who speaks hides for so long that it works
_LEAST = 1e-12  # power: keeps silence divisible
STEADY = 0.9  # smoothing of powers, from block to block


class UnderVoice:
    """Give it every block of the microphone; ask its cutter what is being said."""

    def __init__(self, own: OwnSound) -> None:
        self._own = own
        self._cutter: Cutter | None = None  # its detector takes a moment to load: only when we have spoken
        self._filter, self._leftover = EchoFilter(), Leftover()
        self._count = 0  # samples of the microphone so far
        self._placed: deque[Placed] = deque(maxlen=8)
        self._heard: deque[Samples] = deque(maxlen=LOOKS_BACK)
        self._waiting: deque[tuple[int, Samples, float]] = deque(maxlen=WAITS)
        self._lag: int | None = None  # the last that was found
        self._guess: int | None = None  # what the last try gave
        self._powers = np.zeros(2)  # of microphone and residual, while our voice sounds
        self._works = 0  # blocks for which it still counts as of use

    @property
    def cutter(self) -> Cutter | None:
        """What cuts the sound without our voice; None: we are silent, or our voice does not come off."""
        return self._cutter if self._placed and self._works else None

    @property
    def off_db(self) -> float:
        """By how much the sound was less without our voice, where that sounded last [dB]."""
        heard, left = self._powers + _LEAST
        return float(10 * np.log10(heard / left))

    def feed(self, block: Samples, at_s: float) -> bool:
        """Take one block. Returns: whether the cutter was given anything.

        Args:
            block: shape (BLOCK,).
            at_s: when its last sample came, by the clock by which our own sound is told.
        """
        self._count += len(block)
        self._heard.append(block)
        for piece in self._own.take(at_s):
            first = self._count - round((at_s - piece.began_s) * RATE_HZ)
            self._placed.append(Placed(piece, first, self._lag))
            self._guess = None
        if not self._placed:
            return False
        if self._count // BLOCK % TRIES_EVERY == 0:
            self._look_for_lag(self._placed[-1])
        self._waiting.append((self._count, block, at_s))
        if self._lag is None:
            if self._count > self._over_at() + LONGEST_LAG:  # it was too short, or nobody hears it
                self._forget()
            return False
        while self._waiting:
            self._clean(*self._waiting.popleft())
        if self._count > self._over_at() and self._cutter is not None and not self._cutter.hearing:
            self._cutter.forget()
            self._forget()
        return True

    def _look_for_lag(self, newest: Placed) -> None:
        heard = np.concatenate(self._heard)
        found = find_lag(heard, self._count - len(heard), newest)
        guess, self._guess = self._guess, found
        if found is None or guess is None or abs(found - guess) > AGREES:
            return
        if newest.lag is None:
            newest.lag = found
        elif not newest.sure and found != newest.lag:
            self._filter.unlearn(0.1)
            newest.lag = found
        elif newest.sure and abs(found - newest.lag) > MOVED and self.off_db < WORKS_DB:
            self._filter.unlearn(1.0)
            newest.lag = found
        newest.sure = True
        self._lag = newest.lag

    def _clean(self, count: int, block: Samples, at_s: float) -> None:
        sound = played(self._placed, count - BLOCK - REACH, count, LEAD)
        residual = self._filter.take(block, sound)
        powers = np.array([np.mean(np.square(block, dtype=np.float64)), np.mean(np.square(residual))])
        if powers[1] > powers[0]:  # it adds more than it takes: the sound as it is
            residual = block.astype(np.float64)
        if np.any(sound[-BLOCK:]):
            self._powers = STEADY * self._powers + (1 - STEADY) * powers
            self._works = WORKS_FOR if self.off_db > WORKS_DB else max(0, self._works - 1)
        clean = self._leftover.take(residual, block - residual)
        if self._cutter is None:
            self._cutter = Cutter()
        self._cutter.feed(clean, at_s)

    def _over_at(self) -> int:
        return max(placed.ends() for placed in self._placed) + RINGS

    def _forget(self) -> None:
        self._placed.clear()
        self._heard.clear()
        self._waiting.clear()
