"""Microphones: a sound device, a recorder program of the system, or a wave file played at its own pace.

A thread of its own reads; the listener takes blocks from a queue and is told when the sound stops coming
(unplugged, suspended, program ended) instead of waiting for ever.
"""

from __future__ import annotations

import shutil
import subprocess
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Protocol

import numpy as np

from speech.block_queue import BlockQueue
from speech.device_microphone import NO_MICROPHONE, DeviceMicrophone
from speech.errors import Missing, SpeechError
from speech.open_streams import STREAMS
from speech.sound import BLOCK, RATE_HZ, Samples
from speech.sound_devices import chosen
from speech.wavefile import from_int16, read_wav

_PROGRAMS: tuple[tuple[str, ...], ...] = (
    ("arecord", "-q", "-t", "raw", "-f", "S16_LE", "-r", str(RATE_HZ), "-c", "1", "-"),
    ("parec", "--raw", "--format=s16le", f"--rate={RATE_HZ}", "--channels=1", "--latency-msec=60"),
    ("pw-record", "--format=s16", f"--rate={RATE_HZ}", "--channels=1", "-"),
)


class Microphone(Protocol):
    """Anything that delivers blocks of 512 samples at 16 kHz."""

    @property
    def name(self) -> str:
        """For people."""

    def blocks(self) -> Iterator[Samples]:
        """Blocks as they come; ends when the source ends or is closed.

        Raises:
            SpeechError: nothing comes any more, or the source failed.
        """

    @property
    def dropped(self) -> int:
        """How many blocks were lost so far because nobody took them."""

    def close(self) -> None:
        """Stop; `blocks` ends soon after."""


class ProgramMicrophone:
    """A recorder program of the system that writes raw 16 kHz to its standard output."""

    def __init__(self, command: tuple[str, ...]) -> None:
        """Start the program.

        Raises:
            SpeechError: it does not start.
        """
        self.name = command[0]
        self._queue = BlockQueue()
        self._closed = False
        try:
            self._child = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        except OSError as error:
            raise SpeechError(
                f"{self.name} does not start: {error.strerror or error}; type instead."
            ) from error
        threading.Thread(target=self._read, name="microphone", daemon=True).start()

    def blocks(self) -> Iterator[Samples]:
        """See `Microphone.blocks`."""
        return self._queue.take(self.name)

    @property
    def dropped(self) -> int:
        """See `Microphone.dropped`."""
        return self._queue.dropped

    def close(self) -> None:
        """See `Microphone.close`."""
        self._closed = True
        self._child.kill()
        self._child.wait()

    def _read(self) -> None:
        assert self._child.stdout is not None
        while len(pcm := self._child.stdout.read(BLOCK * 2)) == BLOCK * 2:
            self._queue.put(from_int16(pcm))
        ended = f"The microphone program {self.name} ended; is the microphone unplugged? Type meanwhile."
        self._queue.put(None if self._closed else ended)


class FileMicrophone:
    """A recording as microphone, for trying things where there is none. Ends with the file."""

    dropped = 0  # it waits for whoever takes its blocks

    def __init__(self, path: Path, real_time: bool = True) -> None:
        """Read the file.

        Args:
            real_time: a block every 32 ms, as from a device; else as fast as they are taken.

        Raises:
            SpeechError: the file is no usable wave file.
        """
        self.name = path.name
        samples = read_wav(path).samples
        self._samples = np.pad(samples, (0, -len(samples) % BLOCK))
        self._real_time = real_time
        self._closed = threading.Event()

    def blocks(self) -> Iterator[Samples]:
        """See `Microphone.blocks`."""
        began_s = time.monotonic()
        for at in range(0, len(self._samples), BLOCK):
            if self._real_time:
                self._closed.wait(max(0.0, began_s + (at + BLOCK) / RATE_HZ - time.monotonic()))
            if self._closed.is_set():
                return
            yield self._samples[at : at + BLOCK]

    def close(self) -> None:
        """See `Microphone.close`."""
        self._closed.set()


def open_microphone(file: Path | None = None, setting: str = "") -> Microphone | Missing:
    """Open the microphone: the file given, else a sound device, else a recorder program, else none.

    What was plugged in since the last look is seen too. setting: a name; see `speech.sound_devices.chosen`.

    Raises:
        SpeechError: there is one and it cannot be used, or the one that was named is not here.
    """
    if file is not None:
        return FileMicrophone(file)
    with suppress(ImportError, OSError):  # no PortAudio: `device_is_here` says so
        STREAMS.look_again()
    if chosen("input", setting) is not None:
        return DeviceMicrophone(setting)
    program = program_is_here()
    return Missing(NO_MICROPHONE) if program is None else ProgramMicrophone(program)


def program_is_here() -> tuple[str, ...] | None:
    """The recorder program of the system with its arguments, if there is one."""
    return next((command for command in _PROGRAMS if shutil.which(command[0]) is not None), None)
