"""Wave files: every uncompressed kind comes out as the same sound; everything else is one sentence."""

from __future__ import annotations

import contextlib
import os
import struct
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from speech.errors import SpeechError
from speech.sound import Sound
from speech.wavefile import from_int16, read_wav, to_int16, write_wav

RATE = 16_000


def tone(hz: float, rate: int, seconds: float = 0.5) -> np.ndarray:
    return 0.5 * np.sin(2 * np.pi * hz * np.arange(int(rate * seconds)) / rate)


def encoded(samples: np.ndarray, bits: int, tag: int) -> bytes:
    if tag == 3:
        return samples.astype("<f4").tobytes()
    if bits == 8:
        return np.round(samples * 127 + 128).astype(np.uint8).tobytes()
    whole = np.round(samples * (2 ** (bits - 1) - 1)).astype("<i4")
    return b"".join(int(v).to_bytes(bits // 8, "little", signed=True) for v in whole.reshape(-1))


def riff(
    body: bytes, rate: int = RATE, bits: int = 16, channels: int = 1, tag: int = 1, extensible: bool = False
) -> bytes:
    align = channels * bits // 8
    form = struct.pack("<HHIIHH", 0xFFFE if extensible else tag, channels, rate, rate * align, align, bits)
    if extensible:
        form += (
            struct.pack("<HHIH", 22, bits, 0, tag)
            + bytes.fromhex("0000000010 00800000aa00389b71".replace(" ", ""))[:14]
        )
    chunks = b"fmt " + struct.pack("<I", len(form)) + form + b"LIST" + struct.pack("<I", 3) + b"abc\0"
    chunks += b"data" + struct.pack("<I", len(body)) + body
    return b"RIFF" + struct.pack("<I", 4 + len(chunks)) + b"WAVE" + chunks


def loudest_hz(sound: Sound) -> float:
    spectrum = np.abs(np.fft.rfft(sound.samples * np.hanning(len(sound.samples))))
    return float(np.argmax(spectrum) * RATE / len(sound.samples))


@pytest.mark.parametrize("extensible", [False, True])
@pytest.mark.parametrize(("bits", "tag"), [(8, 1), (16, 1), (24, 1), (32, 1), (32, 3)])
@pytest.mark.parametrize(
    ("rate", "channels"), [(16_000, 1), (8_000, 1), (44_100, 2), (48_000, 1), (22_050, 2)]
)
def test_every_uncompressed_kind_gives_the_same_tone(
    tmp_path: Path, bits: int, tag: int, rate: int, channels: int, extensible: bool
) -> None:
    one = tone(440.0, rate)
    file = tmp_path / "tone.wav"
    file.write_bytes(
        riff(encoded(np.repeat(one, channels), bits, tag), rate, bits, channels, tag, extensible)
    )
    sound = read_wav(file)
    assert sound.samples.dtype == np.float32
    assert sound.seconds == pytest.approx(0.5, abs=0.001)  # class: analytic -- the tone's own length
    assert loudest_hz(sound) == pytest.approx(440.0, abs=2.0)  # class: analytic -- the tone's own pitch
    middle = sound.samples[2000:-2000]
    assert np.sqrt(np.mean(middle**2)) == pytest.approx(
        0.5 / np.sqrt(2), rel=0.01
    )  # class: analytic -- of a sine
    converted = (rate != RATE, channels > 1, (bits, tag) != (16, 1))
    assert len(sound.notes) == sum(converted)


def test_the_two_sides_of_a_stereo_file_are_averaged_not_one_taken(tmp_path: Path) -> None:
    left, right = tone(440.0, RATE), tone(1000.0, RATE) * 0.5
    file = tmp_path / "stereo.wav"
    file.write_bytes(riff(encoded(np.stack([left, right], axis=1), 16, 1), channels=2))
    assert read_wav(file).samples == pytest.approx(
        (left + right) / 2, abs=1e-3
    )  # class: analytic -- the mean


def good() -> bytes:
    return riff(encoded(tone(440.0, RATE), 16, 1))


REFUSED = {
    "empty": (b"", "empty"),
    "junk": (b"\x00\x01\x02" * 400, "not a wave file"),
    "text": (b"hello there, this is no sound at all\n", "not a wave file"),
    "cut off": (good()[:-3000], "cut off"),
    "header only": (riff(b""), "no sound"),
    "no format": (b"RIFF\x10\0\0\0WAVEdata\x04\0\0\0\0\0\0\0", "format"),
    "compressed": (riff(b"\0" * 4000, tag=0x55), "compressed"),
    "12 bit": (riff(b"\0" * 4000, bits=12), "compressed or of an unknown kind"),
    "no channel": (riff(b"\0" * 4000, channels=0), "0 channels"),
    "slow": (riff(b"\0" * 4000, rate=100), "100 Hz"),
    "fast": (riff(b"\0" * 4000, rate=400_000), "400000 Hz"),
    "not numbers": (riff(struct.pack("<f", float("nan")) * 4000, bits=32, tag=3), "not numbers"),
    "other riff": (b"RIFF\x10\0\0\0AVI LIST" + b"\0" * 100, "not a wave file"),
}


@pytest.mark.parametrize(("data", "reason"), REFUSED.values(), ids=REFUSED.keys())
def test_what_cannot_be_used_is_refused_in_one_sentence(tmp_path: Path, data: bytes, reason: str) -> None:
    file = tmp_path / "bad.wav"
    file.write_bytes(data)
    with pytest.raises(SpeechError) as refused:
        read_wav(file)
    told = str(refused.value)
    assert reason in told
    assert "bad.wav" in told
    assert told.endswith(".")
    assert "\n" not in told


def test_a_cut_off_file_says_how_much_is_missing(tmp_path: Path) -> None:
    file = tmp_path / "cut.wav"
    file.write_bytes(good()[:-3000])
    with pytest.raises(SpeechError, match="says 16000 bytes of 'data', 13000 are there"):
        read_wav(file)


def test_a_missing_file_a_folder_and_a_huge_file_are_refused(tmp_path: Path) -> None:
    with pytest.raises(SpeechError, match="does not exist"):
        read_wav(tmp_path / "nowhere.wav")
    with pytest.raises(SpeechError, match="is a folder"):
        read_wav(tmp_path)
    huge = tmp_path / "huge.wav"
    with huge.open("wb") as file:
        file.write(good()[:44])
        os.truncate(file.fileno(), 100_000_000)
    with pytest.raises(SpeechError, match=r"100 MB; the longest that is read is 67 MB"):
        read_wav(huge)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(at=st.integers(0, 80), byte=st.integers(0, 255), keep=st.integers(0, 2000))
def test_a_damaged_header_gives_a_sound_or_a_sentence_never_a_crash(
    tmp_path: Path, at: int, byte: int, keep: int
) -> None:
    data = bytearray(riff(encoded(tone(440.0, RATE, 0.05), 16, 1)))[:keep]
    if at < len(data):
        data[at] = byte
    file = tmp_path / "damaged.wav"
    file.write_bytes(bytes(data))
    with contextlib.suppress(SpeechError):
        assert np.all(np.isfinite(read_wav(file).samples))


@given(st.binary(max_size=400).map(lambda b: b[: len(b) // 2 * 2]))
def test_sixteen_bits_survive_the_way_there_and_back(pcm: bytes) -> None:
    assert to_int16(from_int16(pcm)) == pcm


def test_a_written_file_is_read_back_and_too_loud_is_clipped(tmp_path: Path) -> None:
    file = tmp_path / "out.wav"
    write_wav(file, Sound(np.array([0.0, 0.5, -0.5, 3.0, -3.0], np.float32)))
    assert read_wav(file).samples == pytest.approx(
        [0, 0.5, -0.5, 1, -1], abs=1e-4
    )  # class: analytic -- clipped at 1
    with pytest.raises(SpeechError, match="cannot be written"):
        write_wav(tmp_path / "no" / "folder.wav", Sound(np.zeros(4, np.float32)))
