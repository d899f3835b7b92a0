"""Plays sound and can be interrupted: blocks of 30 ms, a flag looked at between them.

Through PortAudio (`sounddevice`) where it is, else through the standard input of aplay, paplay or pw-play.
Silence after an interruption comes within one block and what the device still holds.
"""

from __future__ import annotations

import os
import select
import shutil
import subprocess
import threading
from contextlib import suppress
from typing import IO, Any, Protocol

import numpy as np

from speech.errors import Missing, SpeechError
from speech.open_streams import STREAMS
from speech.sound import RATE_HZ, Sound
from speech.sound_devices import Device, chosen
from speech.wavefile import to_int16

PLAY_BLOCK = 480  # samples, 30 ms
MOST_AHEAD_S = 2.1  # what pipe and program hold at most: 64 KiB and a tenth of a second
DRAIN_S = 3.0  # beyond that, for a program to end
_PROGRAMS: tuple[tuple[str, ...], ...] = (
    ("aplay", "-q", "-t", "raw", "-f", "S16_LE", "-r", str(RATE_HZ), "-c", "1", "--buffer-time=100000", "-"),
    ("paplay", "--raw", "--format=s16le", f"--rate={RATE_HZ}", "--channels=1", "--latency-msec=60"),
    ("pw-play", "--format=s16", f"--rate={RATE_HZ}", "--channels=1", "-"),
)
NO_LOUDSPEAKER = (
    "No loudspeaker can be used: connect one, and install PortAudio (libportaudio2) or alsa-utils; "
    "until then everything is written."
)


class Player(Protocol):
    """Anything that plays a sound to its end or until it is cancelled."""

    @property
    def name(self) -> str:
        """Of the output, for people."""

    @property
    def taken(self) -> int:
        """How much it has taken since it was made, in whatever measure: it grows while it plays."""

    def play(self, sound: Sound, cancel: threading.Event) -> bool:
        """Play; blocks. True: to its end. False: cancelled.

        Raises:
            SpeechError: the device failed.
        """


class DevicePlayer:
    """An output device through PortAudio: the one that is asked for by name, else the system's own.

    setting: see `speech.sound_devices.chosen`. It is looked up each time: PortAudio numbers its devices anew.
    """

    def __init__(self, device: Device, setting: str = "") -> None:
        self.name = str(device)
        self._setting = setting
        self.taken = 0  # blocks

    def play(self, sound: Sound, cancel: threading.Event) -> bool:
        """See `Player.play`."""
        import sounddevice

        with STREAMS.one_more():
            device = chosen("output", self._setting)
            if device is None:
                raise SpeechError(f"The loudspeaker {self.name} is gone.")
            self.name = str(device)
            try:
                stream, rate_hz, channels = _opened(device)
                with stream:
                    return self._pour(stream, _pcm(sound, rate_hz, channels), rate_hz, channels, cancel)
            except (sounddevice.PortAudioError, OSError) as error:
                raise SpeechError(f"The loudspeaker {self.name} failed ({error}).") from error

    def _pour(self, stream: Any, pcm: bytes, rate_hz: int, channels: int, cancel: threading.Event) -> bool:
        step = PLAY_BLOCK * rate_hz // RATE_HZ * 2 * channels
        for at in range(0, len(pcm), step):
            if cancel.is_set():
                stream.abort()
                return False
            stream.write(pcm[at : at + step])
            self.taken += 1
        return True


def _opened(device: Device) -> tuple[Any, int, int]:
    """A stream, its rate [Hz] and channels. Raises: PortAudioError, the first of all that were tried."""
    import sounddevice

    first: Exception | None = None
    for rate_hz, channels in device.ways_to_open():
        try:
            stream = sounddevice.RawOutputStream(
                device=device.index, samplerate=rate_hz, channels=channels, dtype="int16",
                blocksize=PLAY_BLOCK * rate_hz // RATE_HZ, latency="low",
            )  # fmt: skip
        except sounddevice.PortAudioError as error:
            first = first or error
        else:
            return stream, rate_hz, channels
    assert first is not None, "there is always a way to try"
    raise first


def _pcm(sound: Sound, rate_hz: int, channels: int) -> bytes:
    samples = sound.samples
    if rate_hz != RATE_HZ:
        import soxr

        samples = soxr.resample(samples, RATE_HZ, rate_hz)
    return to_int16(np.clip(samples.repeat(channels), -1.0, 1.0))


class ProgramPlayer:
    """A player program of the system, fed block by block in real time so that it never holds much."""

    def __init__(self, command: tuple[str, ...]) -> None:
        self._command = command
        self.taken = 0  # bytes

    @property
    def name(self) -> str:
        """The program's name."""
        return self._command[0]

    def play(self, sound: Sound, cancel: threading.Event) -> bool:
        """See `Player.play`."""
        try:
            child = subprocess.Popen(
                self._command, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
            )
        except OSError as error:
            raise SpeechError(f"{self.name} does not start: {error.strerror or error}.") from error
        assert child.stdin is not None
        try:
            finished = self._pour(child.stdin, to_int16(sound.samples), cancel)
            if finished:
                child.stdin.close()
                self._wait(child, sound.seconds, cancel)
                finished = not cancel.is_set()
        except OSError as error:
            raise SpeechError(f"{self.name} stopped playing ({error.strerror or error}).") from error
        finally:
            if child.poll() is None:
                child.kill()
            child.wait()
        if finished and child.returncode not in (0, None):
            raise SpeechError(
                f"{self.name} cannot play (exit code {child.returncode}); is there a loudspeaker?"
            )
        return finished

    def _pour(self, pipe: IO[bytes], pcm: bytes, cancel: threading.Event) -> bool:
        """Never waits in a write: a program that takes nothing can be cancelled all the same."""
        step = PLAY_BLOCK * 2
        block_s = PLAY_BLOCK / RATE_HZ
        os.set_blocking(pipe.fileno(), False)
        for k, at in enumerate(range(0, len(pcm), step)):
            if cancel.wait(block_s * 0.95 if k > 3 else 0.0):  # a little ahead of real time, never more
                return False
            block = pcm[at : at + step]
            while block:
                if cancel.is_set():
                    return False
                if select.select((), (pipe,), (), block_s)[1]:
                    sent = os.write(pipe.fileno(), block)
                    self.taken += sent
                    block = block[sent:]
        return True

    def _wait(self, child: subprocess.Popen[bytes], seconds: float, cancel: threading.Event) -> None:
        for _ in range(int((min(seconds, MOST_AHEAD_S) + DRAIN_S) / 0.03)):
            if child.poll() is not None or cancel.wait(0.03):
                return
        raise SpeechError(f"{self.name} did not finish in time and was stopped.")


def find_player_again(setting: str = "") -> Player | Missing:
    """As `find_player`, also what was plugged in meanwhile, as far as PortAudio can be asked now."""
    with suppress(ImportError, OSError):  # no PortAudio: then a program
        STREAMS.look_again()
    return find_player(setting)


def find_player(setting: str = "") -> Player | Missing:
    """The output that is here: the sound device that was named, else the system's own, a player program, or none.

    setting: see `speech.sound_devices.chosen`. One that was named and is not here is missing.
    """
    try:
        device = chosen("output", setting)
    except SpeechError as error:
        return Missing(str(error))
    if device is not None:
        return DevicePlayer(device, setting)
    for command in _PROGRAMS:
        if shutil.which(command[0]) is not None:
            return ProgramPlayer(command)
    return Missing(NO_LOUDSPEAKER)
