"""Wave files in and out. Reads any uncompressed one and says what it converted; refuses the rest in a sentence.

The chunks are walked here rather than by the standard library's `wave`, which knows no float and, before
Python 3.12, no extensible header, and does not tell a file that was cut off from a short one.
"""

from __future__ import annotations

import struct
import wave
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from speech.errors import SpeechError
from speech.sound import RATE_HZ, Samples, Sound, to_rate

LARGEST_BYTES = 64 * 1024 * 1024  # 35 minutes at 16 kHz: more than any answer, less than what fills a memory
SLOWEST_HZ, FASTEST_HZ = 8_000, 192_000
_PCM, _FLOAT, _EXTENSIBLE = 1, 3, 0xFFFE


@dataclass(frozen=True)
class _Format:
    tag: int
    channels: int
    rate_hz: int
    bits: int

    @property
    def frame_bytes(self) -> int:
        return self.channels * self.bits // 8


def read_wav(path: Path) -> Sound:
    """Read a wave file as 16 kHz mono.

    Takes PCM of 8, 16, 24 or 32 bits and 32-bit float, any number of channels (they are averaged),
    8 to 192 kHz; what was converted stands in `Sound.notes`.

    Raises:
        SpeechError: missing, a folder, unreadable, too large, empty, not a wave file, cut off, compressed.
    """
    data = _read_bytes(path)
    if len(data) < 12 or data[:4] != b"RIFF" or data[8:12] != b"WAVE":
        raise SpeechError(f"{path} is not a wave file; record it as WAV, 16 kHz, mono, 16 bit.")
    chunks = _chunks(path, data)
    if b"fmt " not in chunks or len(chunks[b"fmt "]) < 16:
        raise SpeechError(f"{path} does not say its format (no 'fmt ' part); record it again.")
    form = _format(chunks[b"fmt "])
    _refuse_unknown(path, form)
    if b"data" not in chunks or len(chunks[b"data"]) < form.frame_bytes:
        raise SpeechError(f"{path} holds no sound; record it again.")
    body = chunks[b"data"]
    body = body[: len(body) // form.frame_bytes * form.frame_bytes]
    samples = _samples(body, form)
    if not np.all(np.isfinite(samples)):
        raise SpeechError(f"{path} holds values that are not numbers; record it again.")
    notes = []
    if form.channels > 1:
        samples = samples.reshape(-1, form.channels).mean(axis=1, dtype=np.float32)
        notes.append(f"{form.channels} channels averaged to one")
    if form.rate_hz != RATE_HZ:
        samples = to_rate(samples, form.rate_hz)
        notes.append(f"{form.rate_hz} Hz brought to {RATE_HZ} Hz")
    if (form.tag, form.bits) != (_PCM, 16):
        notes.append(f"{form.bits} bit {'float' if form.tag == _FLOAT else 'PCM'} brought to float")
    return Sound(samples, tuple(notes))


def write_wav(path: Path, sound: Sound) -> None:
    """Write 16 kHz mono 16-bit PCM; what is louder than full scale is clipped.

    Raises:
        SpeechError: the file cannot be written.
    """
    try:
        with path.open("wb") as raw, wave.open(raw, "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(RATE_HZ)
            file.writeframes(to_int16(sound.samples))
    except OSError as error:
        raise SpeechError(
            f"{path} cannot be written: {error.strerror or error}; choose another place."
        ) from error


def to_int16(samples: Samples) -> bytes:
    """Samples as little-endian 16-bit PCM, clipped at full scale."""
    return np.round(np.clip(samples, -1.0, 32767 / 32768) * 32768).astype("<i2").tobytes()


def from_int16(pcm: bytes) -> Samples:
    """Little-endian 16-bit PCM as samples."""
    return (np.frombuffer(pcm, "<i2") / np.float32(32768)).astype(np.float32)


def _read_bytes(path: Path) -> bytes:
    try:
        if path.is_dir():
            raise SpeechError(f"{path} is a folder; name one wave file.")
        if path.exists() and not path.is_file():
            raise SpeechError(f"{path} is not an ordinary file; name one wave file.")
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            raise SpeechError(
                f"{path} is {size / 1e6:.0f} MB; the longest that is read is {LARGEST_BYTES / 1e6:.0f} MB: "
                "cut it into pieces."
            )
        if size == 0:
            raise SpeechError(f"{path} is empty; record it again.")
        return path.read_bytes()
    except FileNotFoundError as error:
        raise SpeechError(f"{path} does not exist; check the name.") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise SpeechError(f"{path} cannot be read: {reason}.") from error


def _chunks(path: Path, data: bytes) -> dict[bytes, bytes]:
    found: dict[bytes, bytes] = {}
    at = 12
    while at + 8 <= len(data):
        name, size = data[at : at + 4], struct.unpack_from("<I", data, at + 4)[0]
        body = data[at + 8 : at + 8 + size]
        if len(body) < size and name in (b"fmt ", b"data"):
            raise SpeechError(
                f"{path} is cut off: its header says {size} bytes of '{name.decode().strip()}', "
                f"{len(body)} are there; copy or record it again."
            )
        found.setdefault(name, body)
        at += 8 + size + size % 2
    return found


def _format(body: bytes) -> _Format:
    tag, channels, rate_hz, _, _, bits = struct.unpack_from("<HHIIHH", body)
    if tag == _EXTENSIBLE and len(body) >= 26:
        tag = struct.unpack_from("<H", body, 24)[0]
    return _Format(tag, channels, rate_hz, bits)


def _refuse_unknown(path: Path, form: _Format) -> None:
    known = (form.tag == _PCM and form.bits in (8, 16, 24, 32)) or (form.tag == _FLOAT and form.bits == 32)
    if not known:
        raise SpeechError(
            f"{path} is compressed or of an unknown kind (format {form.tag}, {form.bits} bit); "
            "save it as WAV, 16 bit PCM."
        )
    if form.channels < 1 or not SLOWEST_HZ <= form.rate_hz <= FASTEST_HZ:
        raise SpeechError(
            f"{path} says {form.channels} channels at {form.rate_hz} Hz; "
            f"at least one channel at {SLOWEST_HZ} to {FASTEST_HZ} Hz can be used."
        )


def _samples(body: bytes, form: _Format) -> Samples:
    if form.tag == _FLOAT:
        return np.frombuffer(body, "<f4").astype(np.float32)
    if form.bits == 8:  # the only unsigned one
        return ((np.frombuffer(body, np.uint8).astype(np.float32)) - 128) / np.float32(128)
    if form.bits == 16:
        return from_int16(body)
    if form.bits == 24:
        raw = np.frombuffer(body, np.uint8).reshape(-1, 3)
        wide = np.zeros((len(raw), 4), np.uint8)
        wide[:, 1:] = raw
        body = wide.tobytes()
    return (np.frombuffer(body, "<i4") / 2.0**31).astype(np.float32)
