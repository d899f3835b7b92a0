"""A voice from a piper model: by its path only, and a wrong path or a missing part is a sentence."""

from __future__ import annotations

import os
from importlib.util import find_spec
from pathlib import Path

import pytest

from speech.errors import Missing, SpeechError
from speech.piper_voice import VOICE_VARIABLE, PiperVoice, find_piper


def test_without_a_path_there_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(VOICE_VARIABLE, raising=False)
    assert isinstance(find_piper(), Missing)


def test_a_path_without_a_model_is_said(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv(VOICE_VARIABLE, str(tmp_path / "voice.onnx"))
    with pytest.raises(
        SpeechError, match=r"voice\.onnx\.json are not both there; correct LOOPWRIGHT_VOICE_MODEL"
    ):
        find_piper()


def test_a_file_that_is_no_model_is_said(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    model = tmp_path / "voice.onnx"
    model.write_bytes(b"no model")
    Path(f"{model}.json").write_text("{}")
    monkeypatch.setenv(VOICE_VARIABLE, str(model))
    with pytest.raises(SpeechError):  # of a missing package, or of the file
        find_piper()


def test_a_named_model_speaks_and_slower_is_longer() -> None:
    named = os.environ.get(VOICE_VARIABLE, "")
    if not named or find_spec("piper") is None:
        pytest.skip(f"no piper model: name one in {VOICE_VARIABLE}")
    voice = find_piper()
    assert isinstance(voice, PiperVoice)
    usual = voice.render("the belt is two millimetres thick")
    assert 1.0 < usual.seconds < voice.render("the belt is two millimetres thick", 100).seconds
    with pytest.raises(SpeechError, match="no text"):
        voice.render(" ")
    voice.close()
