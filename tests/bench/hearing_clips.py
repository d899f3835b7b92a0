"""The sounds that hearing is measured on: people's recordings and synthetic voices, with workshop noise under them.

Recordings lie beside the project (`../shared/audio`); voices are rendered when asked. Nothing is kept. Each clip has
a second of its noise before and after it, as a microphone would bring it.
"""

from __future__ import annotations

import csv
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any
from zlib import crc32

import numpy as np

from speech.noise import mix, workshop_noise
from speech.sound import RATE_HZ, Samples
from speech.voice import Voice, find_voice
from speech.wavefile import read_wav

AUDIO = Path(__file__).parents[3] / "shared" / "audio"
AROUND_S = 1.0
LEVELS_DB: tuple[float | None, ...] = (None, 20.0, 10.0, 5.0, 0.0)
NOISES = ("workshop", "exercise_bike", "running_tap", "machines")
VOICES = ("espeak en-us", "espeak en-us+m3", "flite slt", "flite rms", "flite awb", "piper")
SLOWER_BY = 1.15  # as one says again what was not understood


@dataclass(frozen=True)
class Clip:
    """Something said. kind: the group it is counted in; file: a recording, None: rendered in the voice `speaker`.

    before: a recording that is played just before it, as loud.
    """

    said: str
    kind: str
    speaker: str
    file: Path | None = None
    slower: bool = False
    before: Path | None = None

    @property
    def name(self) -> str:
        if self.file is None:
            return f"{self.speaker} {self.said}"
        before = "" if self.before is None else f"{self.before.parent.name}/{self.before.name} + "
        return f"{before}{self.file.parent.name}/{self.file.name}"

    def samples(self) -> Samples:
        if self.file is None:
            return say(self.speaker, self.said, self.slower)
        samples = read_wav(self.file).samples
        if self.before is None:
            return samples
        lead = read_wav(self.before).samples
        loudness = float(np.max(np.abs(samples), initial=0.0)) / max(
            1e-6, float(np.max(np.abs(lead), initial=0.0))
        )
        return np.concatenate([lead * np.float32(loudness), samples])


@dataclass(frozen=True)
class Take:
    """A clip at one level of noise. again: another try has other noise."""

    clip: Clip
    snr_db: float | None
    again: int = 0

    @property
    def noise(self) -> str:
        """The kind of noise, in turn; '' when clean."""
        if self.snr_db is None:
            return ""
        return NOISES[(crc32(self.clip.name.encode()) + int(self.snr_db) + self.again) % len(NOISES)]

    def sound(self) -> Samples:
        around = int(AROUND_S * RATE_HZ)
        samples = np.pad(self.clip.samples(), (around, around))
        if self.snr_db is None:
            return samples
        seed = crc32(f"{self.clip.name} {self.snr_db:g} {self.again}".encode())
        return mix(samples, noise(self.noise, len(samples), seed), self.snr_db)


def people() -> list[Clip]:
    """Every recording of people and of noise; two talkers at once as kind 'two_talkers'."""
    with (AUDIO / "manifest.tsv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, delimiter="\t"))
    clips = []
    for row in rows:
        kind = "two_talkers" if "two_talkers" in row["file"] else row["file"].split("/")[0]
        clips.append(Clip(row["words"], kind, row["speaker"], AUDIO / row["file"]))
    return clips


def noise(kind: str, length: int, seed: int) -> Samples:
    """`length` samples of one of NOISES; of a recording, from a place that the seed gives, repeated."""
    if kind == "workshop":
        return workshop_noise(length / RATE_HZ, seed)[:length]
    if kind == "machines":
        return _machines(length, seed)
    whole = _recorded(kind)
    return np.resize(np.roll(whole, -(seed % len(whole))), length)


@cache
def _recorded(kind: str) -> Samples:
    return read_wav(AUDIO / "noise" / f"{kind}.wav").samples


def _machines(length: int, seed: int) -> Samples:
    """A compressor's strokes and clanks of metal over a hum, without the steady rumble of a fan; RMS 0.1."""
    rng = np.random.default_rng(seed)
    t = np.arange(length) / RATE_HZ
    hum = np.sin(2 * np.pi * 50 * t + rng.uniform(0, 6)) + 0.4 * np.sin(2 * np.pi * 150 * t)
    strokes = rng.standard_normal(length) * (0.5 + 0.5 * np.sin(2 * np.pi * rng.uniform(8, 14) * t)) ** 2
    sound = 0.3 * hum + 0.6 * strokes + 0.03 * rng.standard_normal(length)
    ring = np.arange(int(0.25 * RATE_HZ)) / RATE_HZ
    for _ in range(max(1, round(0.7 * length / RATE_HZ))):
        at = int(rng.integers(0, length))
        clank = np.exp(-ring / rng.uniform(0.02, 0.08)) * np.sin(2 * np.pi * rng.uniform(700, 3500) * ring)
        stop = min(length, at + len(ring))
        sound[at:stop] += 3 * rng.uniform(0.3, 1.0) * clank[: stop - at]
    return np.asarray(0.1 * sound / np.sqrt(np.mean(sound**2)), np.float32)


def voices_here() -> tuple[str, ...]:
    """Of VOICES those that this machine has."""
    engines = {
        "espeak": shutil.which("espeak-ng") is not None,
        "flite": shutil.which("flite") is not None,
        "piper": _better_voice() is not None,
    }
    return tuple(voice for voice in VOICES if engines[voice.partition(" ")[0]])


def spoken(texts: Iterable[str], kind: str, voices: Iterable[str], slower: bool = False) -> Iterator[Clip]:
    """Each text in each of the voices."""
    speakers = tuple(voices)
    for text in texts:
        for voice in speakers:
            yield Clip(text, kind, voice, slower=slower)


@cache
def nearly_sentences(group: str) -> tuple[str, ...]:
    """Sentences that are nearly a gate's, by the group's name in `near_sentences`, from the folder of all tests."""
    sys.path.insert(0, str(Path(__file__).parents[1]))
    found: tuple[str, ...] = getattr(import_module("near_sentences"), group)
    return found


@cache
def say(voice: str, text: str, slower: bool = False) -> Samples:
    """A text in one of VOICES; peak 0.5."""
    engine, _, name = voice.partition(" ")
    if engine == "piper":
        better = _better_voice()
        assert better is not None, "no piper model"
        samples = better.render(text, words_per_minute=round(140 / (SLOWER_BY if slower else 1.0))).samples
    else:
        rate = 120 if slower else 140
        with tempfile.TemporaryDirectory() as folder:
            out = str(Path(folder) / "out.wav")
            stretch = f"duration_stretch={SLOWER_BY if slower else 1.0}"
            command = (
                ["espeak-ng", "-v", name, "-s", str(rate), "-w", out, text]
                if engine == "espeak"
                else ["flite", "-voice", name, "--setf", stretch, "-t", text, "-o", out]
            )
            subprocess.run(command, check=True, capture_output=True)
            samples = read_wav(Path(out)).samples
    return np.asarray(0.5 * samples / max(1e-6, float(np.max(np.abs(samples)))), np.float32)


@cache
def _better_voice() -> Any:
    """A piper model where one is named (`LOOPWRIGHT_VOICE_MODEL`), else None."""
    found: Voice | Any = find_voice()
    return found if getattr(found, "name", "").startswith("piper") else None
