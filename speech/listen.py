"""The listening chain: blocks of sound in, utterances out, each with how far it can be trusted."""

from __future__ import annotations

import numpy as np

from speech.activity import BLOCK_S, Cut, Cutter, Cutting
from speech.ear import Ear
from speech.sound import BLOCK, RATE_HZ, Samples, Sound
from speech.utterance import Utterance
from speech.verify import GATE_SNR_DB, Hearing, judge
from speech.word_times import unaccounted

DEAF_TAIL_S = 0.3  # our own voice lingers in the room and in the sound device
CUE_TAIL_S = 0.05  # our short sounds are quiet, and no voice to the detector
SPOILT_IN_A_ROW = 3
LOUD_DB = -25.0  # noise floor [dB re full scale]: a voice near a usual microphone comes at -25 to -15
LOUD_FOR_S = 20.0  # a grinder that runs shorter is no news
QUIETER_DB = 3.0  # by so much it must fall to count as gone
TOO_NOISY = "There is too much noise here: come closer to the microphone, or use the pedal and type."


class Listener:
    """Cuts and transcribes a stream. One thread feeds it; `own_voice` may be called from another.

    While our own voice sounds, and for a tail after it, nothing heard is an answer: such utterances carry
    `while_deaf` and are there for words of danger only. So does one that began then and goes on beyond.
    """

    def __init__(self, ear: Ear, cutting: Cutting | None = None) -> None:
        self.ear = ear
        self._cutter = Cutter(cutting)
        self._now_s = 0.0
        self._deaf_until_s = float("-inf")
        self._tail_until_s = float("-inf")
        self._was_deaf = False
        self._touched_deaf = False
        self._left = np.zeros(0, np.float32)
        self._spoilt = 0  # cuts in a row that never ended or were drowned
        self._loud_since_s: float | None = None  # the floor, with no clear voice over it meanwhile

    @property
    def hearing(self) -> bool:
        """Whether a voice is being heard now: for 'hearing you' on a screen."""
        return self._cutter.hearing

    @property
    def cutter(self) -> Cutter:
        """What cuts the stream: for an early look at what is being said (`speech.lookout`)."""
        return self._cutter

    @property
    def while_deaf(self) -> bool:
        """Whether our own voice sounded during what is being heard now."""
        return self._touched_deaf

    @property
    def trouble(self) -> str:
        """What keeps the ears from working here, in a sentence; '' when nothing does."""
        loud = self._loud_since_s is not None and self._now_s - self._loud_since_s >= LOUD_FOR_S
        return TOO_NOISY if loud or self._spoilt >= SPOILT_IN_A_ROW else ""

    def wait_for_number(self, yes: bool) -> None:
        """Wait longer for the end of what is said: people pause inside numbers."""
        from speech.activity import NUMBER_PATIENCE_S

        self._cutter.patience_s = NUMBER_PATIENCE_S if yes else self._cutter.cutting.pause_s

    def own_voice(self, sounding: bool, at_s: float | None = None, tail_s: float = DEAF_TAIL_S) -> None:
        """Tell that our own sound begins or has ended.

        Args:
            at_s: when [s], by the stream's clock; None: now.
            tail_s: how long after its end we stay deaf [s]; never less than an earlier one still asks for.
        """
        now_s = self._now_s if at_s is None else at_s
        if not sounding:
            self._tail_until_s = max(self._tail_until_s, now_s + tail_s)
        self._deaf_until_s = float("inf") if sounding else self._tail_until_s

    def feed(self, samples: Samples, at_s: float | None = None) -> list[Utterance]:
        """Take sound of any length; give what was said in it. Transcribing takes its time here.

        at_s: the time of the last sample [s]; None: counted from the first sample fed.
        """
        samples = np.concatenate([self._left, samples]) if len(self._left) else samples
        whole = len(samples) // BLOCK
        self._left = samples[whole * BLOCK :]
        heard: list[Utterance] = []
        for k in range(whole):
            behind_s = (whole - 1 - k) * BLOCK_S + len(self._left) / RATE_HZ
            self._now_s = self._now_s + BLOCK_S if at_s is None else at_s - behind_s
            heard += self._feed_block(samples[k * BLOCK : (k + 1) * BLOCK])
        return heard

    def flush(self) -> list[Utterance]:
        """End the stream: what is being heard now is taken as ended."""
        rest = self._left
        self._left = np.zeros(0, np.float32)
        heard: list[Utterance] = []
        if len(rest):
            self._now_s += BLOCK_S
            heard = self._feed_block(np.pad(rest, (0, BLOCK - len(rest))))
        return heard + self._said(self._cutter.finish())

    def _feed_block(self, block: Samples) -> list[Utterance]:
        heard: list[Utterance] = []
        deaf = self._now_s - BLOCK_S < self._deaf_until_s
        if self._was_deaf and not deaf and self._cutter.quiet_for_s > DEAF_TAIL_S / 2:
            heard += self._said(self._cutter.finish())  # the voice heard was ours: the next one is another's
            self._cutter.forget()
        self._was_deaf = deaf
        cut = self._cutter.feed(block, self._now_s)
        self._watch_floor()
        self._touched_deaf |= deaf and (self._cutter.hearing or cut is not None)
        return heard + self._said(cut)

    def _watch_floor(self) -> None:
        """In steady loud noise the detector finds no voice at all, so no cut tells of it."""
        floor_db = self._cutter.noise_db
        if floor_db is None or floor_db < LOUD_DB - QUIETER_DB:
            self._loud_since_s = None
        elif floor_db >= LOUD_DB and self._loud_since_s is None:
            self._loud_since_s = self._now_s

    def _said(self, cut: Cut | None) -> list[Utterance]:
        deaf = self._touched_deaf
        if not self._cutter.hearing:
            self._touched_deaf = False
        if cut is None:
            return []
        drowned = cut.snr_db is not None and cut.snr_db < GATE_SNR_DB
        spoilt = cut.cut_short or drowned
        self._spoilt = self._spoilt + 1 if spoilt else 0
        if not spoilt and not deaf:
            self._loud_since_s = None  # loud, and yet somebody is heard over it
        return transcribe(cut, self.ear, while_deaf=deaf)


