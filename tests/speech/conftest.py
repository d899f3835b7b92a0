"""What the speech tests share: the real ear, a real voice, the recordings of people."""

from __future__ import annotations

import csv
import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

import pytest

from speech.ear import Ear
from speech.errors import Missing
from speech.sound import Sound

AUDIO = Path(__file__).parents[3] / "shared" / "audio"


def absent(what: str) -> NoReturn:
    """Skip with the reason; in continuous integration its absence is a failure."""
    if os.environ.get("CI") == "true":
        pytest.fail(f"{what}; it must be here when CI=true")
    pytest.skip(what)


@dataclass(frozen=True)
class Recording:
    file: Path
    words: str
    kind: str  # the folder: command_number, other_word, noise ...


@pytest.fixture(scope="session")
def ear() -> Ear:
    from speech.ears import open_ear

    found = open_ear()
    if isinstance(found, Missing):
        absent(found.sentence)
    return found


@pytest.fixture(scope="session")
def say() -> Callable[..., Sound]:
    """Renders a text with the real voice, with 0.3 s of silence before and 0.7 s after; each text once."""
    import numpy as np

    from speech.voice import find_voice

    voice = find_voice()
    if isinstance(voice, Missing):
        absent(voice.sentence)
    kept: dict[tuple[str, int, str], Sound] = {}

    def render(text: str, words_per_minute: int = 140, speaker: str = "en-us") -> Sound:
        key = (text, words_per_minute, speaker)
        if key not in kept:
            samples = voice.render(text, words_per_minute, speaker).samples
            kept[key] = Sound(np.pad(samples, (4800, 11200)))
        return kept[key]

    return render


@pytest.fixture(scope="session")
def recordings() -> list[Recording]:
    manifest = AUDIO / "manifest.tsv"
    if not manifest.is_file():
        absent("the recordings of people are not beside the project (shared/audio)")
    with manifest.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, delimiter="\t"))
    return [Recording(AUDIO / row["file"], row["words"], row["file"].split("/")[0]) for row in rows]
