"""The whole way by sound: a wave file into the microphone, the real recogniser, and what the session makes of it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from at_the_press import HandClock, Talk, at, close_open_gates, sheet
from voiced import Recording, Voiced, in_the_shop, real_ear, recordings

from assistant.opening import begin_session, open_bench
from speech.microphone import FileMicrophone
from speech.sound import RATE_HZ, Sound
from speech.wavefile import write_wav

GATE = "gate_closed"
SENTENCE = "the press is locked together and my hands are out of the way"


def at_the_gate(folder: Path) -> Voiced:
    talk = at("demo", GATE, folder)
    close_open_gates(talk, GATE)
    return Voiced(talk, real_ear())


def asked_for_thickness(folder: Path, callsign: str | None = None) -> Voiced:
    clock = HandClock()
    known = {slot: value for slot, value in sheet("demo").items() if slot != "belt_thickness"}
    return Voiced(Talk(begin_session(open_bench(folder, callsign), known, clock), clock), real_ear())


@pytest.mark.slow
def test_a_value_is_read_back_corrected_and_confirmed_from_a_wave_file(tmp_path: Path) -> None:
    """Four utterances over 20 dB of workshop noise in one file, through the file microphone."""
    voiced = asked_for_thickness(tmp_path)
    wav = tmp_path / "said.wav"
    said = in_the_shop(
        "it is 2.2 millimeters", "yes", "no it is 1.8 millimeters", "that is correct", gap_s=1.8
    )
    write_wav(wav, Sound(said))
    voiced.take(FileMicrophone(wav, real_time=False).blocks())
    kinds = [event["kind"] for event in voiced.talk.events() if event.get("slot") == "belt_thickness"]
    assert len(voiced.passed) == 4, voiced.heard
    taken = [event for event in voiced.talk.events("value_taken") if event["way"] == "voice"]
    assert [event["value"] for event in taken] == [pytest.approx(0.0018)], voiced.heard
    assert kinds == ["value_offered", "value_offered", "value_taken"], voiced.heard
    assert any("A plain yes is not enough" in event["text"] for event in voiced.talk.events("said"))


@pytest.mark.slow
def test_a_gate_is_closed_by_its_sentence_and_not_by_a_bare_yes_or_another_sentence(tmp_path: Path) -> None:
    voiced = at_the_gate(tmp_path)
    voiced.say("yes")
    voiced.say("all the cables are dry and in good condition")
    voiced.say("the press is locked together and my hands are not out of the way")
    assert len(voiced.passed) == 3, voiced.heard
    assert voiced.talk.act == GATE
    assert voiced.talk.state.gate_refusals == 3
    voiced.say(SENTENCE)
    assert voiced.talk.act != GATE
    closed = voiced.talk.events("gate_closed")[-1]
    assert (closed["act"], closed["way"]) == (GATE, "voice")
    assert closed["engine"].startswith("whisper")
    assert closed["sureness"] >= -0.6  # class: common practice, no published source -- the gate's own floor


@pytest.mark.slow
def test_a_sentence_that_ends_something_longer_closes_nothing(tmp_path: Path) -> None:
    """A prompt read out by another bench runs into the sentence without a pause."""
    voiced = at_the_gate(tmp_path)
    voiced.say(
        "i told him about the conveyor and the old belt this morning and he said that it would be much better "
        f"to wait for the supervisor before we touch it so i said to him {SENTENCE}"
    )
    assert voiced.passed
    assert voiced.talk.act == GATE


def test_after_a_while_the_callsign_is_needed_and_the_key_saves_it(tmp_path: Path) -> None:
    voiced = asked_for_thickness(tmp_path, callsign="computer")
    voiced.talk.wait(40)
    voiced.say("1.8 millimeters")
    assert voiced.talk.state.offered is None
    assert voiced.talk.session.lines_since(0)[-1].text == "not for me"
    voiced.say("computer it is 1.8 millimeters")
    assert voiced.talk.state.offered is not None, voiced.heard
    voiced.talk.wait(40)
    before = voiced.talk.state.count
    voiced.talk.session.key(voiced.talk.clock.t_s)
    assert voiced.talk.state.count == before, "a press that opens the ear stays out of the record"
    voiced.say("that is correct")
    assert voiced.talk.state.values["belt_thickness"] == pytest.approx(0.0018)


def test_a_key_at_a_gate_opens_the_ear_and_answers_nothing(tmp_path: Path) -> None:
    voiced = at_the_gate(tmp_path)
    voiced.play(in_the_shop()[:2048])  # the ears are on
    before = voiced.talk.state
    voiced.talk.session.key(voiced.talk.clock.t_s)
    assert voiced.talk.state == before
    assert voiced.talk.session.lines_since(0)[-1].text == "listening"
    assert not [event for event in voiced.talk.events("heard") if event["way"] == "key"]


def test_a_key_at_a_step_is_done(tmp_path: Path) -> None:
    talk = at("demo", "cloth_below", tmp_path)
    close_open_gates(talk, "cloth_below")
    talk.key()
    assert talk.act == "template_in"


def test_silence_and_noise_pass_unheard(tmp_path: Path) -> None:
    """Six rooms, a workshop, a running tap, an exercise bike, and silence."""
    voiced = at_the_gate(tmp_path)
    before = voiced.all_as_before()
    voiced.play(np.zeros(3 * RATE_HZ, np.float32))
    noises = [r for r in recordings() if r.kind == "noise" and "talkers" not in r.file.name]
    for noise in noises:
        voiced.play(noise.samples[: 6 * RATE_HZ])
        voiced.play(np.zeros(RATE_HZ, np.float32))
    assert len(noises) == 9  # class: regression -- recordings of noise alone beside the project
    assert voiced.heard == []
    assert voiced.all_as_before() == before


@pytest.mark.slow
def test_two_talkers_and_nonsense_leave_a_mark_and_no_more(tmp_path: Path) -> None:
    """Nobody asked anything for a while, so that nothing without the callsign is for us."""
    voiced = asked_for_thickness(tmp_path, callsign="computer")
    voiced.talk.wait(40)
    before = voiced.all_as_before()
    talkers = [r for r in recordings() if "two_talkers" in r.file.name]
    for recording in talkers:
        voiced.play(recording.samples[: 6 * RATE_HZ])
        voiced.play(np.zeros(RATE_HZ, np.float32))
    voiced.say("the cat is sitting on the roof of the green house")
    assert voiced.heard
    assert voiced.all_as_before() == before
    assert not voiced.talk.state.danger
    marks = [line.text for line in voiced.talk.session.lines_since(0) if line.who == "note"]
    assert marks.count("not for me") == len(voiced.heard)


def _alarms_by(people: Sequence[Recording], folder: Path) -> int:
    """Plays them at a gate; none may count. Returns: how often a word of danger was heard."""
    voiced = at_the_gate(folder)
    before = voiced.all_as_before()
    alarms = 0
    for recording in people:
        voiced.play(np.pad(recording.samples, (RATE_HZ // 3, RATE_HZ)))
        assert voiced.all_as_before() == before, f"{recording.file.name}: {voiced.heard[-1]}"
        if voiced.talk.state.danger:
            alarms += 1
            print(f"alarm by {recording.file.name}: {voiced.passed[-1]}")
            voiced.talk.type("false alarm")
    assert voiced.passed
    return alarms


@pytest.mark.slow
def test_what_people_say_otherwise_closes_no_gate_and_changes_no_value(tmp_path: Path) -> None:
    """Every thirtieth of 283 recordings of people: numbers, commands, words, letters, sentences."""
    assert _alarms_by([r for r in recordings() if r.kind != "noise"][::30], tmp_path) == 0


@pytest.mark.slow
@pytest.mark.timeout(600)
@pytest.mark.parametrize(
    "kind",
    ["command_number", "command_word", "other_phrase", "other_sentence", "other_spelling", "other_word"],
)
def test_none_of_all_recordings_of_people_closes_a_gate_or_changes_a_value(tmp_path: Path, kind: str) -> None:
    """A false alarm costs a sentence; they must stay few."""
    people = [r for r in recordings() if r.kind == kind]
    alarms = _alarms_by(people, tmp_path)
    assert (
        alarms <= 1 + len(people) // 25
    )  # class: common practice, no published source -- one in twenty-five
