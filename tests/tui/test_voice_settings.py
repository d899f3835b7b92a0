"""The voice sounds as it was left, and a settings file that cannot be used is told in one sentence."""

from __future__ import annotations

from pathlib import Path

import pytest

from speech.mouth import Mouth
from speech.player import ProgramPlayer
from speech.voice import ChildVoice
from tui.speaking import SpokenMouth, _set
from tui.voice_settings import FILE_NAME, LONGEST_NAME, Keeper, VoiceSettings, keep_settings, read_settings

NAMED = "microphone = 'headset'\nloudspeaker = 'dock'\n"


def test_what_was_kept_is_read_again(tmp_path: Path) -> None:
    named = {"microphone": 'Bühne "2" \\ (hw:1,0)', "loudspeaker": "dock"}
    kept = VoiceSettings(words_per_minute=119, gain_dB=-4.0, earcons=False, **named)
    assert keep_settings(tmp_path, kept) == ""
    assert read_settings(tmp_path) == (kept, "")
    assert [path.name for path in tmp_path.iterdir()] == [FILE_NAME]


def test_without_a_file_all_is_as_at_first_and_nothing_is_said(tmp_path: Path) -> None:
    assert read_settings(tmp_path) == (VoiceSettings(), "")


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("words_per_minute = 900", "line 3: the key 'words_per_minute' is 900"),
        ("gain_dB = 400.0", "line 3: the key 'gain_dB' is 400.0"),
        ("gain_dB = -99.0", "line 3: the key 'gain_dB' is -99.0"),
        ("gain_dB = nan", "line 3: the key 'gain_dB'"),
        ("earcons = 'no'", "line 3: the key 'earcons'"),
        ("volume = 3", "line 3: the key 'volume' is not known here"),
        ("[volume]\nleft = 3", "line 3: the key 'volume' is not known here"),
    ],
)
def test_a_line_that_cannot_be_used_takes_nothing_else_with_it(tmp_path: Path, line: str, told: str) -> None:
    (tmp_path / FILE_NAME).write_text(f"{NAMED}{line}\n")
    settings, sentence = read_settings(tmp_path)
    assert settings == VoiceSettings(microphone="headset", loudspeaker="dock")
    assert sentence.startswith("Not all of the voice's settings are used (not '")
    assert told in sentence
    assert "is chosen by it" not in sentence
    assert "\n" not in sentence


@pytest.mark.parametrize(
    "name", [f"'{'a' * (LONGEST_NAME + 1)}'", '"a\\u0000b"', '"\\u202ea"', '"a\\nb"', "3", "['dock']"]
)
def test_a_name_that_cannot_be_used_is_told_and_the_other_device_is_still_chosen(
    tmp_path: Path, name: str
) -> None:
    (tmp_path / FILE_NAME).write_text(f"gain_dB = 4.0\nmicrophone = 'headset'\nloudspeaker = {name}\n")
    settings, sentence = read_settings(tmp_path)
    assert settings == VoiceSettings(gain_dB=4.0, microphone="headset")
    assert "(not 'loudspeaker'; no loudspeaker is chosen by it)" in sentence
    assert "line 3" in sentence
    assert sentence.isprintable()


def test_several_lines_that_cannot_be_used_are_one_sentence(tmp_path: Path) -> None:
    wrong = "".join(f"{key} = 3\n" for key in ("volume", "microphone", "loudspeaker", "v" * 900, "w"))
    (tmp_path / FILE_NAME).write_text(f"{wrong}words_per_minute = 119\n")
    settings, sentence = read_settings(tmp_path)
    assert settings == VoiceSettings(words_per_minute=119)
    told = (
        "(not 'volume', 'microphone', 'loudspeaker' and 2 more; no microphone or loudspeaker is chosen by it)"
    )
    assert told in sentence
    assert len(sentence) < 400


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (f"{NAMED}words_per_minute", "not TOML"),
        (f"{NAMED}gain_dB = 4.0\ngain_dB = 4.0\n", "line 4: not TOML"),
        ("\x00", "not TOML"),
        ("", "is empty"),
    ],
)
def test_a_file_that_cannot_be_read_at_all_is_said_to_choose_no_device(
    tmp_path: Path, text: str, told: str
) -> None:
    (tmp_path / FILE_NAME).write_text(text)
    settings, sentence = read_settings(tmp_path)
    assert settings == VoiceSettings()
    assert "no microphone or loudspeaker is chosen by its settings" in sentence
    assert told in sentence
    assert "\n" not in sentence


@pytest.mark.parametrize("text", [f"{NAMED}volume = 3\n", f"{NAMED}gain_dB = 0.0\ngain_dB = 0.0\n", "\n"])
def test_a_file_that_cannot_be_used_whole_is_never_overwritten_and_that_is_told_once(
    tmp_path: Path, text: str
) -> None:
    path = tmp_path / FILE_NAME
    path.write_text(text)
    told: list[str] = []
    keeper = Keeper(tmp_path, told.append)
    keeper.keep(140, 4.0)
    keeper.keep(140, 8.0)
    assert path.read_text() == text
    assert len(told) == 1
    assert "hold until you leave" in told[0]
    path.write_text(NAMED)
    keeper.keep(119, 8.0)
    kept = VoiceSettings(words_per_minute=119, gain_dB=8.0, microphone="headset", loudspeaker="dock")
    assert read_settings(tmp_path) == (kept, "")
    assert len(told) == 1


def test_what_was_written_meanwhile_stays_and_only_rate_and_loudness_change(tmp_path: Path) -> None:
    keeper = Keeper(tmp_path, pytest.fail)
    keeper.keep(140, 4.0)
    (tmp_path / FILE_NAME).write_text(f"{NAMED}earcons = false\ngain_dB = -12.0\n")
    keeper.keep(140, 8.0)
    kept = VoiceSettings(gain_dB=8.0, earcons=False, microphone="headset", loudspeaker="dock")
    assert read_settings(tmp_path) == (kept, "")


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / f"{FILE_NAME}.new").mkdir()
    assert "cannot be written" in keep_settings(tmp_path, VoiceSettings())
    told: list[str] = []
    keeper = Keeper(tmp_path, told.append)
    keeper.keep(140, 4.0)
    keeper.keep(140, 8.0)
    assert len(told) == 1


def test_louder_and_slower_are_still_so_in_the_next_session(tmp_path: Path) -> None:
    def mouth() -> SpokenMouth:
        settings, _ = read_settings(tmp_path)
        voice, player = ChildVoice("none", ("true",)), ProgramPlayer(("cat",))
        return SpokenMouth(lambda told, failed: _set(Mouth(voice, player, told, failed), settings))

    first = mouth()
    first.on_adjusted = Keeper(tmp_path, pytest.fail).keep
    first.adjust("louder")
    first.adjust("slower")
    second = mouth()
    assert second._speech.gain_db == 4.0  # class: regression -- one step
    assert second._speech.words_per_minute == 119  # class: analytic -- 0.85 of 140
    for one in (first, second):
        one.close()
