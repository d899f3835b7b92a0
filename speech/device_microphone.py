"""A microphone through PortAudio, at the rate that the recogniser wants or at its own, brought to that."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from speech.block_queue import BlockQueue
from speech.errors import SpeechError
from speech.open_streams import STREAMS
from speech.sound import BLOCK, RATE_HZ, Samples
from speech.sound_devices import MICROPHONE_VARIABLE, Device, chosen
from speech.wavefile import from_int16

NO_MICROPHONE = (
    "No microphone can be used: connect one, and install PortAudio (libportaudio2) or alsa-utils; "
    "until then type."
)


class DeviceMicrophone:
    """An input device through PortAudio."""

    def __init__(self, setting: str = "") -> None:
        """Open the device that is asked for by name, else the system's own; see `speech.sound_devices.chosen`.

        Raises:
            SpeechError: it is not here, or cannot be opened.
        """
        self._queue = BlockQueue()
        self._closed = False
        self._closing = threading.Lock()  # reader and owner may both close it
        STREAMS.opens()
        try:
            device = chosen("input", setting)
            if device is None:
                raise SpeechError(NO_MICROPHONE)  # noqa: TRY301 -- the count of streams is set right below
            self.name = str(device)
            self._stream = self._open(device)
        except BaseException:
            STREAMS.closed()
            raise

    def blocks(self) -> Iterator[Samples]:
        """See `Microphone.blocks`."""
        return self._queue.take(self.name)

    @property
    def dropped(self) -> int:
        """See `Microphone.dropped`."""
        return self._queue.dropped

    def close(self) -> None:
        """See `Microphone.close`."""
        with self._closing:
            if self._closed:
                return
            self._closed = True
            self._stream.close(ignore_errors=True)
            STREAMS.closed()
        self._queue.put(None)

    def _open(self, device: Device) -> Any:
        """A stream that runs. Raises: SpeechError: the first reason counts, ours is the way that is wanted."""
        import sounddevice

        first: Exception | None = None
        for rate_hz, channels in device.ways_to_open():
            stream = None
            try:
                stream = sounddevice.RawInputStream(
                    device=device.index, samplerate=rate_hz, channels=channels, dtype="int16",
                    blocksize=BLOCK * rate_hz // RATE_HZ, callback=self._arrived(rate_hz, channels),
                    finished_callback=self._ended,
                )  # fmt: skip
                stream.start()
            except (sounddevice.PortAudioError, OSError) as error:
                first = first or error
                if stream is not None:  # it did not start
                    stream.close(ignore_errors=True)
            else:
                return stream
        raise SpeechError(
            f"The microphone {self.name} cannot be opened ({first}); type instead, or name another in "
            f"{MICROPHONE_VARIABLE} ('loopwright doctor' lists them)."
        ) from first

    def _arrived(self, rate_hz: int, channels: int) -> Callable[[Any, int, Any, Any], None]:
        ours = ToOurs(rate_hz, channels)

        def arrived(data: Any, _frames: int, _when: Any, status: Any) -> None:
            if status:  # sound was lost before this, at least a block of it
                self._queue.dropped += 1
            for block in ours.blocks(from_int16(bytes(data))):
                self._queue.put(block)

        return arrived

    def _ended(self) -> None:
        stopped = f"The microphone ({self.name}) has stopped; is it unplugged? Type meanwhile."
        self._queue.put(None if self._closed else stopped)


class ToOurs:
    """A stream of a device's own rate and channels, as blocks of 512 samples of one channel at 16 kHz.

    rate_hz: of the device [Hz]. channels: interleaved.
    """

    def __init__(self, rate_hz: int, channels: int) -> None:
        self._channels = channels
        self._convert: Callable[[Samples], Samples] = _as_it_is
        if rate_hz != RATE_HZ:
            import soxr

            self._convert = soxr.ResampleStream(rate_hz, RATE_HZ, 1, dtype="float32").resample_chunk
        self._left: Samples = np.zeros(0, np.float32)

    def blocks(self, samples: Samples) -> Iterator[Samples]:
        """Those that are whole with these samples, shape (n * channels,)."""
        mono = samples.reshape(-1, self._channels).mean(axis=1) if self._channels > 1 else samples
        have = np.concatenate([self._left, self._convert(mono)])
        whole = len(have) // BLOCK * BLOCK
        self._left = have[whole:]
        yield from have[:whole].reshape(-1, BLOCK)


def _as_it_is(samples: Samples) -> Samples:
    return samples
