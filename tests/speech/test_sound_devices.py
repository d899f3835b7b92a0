"""Devices by a part of their name: the rules on a list, and PortAudio itself on devices made of files."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from speech.errors import Missing, SpeechError
from speech.player import find_player
from speech.sound import RATE_HZ, Samples
from speech.sound_devices import Device, chosen, devices
from speech.wavefile import to_int16

HALL = "camera in the hall"
HEADSET = "Headset: USB Audio (hw:1,0)"
DOCK = "Dock: USB Audio (hw:2,0)"


class PortAudio:
    """Stands in for the sounddevice module: two inputs, three outputs."""

    class PortAudioError(Exception):
        pass

    class default:  # noqa: N801 -- as in the module
        device = (2, 1)

    def query_devices(self) -> list[dict[str, object]]:
        return [
            {"index": index, "name": name, "hostapi": system, "max_input_channels": ins, "max_output_channels": outs,
             "default_samplerate": 44100.0}
            for index, name, system, ins, outs in (
                (0, HEADSET, 0, 1, 2), (1, DOCK, 0, 0, 2), (2, HALL, 0, 2, 0), (3, "Dock", 1, 0, 2),
            )
        ]  # fmt: skip

    def query_hostapis(self) -> list[dict[str, str]]:
        return [{"name": "ALSA"}, {"name": "JACK"}]


@pytest.fixture
def listed(monkeypatch: pytest.MonkeyPatch) -> PortAudio:
    stand_in = PortAudio()
    monkeypatch.setitem(sys.modules, "sounddevice", stand_in)
    monkeypatch.delenv("LOOPWRIGHT_MICROPHONE", raising=False)
    monkeypatch.delenv("LOOPWRIGHT_LOUDSPEAKER", raising=False)
    return stand_in


@pytest.mark.usefixtures("listed")
def test_without_a_name_the_system_chooses() -> None:
    assert chosen("input") == Device(2, HALL, "ALSA", 2, 44100)
    assert chosen("output") == Device(1, DOCK, "ALSA", 2, 44100)
    assert [device.index for device in devices("output")] == [1, 0, 3]


def test_where_the_system_has_no_choice_none_is_made_for_it(
    listed: PortAudio, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(listed.default, "device", (-1, -1))
    assert chosen("input") is None
    assert chosen("input", "headset") == Device(0, HEADSET, "ALSA", 1, 44100)


@pytest.mark.usefixtures("listed")
@pytest.mark.parametrize(
    ("name", "index"),
    [("headset", 0), ("HEADSET: usb", 0), ("hw:2", 1), ("jack", 3), ("dock", 3), ("Dock: USB", 1)],
)
def test_a_part_of_the_name_is_enough_and_the_whole_name_goes_before(name: str, index: int) -> None:
    found = chosen("output", name)
    assert found is not None
    assert found.index == index


@pytest.mark.usefixtures("listed")
def test_the_environment_goes_before_the_settings(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LOOPWRIGHT_MICROPHONE", "headset")
    assert chosen("input", "hall") == Device(0, HEADSET, "ALSA", 1, 44100)
    monkeypatch.setenv("LOOPWRIGHT_MICROPHONE", "  ")
    assert chosen("input", "hall") == Device(2, HALL, "ALSA", 2, 44100)


@pytest.mark.usefixtures("listed")
def test_a_name_that_fits_none_or_several_is_said_and_nothing_else_is_taken(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    with pytest.raises(
        SpeechError, match=r"No microphone has 'dock' in its name \(microphone in voice.toml\)"
    ) as none:
        chosen("input", "dock")
    assert HEADSET in str(none.value)
    with pytest.raises(SpeechError, match="More than one loudspeaker has 'usb' in its name") as several:
        chosen("output", "usb")
    assert DOCK in str(several.value)
    monkeypatch.setattr("shutil.which", lambda _name: "/bin/true")
    player = find_player("usb")
    assert isinstance(player, Missing), "a player program was taken in its place"
    assert player.sentence == str(several.value)


def test_a_name_where_nothing_is_connected_is_said(
    listed: PortAudio, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(listed, "query_devices", list)
    assert chosen("input") is None
    with pytest.raises(SpeechError, match=r"The microphone 'headset' .* is not here"):
        chosen("input", "headset")


def test_a_portaudio_that_tells_nothing_has_no_devices(
    listed: PortAudio, monkeypatch: pytest.MonkeyPatch
) -> None:
    def begun_anew() -> None:
        raise PortAudio.PortAudioError("PortAudio not initialized")

    monkeypatch.setattr(listed, "query_devices", begun_anew)
    assert devices("input") == []
    assert chosen("input") is None


BESIDE_EACH_OTHER = """
import threading, time
from speech.open_streams import STREAMS
from speech.sound_devices import devices
until = time.monotonic() + 2
def anew():
    while time.monotonic() < until:
        STREAMS.look_again()
