"""The voice sounds as it was left, and a settings file that cannot be used is told in one sentence."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest

from speech.mouth import Mouth
from speech.player import ProgramPlayer
from speech.voice import ChildVoice
from tui.speaking import SpokenMouth, _set
from tui.voice_settings import FILE_NAME, VoiceSettings, keep_settings, read_settings


def test_what_was_kept_is_read_again(tmp_path: Path) -> None:
    named = {"microphone": 'Bühne "2" \\ (hw:1,0)', "loudspeaker": "dock"}
    kept = VoiceSettings(words_per_minute=119, gain_dB=-4.0, earcons=False, **named)
    assert keep_settings(tmp_path, kept) == ""
    assert read_settings(tmp_path) == (kept, "")
    assert [path.name for path in tmp_path.iterdir()] == [FILE_NAME]


def test_without_a_file_all_is_as_at_first_and_nothing_is_said(tmp_path: Path) -> None:
    assert read_settings(tmp_path) == (VoiceSettings(), "")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("words_per_minute = 900", "words_per_minute"),
        ("gain_dB = 400.0", "gain_dB"),
        ("gain_dB = nan", "gain_dB"),
        ("earcons = 'no'", "earcons"),
        ("volume = 3", "volume"),
        ("words_per_minute", "not TOML"),
        ("\x00", "not TOML"),
        ("", "is empty"),
    ],
)
def test_a_file_that_cannot_be_used_is_told_in_a_sentence(tmp_path: Path, text: str, told: str) -> None:
    (tmp_path / FILE_NAME).write_text(text)
    settings, sentence = read_settings(tmp_path)
    assert settings == VoiceSettings()
    assert told in sentence
    assert "\n" not in sentence


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / f"{FILE_NAME}.new").mkdir()
    assert "cannot be written" in keep_settings(tmp_path, VoiceSettings())


def test_louder_and_slower_are_still_so_in_the_next_session(tmp_path: Path) -> None:
    def mouth() -> SpokenMouth:
        settings, _ = read_settings(tmp_path)
        voice, player = ChildVoice("none", ("true",)), ProgramPlayer(("cat",))
        return SpokenMouth(lambda told, failed: _set(Mouth(voice, player, told, failed), settings))

    def keep(folder: Path, words_per_minute: int, gain_dB: float) -> None:
        assert keep_settings(folder, VoiceSettings(words_per_minute=words_per_minute, gain_dB=gain_dB)) == ""

    first = mouth()
    first.on_adjusted = partial(keep, tmp_path)
    first.adjust("louder")
    first.adjust("slower")
    second = mouth()
    assert second._speech.gain_db == 4.0  # class: regression -- one step
    assert second._speech.words_per_minute == 119  # class: analytic -- 0.85 of 140
    for one in (first, second):
        one.close()
