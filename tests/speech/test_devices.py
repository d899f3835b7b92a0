"""Microphone and loudspeaker through child programs and files: all that can run where there is no sound card."""

from __future__ import annotations

import sys
import threading
import time
from pathlib import Path

import numpy as np
import pytest

import speech.microphone as microphones
from speech import block_queue
from speech.device_microphone import DeviceMicrophone
from speech.errors import Missing, SpeechError
from speech.microphone import FileMicrophone, ProgramMicrophone, open_microphone
from speech.open_streams import STREAMS
from speech.player import ProgramPlayer, find_player
from speech.sound import BLOCK, RATE_HZ, Sound
from speech.wavefile import to_int16, write_wav


def python(code: str, *arguments: str) -> tuple[str, ...]:
    return (sys.executable, "-c", code, *arguments)


def ramp(seconds: float) -> Sound:
    return Sound(np.linspace(-0.9, 0.9, int(seconds * RATE_HZ), dtype=np.float32))


def test_a_player_program_gets_every_sample(tmp_path: Path) -> None:
    out = tmp_path / "out.raw"
    player = ProgramPlayer(
        python("import sys; open(sys.argv[1], 'wb').write(sys.stdin.buffer.read())", str(out))
    )
    assert player.play(ramp(0.4), threading.Event())
    assert out.read_bytes() == to_int16(ramp(0.4).samples)


def test_playing_stops_within_a_tenth_of_a_second_of_a_cancel() -> None:
    player = ProgramPlayer(python("import sys; sys.stdin.buffer.read()"))
    cancel = threading.Event()
    threading.Timer(0.3, cancel.set).start()
    began = time.monotonic()
    assert not player.play(ramp(5.0), cancel)
    assert time.monotonic() - began < 0.3 + 0.15


@pytest.mark.parametrize(
    "code", ["import sys; sys.stdin.buffer.read(); sys.exit(1)", "pass", "import os; os._exit(3)"]
)
def test_a_player_program_that_fails_is_said(code: str) -> None:
    with pytest.raises(SpeechError, match=r"cannot play|stopped playing"):
        ProgramPlayer(python(code)).play(ramp(1.0), threading.Event())


def test_a_player_program_that_is_not_there_is_said() -> None:
    with pytest.raises(SpeechError, match="does not start"):
        ProgramPlayer(("/no/such/player",)).play(ramp(0.1), threading.Event())


