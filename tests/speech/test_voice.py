"""The voice: real sound from real text in a child process, and a child that hangs, fails or lies."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from speech.errors import Missing, SpeechError
from speech.sound import Sound
from speech.voice import SPEAKERS, ChildVoice, find_voice

Say = Callable[..., Sound]


def test_a_longer_text_is_a_longer_sound_and_a_slower_one_too(say: Say) -> None:
    short, long = say("one"), say("one two three four five six seven eight")
    assert 0.9 < short.seconds < long.seconds
    assert say("one two three four five six seven eight", 100).seconds > 1.2 * long.seconds
    assert np.max(np.abs(long.samples)) > 0.1


def test_the_speakers_differ(say: Say) -> None:
    sounds = {
        say("the belt is two millimetres thick", speaker=speaker).samples.tobytes() for speaker in SPEAKERS
    }
    assert len(sounds) == len(SPEAKERS)


def test_a_text_of_several_long_sentences_is_rendered_whole(say: Say) -> None:
    sentence = "Wait until the upper plate is below seventy degrees and do not release the pressure."
    assert say(" ".join([sentence] * 5)).seconds > 4 * (say(sentence).seconds - 1)


@pytest.mark.parametrize(
    ("text", "rate", "speaker", "why"),
    [
        ("", 140, "en-us", "no text"),
        ("  \n", 140, "en-us", "no text"),
        ("word " * 300, 140, "en-us", "too long"),
        ("one", 20, "en-us", "20 words a minute"),
        ("one", 140, "nobody", "no speaker 'nobody'"),
    ],
)
def test_what_cannot_be_spoken_is_refused_in_words(text: str, rate: int, speaker: str, why: str) -> None:
    with pytest.raises(SpeechError, match=why):
        ChildVoice("test", ("false",)).render(text, rate, speaker)


def test_signs_quotes_and_other_scripts_do_not_break_it(say: Say) -> None:
    assert say('it\'s 185 °C; rm -rf "$HOME" `id` {out} größe 温度 \x00 end').seconds > 1


def test_a_voice_that_hangs_is_killed_in_time() -> None:
    voice = ChildVoice("sleeper", (sys.executable, "-c", "import time; time.sleep(60)"), deadline_s=0.5)
    began = time.monotonic()
    with pytest.raises(SpeechError, match=r"did not answer in 0\.5 s"):
        voice.render("one")
    assert time.monotonic() - began < 5


@pytest.mark.parametrize(
    ("code", "why"),
    [
        ("import sys; sys.exit('no library here')", "no library here"),
        ("import os; os._exit(139)", "exit code 139"),
        ("pass", "made no sound"),
        ("import sys; open(sys.argv[1], 'wb').write(b'x' * 100)", "not a wave file"),
    ],
)
def test_a_voice_that_fails_or_lies_is_said(code: str, why: str) -> None:
    with pytest.raises(SpeechError, match=why):
        ChildVoice("broken", (sys.executable, "-c", code, "{out}")).render("one")


def test_a_voice_that_does_not_exist_is_said() -> None:
    with pytest.raises(SpeechError, match="does not start"):
        ChildVoice("nothing", ("/no/such/program",)).render("one")


def test_the_child_prints_nothing_on_standard_output(say: Say, tmp_path: Path) -> None:
    say("one")  # skips where there is no voice
    out = tmp_path / "a.wav"
    done = subprocess.run(
        [sys.executable, "-m", "speech.render_child", str(out), "140", "en-us"],
        input=b"ready", capture_output=True, check=True, cwd=Path(__file__).parents[2],
    )  # fmt: skip
    assert done.stdout == b""
    assert out.stat().st_size > 10_000


def test_without_any_engine_the_sentence_says_how_to_get_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("speech.voice._candidates", list)
    found = find_voice()
    assert isinstance(found, Missing)
    assert "pip install" in found.sentence
