"""Sound into a real session: a microphone's blocks through the real ear, as fast as they are taken.

The session's clock moves with the sound, so what is said when is as it would be at a press.
"""

from __future__ import annotations

import csv
import os
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import NoReturn
from zlib import crc32

import numpy as np
import pytest
from at_the_press import Talk

from intents.meaning import Heard
from speech.ear import Ear
from speech.ears import open_ear
from speech.errors import Missing
from speech.noise import mix, workshop_noise
from speech.sound import BLOCK, RATE_HZ, Samples
from speech.voice import Voice, find_voice
from speech.wavefile import read_wav
from tui.hearing import Hearing

AUDIO = Path(__file__).parents[2] / "shared" / "audio"
SNR_DB = 20.0


def absent(what: str) -> NoReturn:
    """Skip with the reason; in continuous integration its absence is a failure."""
    if os.environ.get("CI") == "true":
        pytest.fail(f"{what}; it must be here when CI=true")
    pytest.skip(what)


@cache
def _found_ear() -> Ear | Missing:
    return open_ear()


@cache
def _found_voice() -> Voice | Missing:
    return find_voice()


def real_ear() -> Ear:
    found = _found_ear()
    return absent(found.sentence) if isinstance(found, Missing) else found


def _real_voice() -> Voice:
    found = _found_voice()
    return absent(found.sentence) if isinstance(found, Missing) else found


@cache
def said(text: str) -> Samples:
    """The words in the real voice, nothing around them."""
    return _real_voice().render(text).samples


@dataclass(frozen=True)
class Recording:
    file: Path
    words: str
    kind: str  # the folder: command_number, other_word, noise ...

    @property
    def samples(self) -> Samples:
        return read_wav(self.file).samples


@cache
def recordings() -> tuple[Recording, ...]:
    """All recordings of people, and of noise."""
    manifest = AUDIO / "manifest.tsv"
    if not manifest.is_file():
        absent("the recordings of people are not beside the project (shared/audio)")
    with manifest.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, delimiter="\t"))
    return tuple(Recording(AUDIO / row["file"], row["words"], row["file"].split("/")[0]) for row in rows)


def no_microphone() -> Missing:
    return Missing("no microphone in this test")


def in_the_shop(*texts: str, gap_s: float = 1.5) -> Samples:
    """The texts one after another, with workshop noise under all of it at 20 dB."""
    gap = np.zeros(int(gap_s * RATE_HZ), np.float32)
    parts = [part for text in texts for part in (said(text), gap)]
    speech = np.concatenate([gap, *parts])
    return mix(speech, workshop_noise(len(speech) / RATE_HZ, seed=crc32(" ".join(texts).encode())), SNR_DB)


@dataclass
class Voiced:
    """A talk with ears. `passed`: what the ears passed on to the session."""

    talk: Talk
    ear: Ear
    passed: list[Heard] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.hearing = Hearing(self.talk.session, self._heard, no_microphone, lambda: self.ear)
        self.hearing.use(self.ear)

    def _heard(self, heard: Heard) -> None:
        self.passed.append(heard)
        self.talk.session.hear(heard)

    def play(self, samples: Samples) -> None:
        """Into the microphone; the clock moves with it."""
        self.take(samples[at : at + BLOCK] for at in range(0, len(samples) - BLOCK + 1, BLOCK))

    def take(self, blocks: Iterable[Samples]) -> None:
        for block in blocks:
            self.talk.clock.advance(len(block) / RATE_HZ)
            self.hearing.take(block, self.talk.clock.t_s)

    def say(self, *texts: str) -> None:
        """Somebody says it at the press."""
        self.play(in_the_shop(*texts))

    @property
    def heard(self) -> list[str]:
        return [heard.text for heard in self.passed]

    def all_as_before(self) -> object:
        """All that words could change, except how often they were refused."""
        state = self.talk.state
        return (state.act, state.done, dict(state.values), state.readings, state.findings, state.outcome)
