"""A model of many languages by its folder: it is asked for English, in its own prompt, and times words too."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path

import pytest

pytest.importorskip("faster_whisper", reason="the recogniser is an extra: pip install '.[ears]'")

from speech.ear import plain
from speech.models import ModelFolder, find_whisper
from speech.sound import Sound
from speech.whisper_ear import WhisperEar


@pytest.fixture(scope="module")
def many() -> WhisperEar:
    """A folder that LOOPWRIGHT_WHISPER_MODEL names, if its model is of many languages."""
    named = os.environ.get("LOOPWRIGHT_WHISPER_MODEL")
    if not named or "<|de|>" not in (Path(named) / "tokenizer.json").read_text(encoding="utf-8"):
        pytest.skip("LOOPWRIGHT_WHISPER_MODEL names no multilingual model; no package carries a whole one")
    folder = find_whisper()
    assert isinstance(folder, ModelFolder)
    ear = WhisperEar(folder)
    if not ear._model.model.is_multilingual:
        pytest.skip("the model that LOOPWRIGHT_WHISPER_MODEL names knows English only")
    return ear


def test_the_prompt_asks_for_english_text_without_times(many: WhisperEar) -> None:
    named = Path(os.environ["LOOPWRIGHT_WHISPER_MODEL"]) / "tokenizer.json"
    ids = {one["content"]: one["id"] for one in json.loads(named.read_text(encoding="utf-8"))["added_tokens"]}
    asked = ["<|startoftranscript|>", "<|en|>", "<|transcribe|>", "<|notimestamps|>"]
    assert many._prompt == [ids[token] for token in asked]  # class: printed -- the model's own tokenizer.json


def test_it_hears_english_and_times_the_words(many: WhisperEar, say: Callable[..., Sound]) -> None:
    sound = say("the press shows the same numbers")
    heard = many.hear(sound.samples)
    assert plain(heard.text) == "the press shows the same numbers"
    assert [plain(one.word) for one in heard.times] == plain(heard.text).split()
    assert heard.times[-1].end_s <= sound.seconds