def test_a_file_as_microphone_gives_its_samples_at_its_own_pace(tmp_path: Path) -> None:
    file = tmp_path / "in.wav"
    write_wav(file, ramp(0.5))
    microphone = FileMicrophone(file)
    began = time.monotonic()
    blocks = list(microphone.blocks())
    assert time.monotonic() - began == pytest.approx(0.5, abs=0.2)  # class: analytic -- the file's own length
    assert all(len(block) == BLOCK for block in blocks)
    assert np.concatenate(blocks)[: RATE_HZ // 2] == pytest.approx(ramp(0.5).samples, abs=1e-4)


def test_a_file_as_microphone_can_be_closed_at_once(tmp_path: Path) -> None:
    file = tmp_path / "in.wav"
    write_wav(file, ramp(30))
    microphone = FileMicrophone(file)
    threading.Timer(0.2, microphone.close).start()
    began = time.monotonic()
    assert 2 < len(list(microphone.blocks())) < 20
    assert time.monotonic() - began < 1


def test_a_recorder_program_gives_blocks_and_its_end_is_said() -> None:
    pcm_code = "import sys; sys.stdout.buffer.write(bytes(range(256)) * 16)"
    microphone = ProgramMicrophone(python(pcm_code))
    blocks = microphone.blocks()
    got = [next(blocks) for _ in range(4)]  # 4096 bytes are four blocks of 512 samples
    with pytest.raises(SpeechError, match="unplugged"):
        next(blocks)
    assert to_int16(np.concatenate(got)) == bytes(range(256)) * 16


def test_a_microphone_that_falls_silent_is_said_not_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(block_queue, "STALL_S", 0.3)
    microphone = ProgramMicrophone(python("import time; time.sleep(60)"))
    with pytest.raises(SpeechError, match="gives no sound any more"):
        next(microphone.blocks())
    microphone.close()


def test_closing_a_recorder_program_ends_the_blocks_without_a_complaint() -> None:
    microphone = ProgramMicrophone(
        python(
            "import sys, time\nwhile True: sys.stdout.buffer.write(b'\\0' * 1024); sys.stdout.flush(); time.sleep(0.03)"
        )
    )
    blocks = microphone.blocks()
    next(blocks)
    microphone.close()
    assert len(list(blocks)) < 20


def test_what_is_not_here_comes_with_the_way_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(microphones, "chosen", lambda *_: None)
    monkeypatch.setattr("shutil.which", lambda _name: None)
    microphone = open_microphone()
    assert isinstance(microphone, Missing)
    assert "libportaudio2" in microphone.sentence
    player = find_player()
    assert not isinstance(player, Missing) or "written" in player.sentence
    with pytest.raises(SpeechError, match="does not exist"):
        open_microphone(Path("/nowhere/at/all.wav"))


HEADSET = {
    "index": 0, "name": "headset", "hostapi": 0, "max_input_channels": 1, "max_output_channels": 0,
    "default_samplerate": 48000.0,
}  # fmt: skip


class PortAudio:
    """Stands in for the sounddevice module: lists what was plugged in when it was begun."""

    class PortAudioError(Exception):
        pass

    class default:  # noqa: N801 -- as in the module
        device = (0, -1)

    def __init__(self) -> None:
        self.plugged: list[dict[str, object]] = []
        self.listed: list[dict[str, object]] = []
        self.begun = 0

    def _terminate(self) -> None:
        self.listed = []

    def _initialize(self) -> None:
        self.listed, self.begun = list(self.plugged), self.begun + 1

    def query_devices(self) -> list[dict[str, object]]:
        return self.listed

    def query_hostapis(self) -> list[dict[str, str]]:
        return [{"name": "ALSA"}]

    def RawInputStream(self, **_: object) -> Stream:
        return Stream()


class Stream:
    def start(self) -> None:
        return

    def close(self, ignore_errors: bool) -> None:
        assert ignore_errors


def _refuses(**_: object) -> Stream:
    raise PortAudio.PortAudioError("no device")


@pytest.fixture
def port_audio(monkeypatch: pytest.MonkeyPatch) -> PortAudio:
    stand_in = PortAudio()
    monkeypatch.setitem(sys.modules, "sounddevice", stand_in)
    monkeypatch.setattr("shutil.which", lambda _name: None)
    return stand_in


def test_a_device_plugged_in_since_the_last_look_is_found(port_audio: PortAudio) -> None:
    assert isinstance(open_microphone(), Missing)
    port_audio.plugged = [HEADSET]
    found = open_microphone()
    assert isinstance(found, DeviceMicrophone)
    found.close()
    found.close()
    assert port_audio.begun == 2  # class: analytic -- once a look
    port_audio.plugged = []
    assert isinstance(open_microphone(), Missing)


def test_the_list_is_left_alone_while_a_stream_is_open(port_audio: PortAudio) -> None:
    port_audio.plugged = [HEADSET]
    first = open_microphone()
    assert isinstance(first, DeviceMicrophone)
    second = open_microphone()
    assert isinstance(second, DeviceMicrophone)
    assert port_audio.begun == 1  # class: analytic -- the second look finds a stream open
    for one in (first, second):
        one.close()
    assert STREAMS.look_again()


def test_a_microphone_that_does_not_open_leaves_the_list_free(
    port_audio: PortAudio, monkeypatch: pytest.MonkeyPatch
) -> None:
    port_audio.listed = [HEADSET]
    monkeypatch.setattr(port_audio, "RawInputStream", _refuses)
    with pytest.raises(SpeechError, match=r"The microphone headset \(ALSA\) cannot be opened"):
        DeviceMicrophone()
    assert STREAMS.look_again()
    assert port_audio.begun == 1  # class: analytic
