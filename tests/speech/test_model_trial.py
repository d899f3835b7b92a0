"""The trial before a model counts, with real weights: whole ones load, half-copied ones install nothing."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

pytest.importorskip("faster_whisper", reason="the recogniser is an extra: pip install '.[ears]'")

from speech.errors import Missing, SpeechError
from speech.model_store import install
from speech.models import cache_folder, find_whisper


@pytest.fixture
def weights(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A folder of links to the real weights."""
    found = find_whisper()
    if isinstance(found, Missing):
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)(found.sentence)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.delenv("LOOPWRIGHT_WHISPER_MODEL", raising=False)
    (tmp_path / "weights").mkdir()
    for part in found.path.iterdir():
        (tmp_path / "weights" / part.name).symlink_to(part)
    return tmp_path / "weights"


@pytest.mark.slow
def test_whole_weights_are_tried_and_installed_and_half_of_them_are_not(weights: Path) -> None:
    whole = weights / "model.bin"
    data = whole.read_bytes()
    whole.unlink()
    whole.write_bytes(data[: len(data) // 2])
    with pytest.raises(SpeechError, match=r"nothing was installed: .* does not load"):
        install(weights)
    assert not cache_folder().exists()
    whole.write_bytes(data)
    assert install(weights).note == ""
    found = find_whisper()
    assert not isinstance(found, Missing)
    assert found.path == cache_folder()
    assert found.pinned