thread = threading.Thread(target=anew)
thread.start()
lengths = set()
while time.monotonic() < until:
    lengths.add(len(devices("input")))
thread.join()
print(sorted(lengths))
"""


def test_devices_are_listed_whole_while_portaudio_is_begun_anew_again_and_again(tmp_path: Path) -> None:
    (tmp_path / ".asoundrc").write_text("pcm.packing_shed { type null }")
    here = {**os.environ, "HOME": str(tmp_path), "PYTHONPATH": os.pathsep.join(sys.path)}
    probe = "import sounddevice as s; assert 'packing_shed' in [d['name'] for d in s.query_devices()]"
    if subprocess.run([sys.executable, "-c", probe], env=here, capture_output=True, check=False).returncode:
        pytest.skip("PortAudio with ALSA is not here: libportaudio2")
    done = subprocess.run(
        [sys.executable, "-c", BESIDE_EACH_OTHER], env=here, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "[1]"


ASOUND = """
pcm.orchard_bench {{
  type file
  slave.pcm null
  file "{folder}/played.raw"
  infile "{folder}/spoken.raw"
  format raw
}}
pcm.packing_shed {{ type null }}
"""
THROUGH_PORT_AUDIO = """
import sys, threading
import numpy as np
from speech.device_microphone import DeviceMicrophone
from speech.microphone import open_microphone
from speech.player import DevicePlayer, find_player
from speech.sound import Sound
from speech.wavefile import to_int16
microphone = open_microphone(setting="orchard")
assert isinstance(microphone, DeviceMicrophone), microphone
blocks = []
for block in microphone.blocks():
    blocks.append(block)
    if len(blocks) == 31:
        break
microphone.close()
player = find_player("orchard")
assert isinstance(player, DevicePlayer), player
assert player.play(Sound(np.concatenate(blocks)), threading.Event())
print(microphone.name, "|", player.name)
sys.stdout.flush()
open(sys.argv[1], "wb").write(to_int16(np.concatenate(blocks)))
"""


def rising() -> Samples:
    return np.linspace(-0.9, 0.9, 2 * RATE_HZ, dtype=np.float32)


def test_portaudio_records_from_and_plays_to_the_device_that_was_named(tmp_path: Path) -> None:
    probe = "import sounddevice as s; assert 'orchard_bench' in [d['name'] for d in s.query_devices()]"
    (tmp_path / ".asoundrc").write_text(ASOUND.format(folder=tmp_path))
    (tmp_path / "spoken.raw").write_bytes(to_int16(rising()))
    here = {**os.environ, "HOME": str(tmp_path), "PYTHONPATH": os.pathsep.join(sys.path)}
    if subprocess.run([sys.executable, "-c", probe], env=here, capture_output=True, check=False).returncode:
        pytest.skip("PortAudio with ALSA is not here: libportaudio2")
    out = tmp_path / "heard.raw"
    done = subprocess.run(
        [sys.executable, "-c", THROUGH_PORT_AUDIO, str(out)],
        env=here,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "orchard_bench (ALSA) | orchard_bench (ALSA)"
    heard, played = out.read_bytes(), (tmp_path / "played.raw").read_bytes()
    assert len(heard) == 31 * 512 * 2
    assert heard == to_int16(rising())[: len(heard)]
    assert played[: len(heard)] == heard