def transcribe(cut: Cut, ear: Ear, while_deaf: bool = False) -> list[Utterance]:
    """One cut to at most one utterance: none when the ear finds no words in it."""
    words = ear.hear(cut.samples)
    if not words.text:
        return []
    around = unaccounted(words.times, cut.lead_s, cut.lead_s + cut.end_s - cut.start_s)
    verdict = judge(
        Hearing(
            text=words.text,
            spoken_s=cut.end_s - cut.start_s,
            sureness=words.sureness,
            snr_db=cut.snr_db,
            free=words.free,
            second_look=words.second_look,
            while_deaf=while_deaf,
            cut_short=cut.cut_short,
            goes_on=cut.goes_on,
            for_gates=ear.good_for_gates,
            first_letters=None if around is None else around[0],
            rest_letters=None if around is None else around[1],
        )
    )
    return [
        Utterance(
            start_s=round(cut.start_s, 3),
            end_s=round(cut.end_s, 3),
            text=words.text,
            engine=ear.name,
            sureness=words.sureness,
            alternatives=words.alternatives,
            scores=words.scores,
            snr_db=cut.snr_db,
            verified=verdict.verified,
            gate_grade=verdict.gate_grade,
            why_not=verdict.why_not,
            while_deaf=while_deaf,
        )
    ]


def hear_sound(sound: Sound, ear: Ear, cutting: Cutting | None = None) -> list[Utterance]:
    """The whole chain on a recording; times are seconds from its beginning."""
    listener = Listener(ear, cutting)
    heard = listener.feed(sound.samples)
    return heard + listener.flush()
