"""Devices that keep to their own rate and channels are brought to ours, and ours to theirs."""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable
from typing import Any, Self

import numpy as np
import pytest

from speech.device_microphone import DeviceMicrophone, ToOurs
from speech.errors import SpeechError
from speech.player import DevicePlayer, find_player
from speech.sound import BLOCK, RATE_HZ, Samples, Sound
from speech.wavefile import from_int16, to_int16

soxr = pytest.importorskip("soxr", reason="an extra: pip install '.[ears]'")
TONE_Hz = 440.0


def tone(rate_hz: int, seconds: float, channels: int = 1) -> Samples:
    """Interleaved, the same on all channels."""
    t = np.arange(int(rate_hz * seconds)) / rate_hz
    return (0.5 * np.sin(2 * np.pi * TONE_Hz * t)).astype(np.float32).repeat(channels)


def in_between(samples: Samples) -> Samples:
    return samples[BLOCK * 2 : -BLOCK * 2]


def fitted(samples: Samples, rate_hz: int) -> tuple[float, float]:
    """Amplitude of the tone in the samples, and root mean square of what is not the tone."""
    t = np.arange(len(samples)) / rate_hz
    waves = np.stack([np.sin(2 * np.pi * TONE_Hz * t), np.cos(2 * np.pi * TONE_Hz * t)], axis=1)
    found, *_ = np.linalg.lstsq(waves, samples, rcond=None)
    return float(np.hypot(*found)), float(np.sqrt(np.mean(np.square(samples - waves @ found))))


@pytest.mark.parametrize(
    ("rate_hz", "channels"), [(16000, 1), (16000, 2), (44100, 2), (48000, 1), (48000, 2)]
)
def test_a_tone_stays_the_tone_it_was_block_after_block(rate_hz: int, channels: int) -> None:
    ours = ToOurs(rate_hz, channels)
    sound = tone(rate_hz, 2.0, channels)
    step = BLOCK * rate_hz // RATE_HZ * channels
    blocks = [block for at in range(0, len(sound), step) for block in ours.blocks(sound[at : at + step])]
    assert all(block.shape == (BLOCK,) for block in blocks)
    assert len(blocks) * BLOCK == pytest.approx(
        2.0 * RATE_HZ, abs=4 * BLOCK
    )  # class: analytic -- the same seconds
    amplitude, rest = fitted(in_between(np.concatenate(blocks)), RATE_HZ)
    assert amplitude == pytest.approx(0.5, rel=0.01)  # class: analytic -- of the tone that went in
    assert rest < 0.001


class Stream:
    """What the device does with what it is given."""

    def __init__(self, taken: list[bytes], given: bytes, arrived: Callable[..., None] | None) -> None:
        self._taken, self._given, self._arrived = taken, given, arrived

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        return

    def start(self) -> None:
        assert self._arrived is not None
        self._arrived(self._given, 0, None, None)

    def write(self, data: bytes) -> None:
        self._taken.append(data)

    def close(self, ignore_errors: bool) -> None:
        assert ignore_errors


class Stubborn:
    """Stands in for the sounddevice module: one headset that takes its own rate and two channels only."""

    class PortAudioError(Exception):
        pass

    class default:  # noqa: N801 -- as in the module
        device = (0, 0)

    def __init__(self, only: tuple[int, int]) -> None:
        self.only, self.asked = only, list[tuple[int, int]]()
        self.taken: list[bytes] = []
        self.given = to_int16(tone(*only[:1], 1.0, only[1]))

    def query_devices(self) -> list[dict[str, object]]:
        return [
            {"index": 0, "name": "headset", "hostapi": 0, "max_input_channels": 2, "max_output_channels": 2,
             "default_samplerate": 48000.0}
        ]  # fmt: skip

    def query_hostapis(self) -> list[dict[str, str]]:
        return [{"name": "ALSA"}]

    def _terminate(self) -> None:
        return

    _initialize = _terminate

    def _stream(self, samplerate: int, channels: int, callback: Any = None, **_: object) -> Stream:
        self.asked.append((samplerate, channels))
        if (samplerate, channels) != self.only:
            raise self.PortAudioError(f"Invalid sample rate or channels: {samplerate}, {channels}")
        return Stream(self.taken, self.given, callback)

    RawInputStream = RawOutputStream = _stream


def test_a_microphone_that_keeps_to_its_own_rate_is_heard_all_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    stubborn = Stubborn((48000, 2))
    monkeypatch.setitem(sys.modules, "sounddevice", stubborn)
    microphone = DeviceMicrophone()
    microphone.close()
    heard = np.concatenate(list(microphone.blocks()))
    assert stubborn.asked == [(16000, 1), (16000, 2), (48000, 1), (48000, 2)]
    assert fitted(in_between(heard), RATE_HZ)[0] == pytest.approx(
        0.5, rel=0.01
    )  # class: analytic -- as above


def test_a_loudspeaker_that_keeps_to_its_own_rate_plays_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    stubborn = Stubborn((48000, 2))
    monkeypatch.setitem(sys.modules, "sounddevice", stubborn)
    player = find_player()
    assert isinstance(player, DevicePlayer)
    assert player.play(Sound(tone(RATE_HZ, 1.0)), threading.Event())
    played = from_int16(b"".join(stubborn.taken)).reshape(-1, 2)
    assert len(played) == pytest.approx(48000, abs=48)  # class: analytic -- a second
    assert np.array_equal(played[:, 0], played[:, 1])
    assert fitted(in_between(played[:, 0]), 48000)[0] == pytest.approx(
        0.5, rel=0.01
    )  # class: analytic -- as above


def test_a_device_that_opens_in_no_way_is_said_with_the_first_reason(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", Stubborn((96000, 2)))
    with pytest.raises(SpeechError, match=r"cannot be opened \(Invalid sample rate or channels: 16000, 1\)"):
        DeviceMicrophone()
    player = find_player()
    assert isinstance(player, DevicePlayer)
    with pytest.raises(SpeechError, match=r"The loudspeaker headset \(ALSA\) failed .*: 16000, 1"):
        player.play(Sound(tone(RATE_HZ, 0.1)), threading.Event())
